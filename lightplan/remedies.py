"""What is done about heat and light in each house and at each bench, and how warm it is then.

Light and heat as they come, vents, then what to open or lay on, bench by bench and over the house: the
left half of the morning's recipe. Lamps are planned on what this leaves of the sun.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lightplan.advice.covers import CoverPlan, CoverTask, Remedy
from lightplan.clock import STEP_MIN, Grid, Window
from lightplan.cover_tasks import AirBySun, calm_at, cover_task, hands_at, laid_by_hand
from lightplan.crops.limits import Limits
from lightplan.crops.needs import BenchNeeds
from lightplan.heat.runs import BenchHeat, HouseHeat
from lightplan.heat_day import (
    BenchWarmth,
    HouseWarmth,
    bench_ready,
    bench_warmth,
    house_ready,
    house_warmth,
    steps_wanted,
)
from lightplan.house.transmission import HouseLight
from lightplan.house_covers import HouseCover, light_under, plan_house_cover, under
from lightplan.laid import already_laid
from lightplan.light import BenchLight
from lightplan.records import History
from lightplan.site.models import Bench, House, Site
from lightplan.sky import Sky
from lightplan.standing import Lying, NightCover, Standing, lamps_out, stand
from lightplan.vents_by_hand import VentTime, opened_so, vents_by_hand
from lightplan.weather.table import Spread

COOL_NIGHT_K = 3.0  # outdoors this far under what a house is heated to: its vents are shut; judgement

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]


@dataclass(frozen=True)
class HouseDone:
    """What is ordered for one house. ready, open_ready : its heat as ordered, and with nothing drawn.

    night, left : a dark cover drawn over it for short days, tonight and the evening before.
    """

    ready: HouseHeat
    open_ready: HouseHeat
    vents: VentTime | None
    cover: Lying | None
    night: NightCover | None = None
    left: tuple[NightCover, ...] = ()


@dataclass(frozen=True)
class BenchDone:
    """A bench's heat as ordered over the house, and with nothing drawn; how it stands."""

    heat: BenchHeat | None
    open_heat: BenchHeat | None
    standing: Standing


@dataclass(frozen=True)
class Remedies:
    houses: Mapping[str, HouseDone]
    benches: Mapping[str, BenchDone]

    def standing(self, bench: str) -> Standing:
        return self.benches[bench].standing


@dataclass(frozen=True)
class Morning:
    """What every remedy of a sheet rests on. lit : what lamps are already set to do, by bench.

    vented_through : houses whose vents are left open on warm nights, for a bench that is to cool then.
    """

    site: Site
    sky: Sky
    grid: Grid
    window: Window | None
    light: Mapping[str, BenchLight]
    lit: Mapping[str, Mask]
    needs: Mapping[str, BenchNeeds]
    spread: Spread
    history: History
    vented_through: frozenset[str] = frozenset()


def remedies_for(morning: Morning, lights: Mapping[str, HouseLight]) -> Remedies:
    """Vents and covers of the sheet's day, house by house. lights : of the houses with a bench."""
    houses: dict[str, HouseDone] = {}
    benches: dict[str, BenchDone] = {}
    for house in (h for h in morning.site.houses if h.id in lights):
        done, of_benches = _house(morning, house, lights[house.id])
        houses[house.id] = done
        benches |= of_benches
    return Remedies(houses, benches)


