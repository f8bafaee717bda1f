"""A year of lamp light: the least energy that holds every target, day by day and bench by bench.

The replay's bound is taken: all the year's sun known from the start, by the rules that the sheets keep to
(allowed hours, dark, capacity, light in hand or owed). It is one linear program, half a second for a year;
going through the year morning by morning takes minutes and comes out some percent dearer (`replay` tells it).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lightplan.advice.lamps.prices import prices
from lightplan.clock import STEPS_PER_H, Grid
from lightplan.crops.needs import Needs
from lightplan.lamp_tasks import day_seen, in_spans
from lightplan.light import BenchLight, daily_light_integral
from lightplan.replay.bound import least_cost_of
from lightplan.replay.lit import BenchRun
from lightplan.replay.season import BenchSeason, Season
from lightplan.site.models import Bench, Site
from lightplan.sky import Sky
from lightplan.weather.table import Weather

Array = NDArray[np.float64]

SLIGHT_MOL = 0.05  # lamp light of a day that is not worth a word: as for the sheet's account


@dataclass(frozen=True)
class LampYear:
    """One bench's lamps, arrays (days,). cost : energy alone, None without prices.

    short_mol : how far the account lay below what may be owed, nan where none is kept.
    lit : (steps,) share of each step that they burn, the dullest allowed ones of each day.
    """

    mol: Array
    hours: Array
    kwh: Array
    cost: Array | None
    short_mol: Array
    lit: Array


@dataclass(frozen=True)
class SiteLamps:
    """kwh, cost : of the year, peak charges counted in; cost None without prices. benches : by bench id."""

    kwh: float
    cost: float | None
    benches: dict[str, LampYear]


def site_lamps(
    site: Site,
    weather: Weather,
    sky: Sky,
    *,
    grid: Grid,
    light: dict[str, BenchLight],
    needs: dict[str, tuple[Needs | None, ...]],
) -> SiteLamps:
    """What all lamps of a site burn over the year to hold targets. light, needs : by bench."""
    with_lamps = [bench for bench in site.benches if bench.lamps is not None]
    season = Season(
        site=site,
        grid=grid,
        days=len(grid.dates),
        benches=tuple(_season(bench, sky, grid, light[bench.id], needs[bench.id]) for bench in with_lamps),
        outdoor_mol=daily_light_integral(sky.ppfd_umol_m2_s, grid),
        clear_mol=daily_light_integral(sky.clear_ppfd_umol_m2_s, grid),
        price=prices(site.power, grid),
        weather=weather,
    )
    if not with_lamps:
        return SiteLamps(0.0, None if season.price is None else 0.0, {})
    run = least_cost_of(season)
    return SiteLamps(
        kwh=run.kwh,
        cost=run.cost,
        benches={
            mine.bench_id: _lamp_year(bench, mine, grid)
            for bench, mine in zip(season.benches, run.benches, strict=True)
        },
    )


def _season(
    bench: Bench, sky: Sky, grid: Grid, light: BenchLight, needs: tuple[Needs | None, ...]
) -> BenchSeason:
    return BenchSeason(
        bench=bench,
        sun_ppfd=light.open,
        daylight=day_seen(sky, needs, grid),
        allowed=in_spans(grid, bench.lamp_hours),
        needs=needs,
        sun_mol=daily_light_integral(light.open, grid),
    )


def _lamp_year(bench: BenchSeason, run: BenchRun, grid: Grid) -> LampYear:
    steps = run.lamp_mol / bench.step_mol if bench.step_mol > 0 else np.zeros(len(run.lamp_mol))
    hours = steps / STEPS_PER_H
    return LampYear(
        mol=run.lamp_mol,
        hours=hours,
        kwh=hours * bench.draw_kw,
        cost=run.energy_cost,
        short_mol=run.shortfall_mol,
        lit=_dullest(steps, bench, grid),
    )


def _dullest(steps: Array, bench: BenchSeason, grid: Grid) -> Array:
    """Where a day's lamp hours fall for the heat's sake: in its dullest allowed steps."""
    lit = np.zeros(len(grid))
    edges = np.searchsorted(grid.day, np.arange(len(steps) + 1))
    for day in np.flatnonzero(steps > 0):
        span = np.arange(edges[day], edges[day + 1])
        span = span[bench.allowed[span]]
        order = span[np.argsort(bench.sun_ppfd[span], kind="stable")]
        lit[order] = np.clip(steps[day] - np.arange(len(order)), 0.0, 1.0)
    return lit
