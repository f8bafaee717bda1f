"""From site, light and heat: what cover planning is asked, and how a bench stands afterwards."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lightplan.advice.covers import CoverPlan, CoverTask, Remedy, States, plan_cover
from lightplan.advice.covers.judge import states_of
from lightplan.advice.covers.task import Climate
from lightplan.clock import STEP_S, Grid, Window, at_local
from lightplan.crops.limits import bench_limits, light_hurts_by_itself
from lightplan.crops.needs import BenchNeeds
from lightplan.heat.runs import BenchHeat, HouseHeat
from lightplan.lamp_tasks import in_spans
from lightplan.light import BenchLight
from lightplan.site.models import Bench, Site
from lightplan.weather.table import Spread

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

VENTS_OPEN_OVER_K = 4.0  # air this far over vent_at_c finds vents fully open: the design's band
NOT_LAID_BY_HAND = ("whitewash-light", "whitewash-medium")
SD_OF_HEAT_K = 4.0 / 1.2816  # the design's ±4 K taken as 10 and 90 % points


@dataclass(frozen=True)
class Standing:
    """How a bench stands through the grid as ordered, arrays (steps,).

    plan : None where nothing was asked. sun_ppfd : sun at the plants. dark : under a cover that is full
    dark. lamps_off : when a cover that burns keeps lamps out. states : of the first steps, one way.
    """

    plan: CoverPlan | None
    sun_ppfd: Array
    dark: Mask
    lamps_off: Mask
    states: States | None


def hands_at(site: Site, grid: Grid, window: Window | None) -> Mask:
    """(steps,) when somebody is there on the sheet's day, from the window's start on."""
    hours = site.crew_on(grid.dates[0])
    here = np.zeros(len(grid), dtype=bool)
    if window is not None and hours is not None:
        end = at_local(grid.dates[0], hours[1], site.timezone)
        here[grid.index(window.start) : grid.index(end) + 1] = True
    return here


def stand(
    site: Site,
    bench: Bench,
    light: BenchLight,
    *,
    grid: Grid,
    hands: Mask,
    needs: BenchNeeds,
    spread: Spread,
    house: HouseHeat,
    heat: BenchHeat | None,
    lit: Mask,
) -> Standing:
    """Plan what to open and lay on at a bench, and what that makes of its light."""
    nothing = np.zeros(len(grid), dtype=bool)
    as_it_is = Standing(None, light.open, nothing, nothing, None)
    limits = bench_limits(bench, grid.dates[0], site.own_needs) if needs.batches else None
    if limits is None or heat is None or not hands.any():
        return as_it_is
    steps = len(house.air_c())
    need = needs.needs
    seed = need.germination if need else None
    needs_light = seed is not None and seed.requirement == "light_needed" and bench.lamps is None
    lamp_most = 0.0
    if bench.lamps is not None and need is not None and need.lamps_allowed:
        allowed = in_spans(grid, bench.lamp_hours) & (grid.day == 0)
        lamp_most = float(allowed.sum() * STEP_S / 1e6 * bench.lamps.ppfd_now_umol_m2_s)
    task = CoverTask(
        bench_id=bench.id,
        has_tent=bench.tent is not None,
        tent_opens=bench.tent_opens,
        covers=tuple(c for c in bench.covers if c.name not in NOT_LAID_BY_HAND and c.where == "bench"),
        sun_ppfd=(light.open[:steps], light.open[:steps], light.untented[:steps]),
        today=(grid.day == 0)[:steps],
        crew=hands[:steps],
        limits=limits,
        minimum_mol=need.minimum if need else None,
        target_mol=need.target if need else None,
        sample=spread.sample[:, 0],
        low=float(spread.low[0]),
        lamp_mol=0.0,
        lamp_most_mol=lamp_most,
        heat_gate_c=None
        if light_hurts_by_itself(bench, grid.dates[0])
        else site.house(bench.house).vent_at_c + VENTS_OPEN_OVER_K,
        climate=climate_of(house, heat, lit[:steps]),
        air_c=house.air_c(),
        seed_light=(light.open[:steps] >= seed.ppfd_umol_m2_s) if needs_light and seed else nothing[:steps],
        sd_c=SD_OF_HEAT_K,
    )
    plan = plan_cover(task)
    if plan.remedy is None:
        return replace(as_it_is, plan=plan)
    return _standing(plan, plan.remedy, task, light, bench, grid)


def climate_of(house: HouseHeat, heat: BenchHeat, lit: Mask) -> Climate:
    """Temperature where the plants feel it, for ways to run the bench side by side."""

    def climate(states: States, sun_factor: Array) -> Array:
        factors, which = np.unique(sun_factor, return_inverse=True)
        air = house.air_c(factors)[:, which]
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


def _standing(
    plan: CoverPlan, remedy: Remedy, task: CoverTask, light: BenchLight, bench: Bench, grid: Grid
) -> Standing:
    on, off = np.array([plan.on]), np.array([plan.off])
    middle = states_of(task, remedy, on, off, remedy.middle)
    sun = light.open.copy()
    drawn = slice(plan.on, plan.off)
    by_tent = light.open if remedy.tent != 2 else light.untented
    sun[drawn] = by_tent[drawn] * remedy.middle
    dark, lamps_off = np.zeros(len(grid), dtype=bool), np.zeros(len(grid), dtype=bool)
    dark[drawn] = remedy.is_dark
    if bench.lamps is not None and any(cover.combustible for cover in remedy.covers):
        cooling = -(-bench.lamps.cooling_min * 60 // STEP_S)
        lamps_off[max(plan.on - cooling, 0) : plan.off] = True
    return Standing(plan, sun, dark, lamps_off, middle)
