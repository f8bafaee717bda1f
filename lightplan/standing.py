"""How a bench stands through the day: what lies there already, what is ordered, and the light that leaves."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from lightplan.advice.covers import CoverPlan, CoverTask, Remedy, States, Tent, comes_off, plan_cover
from lightplan.advice.covers.judge import judge
from lightplan.clock import STEP_S, STEPS_PER_H, Grid
from lightplan.laid import TENT_WORDS, AlreadyLaid, as_remedy, dries_at, laid_states
from lightplan.light import BenchLight
from lightplan.records_laid import Laid
from lightplan.site.cover_names import DARK_AT_MOST
from lightplan.site.models import Bench, Cover, Lamps

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

LATE = STEPS_PER_H // 2  # steps that hands may be late with a cover that burns; judgement


@dataclass(frozen=True)
class Lying:
    """One thing opened or laid on, a tent's way or a cover's name. off : may be the next hands' first moment.

    plan : why it is ordered; None = it lay there before this window. is_over : it was off before it, too.
    """

    what: str
    on: datetime
    off: datetime
    plan: CoverPlan | None = None
    is_over: bool = False


@dataclass(frozen=True)
class NightCover:
    """A dark cover over a bench by night. dark_h : unbroken dark that it makes. day_h : what plants would see
    of the day without it. wanted_h : the most they are to see. peak_c : under it after sunset.
    leak_ppfd : the most light that it lets through, at its bright end. is_off : before this sheet's window.
    over_house : drawn over the whole house.
    """

    cover: Cover
    on: datetime
    off: datetime
    dark_h: float
    day_h: float
    wanted_h: float
    peak_c: float | None = None
    leak_ppfd: float = 0.0
    is_off: bool = False
    over_house: bool = False


@dataclass(frozen=True)
class KeptOpen:
    """Why a house's dark cover is not drawn for one bench's short day: what it would do to another.

    reason : "long-day", "turned", "lit" or "light". bench : its name.
    """

    reason: str
    bench: str


@dataclass(frozen=True)
class Standing:
    """How a bench stands through the grid as ordered, arrays (steps,).

    plan : None where nothing was asked. sun_ppfd : sun at the plants. dark : under a cover that is full
    dark. lamps_off : when a cover that burns keeps lamps out. states : of the first steps, one way.
    lying : at the bench itself. over_house : a cover drawn over all of its house.
    night : a cover that makes a short day tonight. left : those laid on for one the evening before.
    kept_open : why none is drawn over the house for one.
    """

    plan: CoverPlan | None
    sun_ppfd: Array
    dark: Mask
    lamps_off: Mask
    states: States | None
    lying: tuple[Lying, ...] = ()
    over_house: Lying | None = None
    night: NightCover | None = None
    left: tuple[NightCover, ...] = ()
    kept_open: KeptOpen | None = None


@dataclass(frozen=True)
class _Way:
    """One way to go on from what lies there: the bench as it stands then, and what brought it there."""

    task: CoverTask
    plan: CoverPlan | None
    groups: tuple[tuple[Remedy, int, int], ...]
    lying: tuple[Lying, ...]

    @property
    def left(self) -> tuple[float, float, float, int]:
        """What stays broken, in the order of the aims."""
        none = np.zeros(1, dtype=np.int64)
        found = judge(self.task, Remedy(), none, none)
        short = round(float(found.short_of_minimum[0]), 3)
        return float(found.kills[0]), short, float(found.over_limits[0]), len(self.lying)


def stand(
    task: CoverTask | None, bench: Bench, light: BenchLight, *, grid: Grid, laid: AlreadyLaid
) -> Standing:
    """Plan what to open and lay on at a bench, and what that makes of its light."""
    nothing = np.zeros(len(grid), dtype=bool)
    if task is None:
        return Standing(None, light.open, nothing, nothing, None)
    hands = np.flatnonzero(task.crew & task.today)
    gone = laid.over if len(hands) else (*laid.over, *laid.lying)
    groups = tuple((as_remedy([one], bench), grid.index(one.on), grid.index(one.off)) for one in gone)
    start = _Way(
        replace(task, as_laid=laid_states(task, groups)),
        None,
        groups,
        tuple(Lying(one.what, one.on, one.off, is_over=True) for one in gone),
    )
    if not len(hands):
        way = start
    elif not laid.lying:
        way = _onward(start, grid)
    else:
        way = _from_what_lies(start, laid.lying, bench, grid, int(hands[0]))
    if not way.groups:
        return Standing(way.plan, light.open, nothing, nothing, None)
    return _standing(way, light, bench, grid)


def _from_what_lies(start: _Way, lying: tuple[Laid, ...], bench: Bench, grid: Grid, first: int) -> _Way:
    """Either it stays on for as long as it does good, or it gives way to something else at once."""
    remedy = as_remedy(lying, bench)
    since = min(grid.index(one.on) for one in lying)
    best = comes_off(start.task, remedy, since, dries_at(lying, bench, grid))
    ways = []
    for off in sorted({best, first}, reverse=True):
        group = (remedy, since, off)
        crew = start.task.crew & (np.arange(len(start.task.crew)) >= off)
        task = replace(start.task, crew=crew, as_laid=laid_states(start.task, [group], start.task.as_laid))
        there = tuple(Lying(one.what, one.on, grid.moment(off)) for one in lying)
        way = _Way(task, None, (*start.groups, group), (*start.lying, *there))
        ways.append(_onward(way, grid) if (crew & task.today).any() else way)
    return min(ways, key=lambda way: way.left)


def _onward(way: _Way, grid: Grid) -> _Way:
    """What is ordered from there on."""
    plan = plan_cover(way.task)
    if plan.remedy is None:
        return replace(way, plan=plan)
    group = (plan.remedy, plan.on, plan.off)
    off = way.task.end if plan.remedy.after is not Tent.CLOSED else None
    groups = [group] if off is None else [group, (Remedy(plan.remedy.after), plan.off, off)]
    task = replace(way.task, as_laid=laid_states(way.task, groups, way.task.as_laid))
    renewed = {cover.name for cover in plan.remedy.covers if cover.life_h is not None}
    lying = _joined(way.lying, _ordered(plan, plan.remedy, task, grid), renewed)
    return _Way(task, plan, (*way.groups, group), lying)


def _joined(there: tuple[Lying, ...], ordered: list[Lying], renewed: set[str]) -> tuple[Lying, ...]:
    """What lies there and is ordered again from the moment it would come off simply stays on.

    renewed : what lasts for some hours only is taken off and laid on fresh.
    """
    found = list(there)
    for new in ordered:
        old = next((o for o in found if not o.is_over and o.what == new.what and o.off == new.on), None)
        if old is None or new.what in renewed:
            found.append(new)
        else:
            found[found.index(old)] = replace(old, off=new.off)
    return tuple(found)


def _ordered(plan: CoverPlan, remedy: Remedy, task: CoverTask, grid: Grid) -> list[Lying]:
    on, off = grid.moment(plan.on), grid.moment(plan.off)
    found = [Lying(cover.name, on, off, plan) for cover in remedy.covers]
    if remedy.tent is not Tent.CLOSED:
        stays = task.end is not None and remedy.after is not Tent.CLOSED
        till = grid.moment(task.end) if stays and task.end is not None else off
        found.insert(0, Lying(TENT_WORDS[remedy.tent], on, till, plan))
    return found


def _standing(way: _Way, light: BenchLight, bench: Bench, grid: Grid) -> Standing:
    states = way.task.as_laid
    assert states is not None
    steps = states.passed.shape[1]
    sun = light.open.copy()
    by_tent = np.where(states.tent[0] == Tent.ROLLED_BACK, light.untented[:steps], light.open[:steps])
    sun[:steps] = by_tent * states.passed[0]
    dark, lamps_off = np.zeros(len(grid), dtype=bool), np.zeros(len(grid), dtype=bool)
    dark[:steps] = states.passed[0] <= DARK_AT_MOST
    for remedy, on, off in way.groups:
        lamps_off |= lamps_out(bench.lamps, remedy.covers, on, off, len(grid))
    return Standing(way.plan, sun, dark, lamps_off, states, way.lying)


def lamps_out(lamps: Lamps | None, covers: tuple[Cover, ...], on: int, off: int, steps: int) -> Mask:
    """(steps,) when lamps must not burn because a cover that burns goes on, lies there, or comes off late.

    They cool before it goes on. Lamps that nobody switches by hand wait for a while after it is to be off.
    """
    found = np.zeros(steps, dtype=bool)
    if lamps is not None and any(cover.combustible for cover in covers):
        cooling = -(-lamps.cooling_min * 60 // STEP_S)
        late = 0 if lamps.switch == "hand" else LATE
        found[max(on - cooling, 0) : off + late] = True
    return found