def _house(morning: Morning, house: House, house_light: HouseLight) -> tuple[HouseDone, dict[str, BenchDone]]:
    site, grid, window = morning.site, morning.grid, morning.window
    steps = steps_wanted(grid, window)
    ready = house_ready(
        site,
        morning.sky,
        house=house,
        house_light=house_light,
        light=morning.light,
        lit=morning.lit,
        grid=grid,
        steps=steps,
    )
    end = grid.index(window.end) if window else None
    hands = hands_at(site, grid, window)
    vents = vents_by_hand(house, ready, hands[:steps], grid=grid, end=end)
    if vents is not None and house.id in morning.vented_through and _warm_night(house, ready, vents):
        vents = replace(vents, off=end or steps, overnight=True)
    at_hand = np.flatnonzero(hands & (grid.day == 0))
    ready = opened_so(ready, vents, int(at_hand[-1]) if len(at_hand) else None)
    benches = [b for b in site.benches if b.house == house.id]
    air = AirBySun(ready)
    tasks = {b.id: _task(morning, b, air, morning.light[b.id], hands) for b in benches}
    done = {b.id: _bench(morning, b, tasks[b.id], morning.light[b.id]) for b in benches}
    cover, plan = _house_cover(morning, house, ready, done, tasks)
    if cover is None or plan is None:
        return HouseDone(ready, ready, vents, None), done
    drawn = cover.factor(steps, 0.0) == 0.0
    covered = under(ready, cover.cover, drawn, cover.middle)
    air = AirBySun(covered)
    shaded = {b.id: light_under(morning.light[b.id], cover) for b in benches}
    again = {
        b.id: _bench(morning, b, _task(morning, b, air, shaded[b.id], hands), shaded[b.id]) for b in benches
    }
    if _left(again) >= _left(done):
        return HouseDone(ready, ready, vents, None), done
    lying = Lying(cover.cover.name, grid.moment(cover.on), grid.moment(cover.off), plan)
    for bench in benches:
        lamps_off = lamps_out(bench.lamps, (cover.cover,), cover.on, cover.off, len(grid))
        before = again[bench.id].standing
        standing = replace(before, lamps_off=before.lamps_off | lamps_off, over_house=lying)
        again[bench.id] = replace(again[bench.id], open_heat=done[bench.id].open_heat, standing=standing)
    return HouseDone(covered, ready, vents, lying), again


def _task(morning: Morning, bench: Bench, air: AirBySun, light: BenchLight, hands: Mask) -> CoverTask | None:
    return cover_task(
        morning.site,
        bench,
        light,
        grid=morning.grid,
        window=morning.window,
        hands=hands,
        calm=calm_at(morning.sky),
        needs=morning.needs[bench.id],
        spread=morning.spread,
        air=air,
        heat=_heat(morning, bench, light, len(air.house.outdoor_c)),
        lit=_lit(morning, bench),
    )


def _bench(morning: Morning, bench: Bench, task: CoverTask | None, light: BenchLight) -> BenchDone:
    grid, window = morning.grid, morning.window
    laid = already_laid(bench.id, morning.history, grid=grid, window=window)
    standing = stand(task, bench, light, grid=grid, laid=laid)
    heat = _heat(morning, bench, light, steps_wanted(grid, window))
    return BenchDone(heat, heat, standing)


def _heat(morning: Morning, bench: Bench, light: BenchLight, steps: int) -> BenchHeat | None:
    return bench_ready(bench, light, morning.sky, grid=morning.grid, steps=steps)


def _lit(morning: Morning, bench: Bench) -> Mask:
    return morning.lit.get(bench.id, np.zeros(len(morning.grid), dtype=bool))


def _left(done: Mapping[str, BenchDone]) -> tuple[float, float, float]:
    """What the remedies of all benches leave: minutes that kill, mol under the minimum, minutes over."""
    plans = [b.standing.plan for b in done.values() if b.standing.plan is not None]
    return (
        sum(p.kills for p in plans),
        sum(p.under_minimum_mol for p in plans),
        sum(p.unheld for p in plans),
    )


