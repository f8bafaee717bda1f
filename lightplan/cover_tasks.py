"""From site, light and heat: what cover planning is asked about one bench."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lightplan.advice.covers import CoverTask, States
from lightplan.advice.covers.task import Climate
from lightplan.clock import STEP_S, Grid, Window, at_local
from lightplan.crops.limits import bench_limits, light_hurts_by_itself
from lightplan.crops.needs import BenchNeeds
from lightplan.heat.parameters import UNCALIBRATED
from lightplan.heat.runs import BenchHeat, HouseHeat
from lightplan.lamp_tasks import in_spans
from lightplan.light import BenchLight
from lightplan.site.cover_names import PAINTED
from lightplan.site.models import Bench, Cover, Site
from lightplan.sky import Sky
from lightplan.weather.table import Spread

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

SD_OF_HEAT_K = 4.0 / 1.2816  # the design's ±4 K taken as 10 and 90 % points
CALM_M_S = 8.0  # gusts above which nothing is drawn outside: safety.csv wind_cover (memory)


def hands_at(site: Site, grid: Grid, window: Window | None) -> Mask:
    """(steps,) when somebody is there on the sheet's day, from the window's start on."""
    hours = site.crew_on(grid.dates[0])
    here = np.zeros(len(grid), dtype=bool)
    if window is not None and hours is not None:
        end = at_local(grid.dates[0], hours[1], site.timezone)
        here[grid.index(window.start) : grid.index(end) + 1] = True
    return here


def calm_at(sky: Sky) -> Mask:
    """(steps,) when gusts let a cover lie outside; wind stands in for gusts that no source gives."""
    gusts = np.where(np.isnan(sky.gust_m_s), sky.wind_m_s, sky.gust_m_s)
    return ~(gusts > CALM_M_S)


def laid_by_hand(covers: tuple[Cover, ...]) -> tuple[Cover, ...]:
    return tuple(cover for cover in covers if cover.name not in PAINTED)


def cover_task(
    site: Site,
    bench: Bench,
    light: BenchLight,
    *,
    grid: Grid,
    window: Window | None,
    hands: Mask,
    calm: Mask,
    needs: BenchNeeds,
    spread: Spread,
    air: AirBySun,
    heat: BenchHeat | None,
    lit: Mask,
) -> CoverTask | None:
    """The question put to cover planning; None where nothing stands on the bench."""
    limits = bench_limits(bench, grid.dates[0], site.own_needs) if needs.batches else None
    if limits is None or heat is None:
        return None
    steps = len(air.house.outdoor_c)
    need = needs.needs
    seed = need.germination if need else None
    bright = light.open >= seed.ppfd_umol_m2_s if seed else np.zeros(len(grid), dtype=bool)
    lamps: Array = np.zeros(len(grid))
    if bench.lamps is not None and need is not None and need.lamps_allowed:
        per_step = bench.lamps.ppfd_now_umol_m2_s * STEP_S / 1e6
        lamps = np.where(in_spans(grid, bench.lamp_hours), per_step, 0.0)
    light_needed = seed is not None and seed.requirement == "light_needed"
    nothing = np.zeros(steps, dtype=bool)
    end = None if window is None else min(grid.index(window.end), steps)
    before_end = np.arange(steps) < (0 if end is None else end)
    days = [(grid.day[:steps] == n) & before_end for n in range(1, int(grid.day[steps - 1]) + 1)]
    return CoverTask(
        bench_id=bench.id,
        has_tent=bench.tent is not None,
        tent_opens=bench.tent_opens,
        covers=laid_by_hand(bench.covers),
        sun_ppfd=(light.open[:steps], light.open[:steps], light.untented[:steps]),
        today=(grid.day == 0)[:steps],
        crew=hands[:steps],
        limits=limits,
        minimum_mol=need.minimum if need else None,
        target_mol=need.target if need else None,
        sample=spread.sample[:, 0],
        low=float(spread.low[0]),
        lamp_mol=0.0,
        lamp_can_mol=lamps[:steps],
        heat_gate_c=None
        if light_hurts_by_itself(bench, grid.dates[0])
        else site.house(bench.house).vent_at_c + UNCALIBRATED.vent_band_k,
        climate=climate_of(air, heat, lit[:steps]),
        air_c=air(np.ones(1))[:, 0],
        seed_light=bright[:steps] if light_needed and bench.lamps is None else nothing,
        seed_chance=(bright[:steps] | (lamps[:steps] > 0)) if light_needed else nothing,
        calm=calm[:steps],
        sd_c=SD_OF_HEAT_K,
        later=tuple(day for day in days if day.any()),
        whole=tuple(day for n, day in enumerate(days, 1) if day.sum() == (grid.day == n).sum()),
        end=end,
        start=0 if window is None else grid.index(window.start),
    )


class AirBySun:
    """House air (steps, ways) for suns so many times as strong, each run once for all benches of a house."""

    def __init__(self, house: HouseHeat) -> None:
        self.house = house
        self._known: dict[float, Array] = {}

    def __call__(self, factors: Array) -> Array:
        new = [factor for factor in dict.fromkeys(factors.tolist()) if factor not in self._known]
        if new:
            self._known |= dict(zip(new, self.house.air_c(np.array(new)).T, strict=True))
        distinct, which = np.unique(factors, return_inverse=True)
        return np.stack([self._known[factor] for factor in distinct.tolist()], axis=1)[:, which]


def climate_of(air_by_sun: AirBySun, heat: BenchHeat, lit: Mask) -> Climate:
    """Temperature where the plants feel it, for ways to run the bench side by side."""

    def climate(states: States, sun_factor: Array) -> Array:
        air = air_by_sun(sun_factor)
        return heat.felt_c(
            air,
            tent=states.tent.T,
            passes=states.passed.T,
            absorbs=states.absorbed.T,
            r_m2k_w=states.r_m2k_w.T,
            airy=states.airy.T,
            sun_factor=sun_factor,
            lit=lit,
        ).T

    return climate
