"""Each day alone: its own light brought to target, by lamp time that forms one stretch with the daylight."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np

from lightplan.advice.lamps.runs import runs
from lightplan.advice.lamps.task import LampTask, Mask
from lightplan.clock import STEP_MIN, STEP_S, STEPS_PER_H, Grid


def plan_day(task: LampTask, day: int, *, grid: Grid, free: Mask) -> Mask:
    """Lamp steps of one civil day, those already set included.

    free : (steps,) what can still be set (by hand: in crew hours).
    """
    today = grid.day == day
    on: Mask = task.already & today
    needs = task.needs[day]
    if needs is None or not needs.lamps_allowed:
        return on
    may = today & free & task.allowed & (task.sun_ppfd < task.lamps.sun_enough_ppfd_umol_m2_s)
    if needs.germination is not None:
        on |= may & (task.sun_ppfd_low < needs.germination.ppfd_umol_m2_s)
    if needs.target is not None:
        sun_mol = float(task.sun_ppfd[today].sum()) * STEP_S / 1e6
        missing = math.ceil((needs.target - sun_mol) / task.step_mol - on.sum() - 1e-9)
        order = [step for step in _by_preference(task, may, today, needs.dark_h) if not on[step]]
        on[order[: max(0, missing)]] = True
    return _few_runs(on, may, task)


def same_clock_times(task: LampTask, days: Sequence[int], *, grid: Grid) -> Mask:
    """One setting of a timer that serves several days: the clock times of the dullest of them.

    Seed wants its light every day, so its times are those that any of the days asks.
    """
    unset = replace(task, already=np.zeros(len(grid), dtype=bool))
    each = {day: plan_day(unset, day, grid=grid, free=np.ones(len(grid), dtype=bool)) for day in days}
    dullest = max(days, key=lambda day: int(each[day].sum()))
    asked = each[dullest].copy()
    for day in days:
        needs = task.needs[day]
        if needs is not None and needs.germination is not None:
            asked |= each[day]
    return np.asarray(np.isin(grid.minute, np.unique(grid.minute[asked])) & task.allowed)


def _by_preference(task: LampTask, may: Mask, today: Mask, dark_h: float) -> list[int]:
    """Grey daylight hours, then outward from dawn, then outward from dusk while dark enough is left."""
    lit = np.flatnonzero(today & (task.daylight >= 1))
    if not len(lit):
        return [int(k) for k in np.flatnonzero(may)]
    longest_first = sorted(runs(may & (task.daylight >= 1)), key=lambda run: run[0] - run[1])
    order = [step for start, stop in longest_first for step in range(start, stop)]
    night = STEPS_PER_H * 24 - len(lit)
    spare = max(0, night - math.ceil(dark_h * STEPS_PER_H))
    outward = [*_outward(may, int(lit[0]) - 1, -1), *_outward(may, int(lit[-1]) + 1, 1)]
    return order + outward[:spare]


def _outward(may: Mask, step: int, way: int) -> list[int]:
    found = []
    while 0 <= step < len(may) and may[step]:
        found.append(step)
        step += way
    return found


def _few_runs(on: Mask, may: Mask, task: LampTask) -> Mask:
    """Runs long enough and no more than the timer holds: short gaps are lit, then the shortest run goes."""
    on = on.copy()
    least = math.ceil(task.lamps.least_run_min / STEP_MIN)
    most = min(task.lamps.pairs, task.lamps.starts)
    while True:
        found = runs(on)
        short = [run for run in found if run[1] - run[0] < least and may[run[0] : run[1]].all()]
        if not short and len(found) <= most:
            return on
        gaps = [(a[1], b[0]) for a, b in pairwise(found) if may[a[1] : b[0]].all()]
        if gaps:
            start, stop = min(gaps, key=lambda gap: gap[1] - gap[0])
            on[start:stop] = True
            continue
        loose = short or [run for run in found if may[run[0] : run[1]].all()]
        if not loose:
            return on
        start, stop = min(loose, key=lambda run: run[1] - run[0])
        on[start:stop] = False