def _house_cover(
    morning: Morning,
    house: House,
    ready: HouseHeat,
    done: Mapping[str, BenchDone],
    tasks: Mapping[str, CoverTask | None],
) -> tuple[HouseCover | None, CoverPlan | None]:
    """A cover over the house where what can be done at its benches leaves limits broken."""
    asked = {bench: task for bench, task in tasks.items() if task is not None}
    plans = [done[bench].standing.plan for bench in asked]
    unheld = [plan for plan in plans if plan is not None and plan.unheld > 0]
    if not unheld or not any((task.crew & task.today).any() for task in asked.values()):
        return None, None
    worst = max(unheld, key=lambda plan: (plan.kills, plan.odds))
    heats = {bench: heat for bench in asked if (heat := done[bench].heat) is not None}
    lit = {bench.id: _lit(morning, bench) for bench in morning.site.benches}
    cover = plan_house_cover(laid_by_hand(house.covers), ready, heats, asked, lit, odds=worst.odds)
    if cover is None:
        return None, None
    remedy = Remedy(covers=(cover.cover,))
    return cover, replace(worst, remedy=remedy, on=cover.on, off=cover.off, stays=False)


def _warm_night(house: House, ready: HouseHeat, opened: VentTime) -> bool:
    """Whether the night after is warm enough for vents to stay open without heating the outdoors."""
    night = ready.outdoor_c[opened.on :]
    return float(night.min()) >= house.heat_to_c - COOL_NIGHT_K


def warmth_with(
    site: Site, remedies: Remedies, lit: Mapping[str, Mask] | Mapping[str, Array]
) -> tuple[dict[str, HouseWarmth], dict[str, BenchWarmth]]:
    """Air of each house and temperature at each bench, everything as ordered.

    lit : by bench, (steps,) whether, or for which share of a step, its lamps burn.
    """
    houses, benches = {}, {}
    for house_id, done in remedies.houses.items():
        lamps = _lamp_heat_w_m2(site, house_id, done.ready, lit)
        open_ready = replace(done.open_ready, dry_w_m2=lamps)
        covers_dry = done.ready.dry_w_m2 - done.open_ready.dry_w_m2
        ready = replace(done.ready, dry_w_m2=lamps + covers_dry)
        houses[house_id] = house_warmth(ready)
        open_c = houses[house_id].air_c if done.cover is None else open_ready.air_c()
        for bench in (b for b in site.benches if b.house == house_id):
            of_bench = remedies.benches[bench.id]
            if of_bench.heat is None or of_bench.open_heat is None:
                continue
            benches[bench.id] = bench_warmth(
                of_bench.heat,
                houses[house_id].air_c,
                open_heat=of_bench.open_heat,
                open_house_c=open_c,
                lit=lit.get(bench.id),
                states=of_bench.standing.states,
            )
    return houses, benches


def _lamp_heat_w_m2(
    site: Site, house_id: str, ready: HouseHeat, lit: Mapping[str, Mask] | Mapping[str, Array]
) -> Array:
    """Heat of all lamps of a house per m² of its floor, (steps,)."""
    total = np.zeros(len(ready.outdoor_c))
    for bench in (b for b in site.benches if b.house == house_id and b.id in lit):
        if bench.lamps is not None:
            power = bench.lamps.power_kw * 1000 * bench.lamps.working / ready.body.floor_m2
            total += lit[bench.id][: len(total)] * power
    return total


def lamps_too_hot(
    limits: Limits | None, felt: BenchWarmth | None, dark: Array, lit: Mask, *, seed: bool
) -> Mask:
    """Lit steps in which the lamps take a bench over its temperature limit for longer than is borne.

    dark : temperature of the same day without its lamps (steps,). seed : they light germinating seed, which
    gives way to the second step alone: a night a little too warm costs it less than a night without light.
    """
    off = np.zeros(len(lit), dtype=bool)
    if limits is None or felt is None:
        return off
    limit, minutes = limits.temperature_c, limits.temperature_minutes
    if seed:
        limit, minutes = limits.temperature_upper_c, limits.temperature_upper_minutes
    if limit is None:
        return off
    over = felt.temperature_c > limit
    if over.sum() * STEP_MIN <= (minutes or 0):
        return off
    by_lamps = over & (dark <= limit)
    off[: len(by_lamps)] = by_lamps & lit[: len(by_lamps)]
    return off
