"""A season as it was: true sun, day seen by plants and needs at every bench with lamps, worked out once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from lightplan.advice.lamps.horizon import HORIZON_DAYS
from lightplan.advice.lamps.prices import prices
from lightplan.clock import STEP_S, Grid, day_start, window_for
from lightplan.crops.needs import Needs, bench_needs
from lightplan.house.transmission import HouseLight
from lightplan.lamp_tasks import day_seen, in_spans
from lightplan.light import benches_light, daily_light_integral
from lightplan.site.models import Bench, Lamps, Site
from lightplan.sky import make_sky
from lightplan.weather.table import Weather

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]


@dataclass(frozen=True)
class BenchSeason:
    """One bench with lamps. Arrays (steps,) lie on the season's grid, `needs` on its dates.

    sun_ppfd : at the bench, as the sun was. daylight : share of each step in which plants see day.
    """

    bench: Bench
    sun_ppfd: Array
    daylight: Array
    allowed: Mask
    needs: tuple[Needs | None, ...]
    sun_mol: Array  # (dates,)

    @property
    def lamps(self) -> Lamps:
        assert self.bench.lamps is not None
        return self.bench.lamps

    @property
    def step_mol(self) -> float:
        """Light of one lit step [mol m⁻²]."""
        return self.lamps.ppfd_now_umol_m2_s * STEP_S / 1e6

    @property
    def draw_kw(self) -> float:
        return self.lamps.power_kw * self.lamps.working


@dataclass(frozen=True)
class Season:
    """The days that are replayed, and those after them that the last mornings look at.

    days : how many of the grid's dates are replayed.
    outdoor_mol, clear_mol : (dates,) light of each day in the open, as it was and under a clear sky.
    price : (steps,) per kWh; None without prices.
    """

    site: Site
    grid: Grid
    days: int
    benches: tuple[BenchSeason, ...]
    outdoor_mol: Array
    clear_mol: Array
    price: Array | None
    weather: Weather
    clearness: tuple[tuple[float, ...], ...] = ()  # by date, as `Weather.usual_clearness`; () = not known

    @property
    def dates(self) -> tuple[date, ...]:
        return self.grid.dates[: self.days]

    @property
    def steps(self) -> int:
        """Steps of the days that are replayed."""
        return int(np.searchsorted(self.grid.day, self.days))

    def looked_ahead(self, number: int) -> int:
        """Days that a morning's sheet plans by, its own included; 0 where nobody comes and none is made."""
        day = self.dates[number]
        window = window_for(self.site, day, day_start(day, self.grid.zone))
        if window is None or not self.benches:
            return 0
        spanned = (window.end.astimezone(self.grid.zone).date() - day).days + 1
        return max(HORIZON_DAYS, spanned)

    def months(self) -> tuple[slice, ...]:
        """Steps of each calendar month or part of one, for charges by the month."""
        first = [n for n, day in enumerate(self.dates) if n == 0 or day.day == 1]
        at = [int(step) for step in np.searchsorted(self.grid.day, [*first, self.days])]
        return tuple(slice(a, b) for a, b in pairwise(at))


def season_of(
    site: Site,
    weather: Weather,
    *,
    grid: Grid,
    days: int,
    lights: Mapping[str, HouseLight],
    clearness: tuple[tuple[float, ...], ...] = (),
) -> Season:
    """Light of the whole season at once; every policy and every morning takes its part of it.

    lights : by id, of every house with lamps. days : how many of the grid's dates are replayed.
    clearness : by date, what is usual then, as `Weather.usual_clearness`.
    """
    sky = make_sky(site, weather.table, grid)
    lamp_lit = [b for b in site.benches if b.lamps is not None and b.lamps.working > 0]
    sun = {n: b.open for n, b in benches_light(site, lamp_lit, sky, grid=grid, lights=lights).items()}
    benches = []
    for bench in lamp_lit:
        needs = tuple(bench_needs(bench, day, site.own_needs).needs for day in grid.dates)
        benches.append(
            BenchSeason(
                bench=bench,
                sun_ppfd=sun[bench.id],
                daylight=day_seen(sky, needs, grid),
                allowed=in_spans(grid, bench.lamp_hours),
                needs=needs,
                sun_mol=daily_light_integral(sun[bench.id], grid),
            )
        )
    return Season(
        site=site,
        grid=grid,
        days=days,
        benches=tuple(benches),
        outdoor_mol=daily_light_integral(sky.ppfd_umol_m2_s, grid),
        clear_mol=daily_light_integral(sky.clear_ppfd_umol_m2_s, grid),
        price=prices(site.power, grid),
        weather=weather,
        clearness=clearness,
    )
