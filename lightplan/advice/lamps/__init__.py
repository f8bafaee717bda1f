"""Which lamps, from when to when: light in and crop needs in, lamp hours and figures out."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

import numpy as np

from lightplan.account import account_after
from lightplan.advice.lamps.prices import prices
from lightplan.advice.lamps.runs import intervals
from lightplan.advice.lamps.same_day import plan_day, same_clock_times
from lightplan.advice.lamps.task import Array, BenchLamps, Interval, LampPlan, LampTask, Mask, Unmet, Why
from lightplan.clock import STEP_S, STEPS_PER_H, Grid, Window, round_up_to_step
from lightplan.crops.needs import Needs
from lightplan.site.models import Power

MOST_STEPS_A_DAY = 25 * STEPS_PER_H  # a longer window reaches over a day without a crew

__all__ = ["BenchLamps", "LampPlan", "LampTask", "Unmet", "Why", "plan_lamps"]


def plan_lamps(
    tasks: Sequence[LampTask],
    *,
    grid: Grid,
    window: Window | None,
    now: datetime,
    crew: Sequence[Interval | None],
    power: Power | None,
) -> LampPlan:
    """Lamp hours of every bench for the window.

    grid : from the sheet's midnight over at least three civil days and past the window's end.
    window : None when nobody comes: only what is already set is counted.
    now : when the sheet is made; lamps switched from afar can be set from then on.
    crew : crew hours of each civil day of the grid as instants; lamps switched by hand change only then.
    """
    price = prices(power, grid)
    benches = tuple(_bench(task, grid=grid, window=window, now=now, crew=crew, price=price) for task in tasks)
    draw = np.zeros(len(grid))
    for task, bench in zip(tasks, benches, strict=True):
        draw += bench.on * task.draw_kw
    return LampPlan(benches, draw)


def window_steps(task: LampTask, grid: Grid, window: Window | None, now: datetime) -> tuple[int, int]:
    """First step that can still be set and the step at which the next sheet takes over."""
    if window is None:
        tomorrow = int(np.count_nonzero(grid.day == 0))
        return tomorrow, tomorrow
    start = window.start
    if task.lamps.switch == "remote":
        start = min(start, max(grid.moment(0), round_up_to_step(now)))
    return grid.index(start), grid.index(window.end)


def _bench(
    task: LampTask,
    *,
    grid: Grid,
    window: Window | None,
    now: datetime,
    crew: Sequence[Interval | None],
    price: Array | None,
) -> BenchLamps:
    start, stop = window_steps(task, grid, window, now)
    steps = np.arange(len(grid))
    free: Mask = steps >= start
    if task.lamps.switch == "hand":
        in_crew = np.zeros(len(grid), dtype=bool)
        for hours in crew:
            if hours is not None:
                in_crew[grid.index(hours[0]) : grid.index(hours[1])] = True
        free &= in_crew
    on = task.already & (steps < start)
    for day in range(len(grid.dates) if stop > start else 0):
        on |= plan_day(task, day, grid=grid, free=free)
    if task.lamps.switch != "hand" and stop - start > MOST_STEPS_A_DAY:
        # the day the crew comes back is mostly the next sheet's to set
        served = range(int(grid.day[start]), int(grid.day[stop - 1]))
        on[start:stop] = same_clock_times(task, served, grid=grid)[start:stop]
    return _figures(task, on, grid=grid, window=(start, stop), price=price)


def _figures(
    task: LampTask, on: Mask, *, grid: Grid, window: tuple[int, int], price: Array | None
) -> BenchLamps:
    start, stop = window
    ordered = on[start:stop]
    kwh = ordered / STEPS_PER_H * task.draw_kw
    days = len(grid.dates)
    sun = np.bincount(grid.day, weights=task.sun_ppfd, minlength=days) * STEP_S / 1e6
    lamp: Array = np.asarray(np.bincount(grid.day, weights=on, minlength=days) * task.step_mol)
    needs, account = task.needs[0], account_after(task.account_mol, float(sun[0] + lamp[0]), task.needs[0])
    return BenchLamps(
        bench_id=task.bench_id,
        on=on,
        intervals=intervals(on, grid, start, stop),
        earlier=intervals(on, grid, 0, start),
        hours=float(ordered.sum() / STEPS_PER_H),
        mol=float(ordered.sum() * task.step_mol),
        kwh=float(kwh.sum()),
        cost=None if price is None else float(kwh @ price[start:stop]),
        lamp_mol=lamp,
        account=(account,),
        why=_why(task, sun, ahead=_days_ahead(grid, start, stop, ordered)),
        unmet=_missed(needs, float(sun[0] + lamp[0])),
    )


def _why(task: LampTask, sun_mol: Array, *, ahead: Sequence[int]) -> Why:
    """ahead : later days on which lamps are ordered; the dullest rules where the first day is bright."""
    needs = task.needs[0]
    if needs is None:
        return Why("no-batch")
    if needs.target is not None and needs.lamps_allowed:
        if sun_mol[0] < needs.target:
            return Why("dli-short", float(sun_mol[0]), needs.target, "mol")
        short = [
            (float(sun_mol[day]), day) for day in ahead if _is_short(task.needs[day], float(sun_mol[day]))
        ]
        if short:
            least, day = min(short)
            later = task.needs[day]
            return Why("dli-short-ahead", least, later.target if later else None, "mol", day)
        return Why("enough-light", float(sun_mol[0]), needs.target, "mol")
    if needs.germination is not None:
        hours = task.allowed[:96]
        by_sun = hours & (task.sun_ppfd_low[:96] >= needs.germination.ppfd_umol_m2_s)
        return Why("seed-light", float(by_sun.sum() / STEPS_PER_H), float(hours.sum() / STEPS_PER_H), "h")
    return Why("no-lamp-need")


def _days_ahead(grid: Grid, start: int, stop: int, ordered: Mask) -> list[int]:
    """Later days for which lamps are ordered; on a long window the last is the next sheet's."""
    lit = [int(day) for day in np.unique(grid.day[start:stop][ordered]) if day]
    return [day for day in lit if day < grid.day[stop - 1]] if stop - start > MOST_STEPS_A_DAY else lit


def _is_short(needs: Needs | None, sun_mol: float) -> bool:
    return needs is not None and needs.target is not None and sun_mol < needs.target


def _missed(needs: Needs | None, total: float) -> tuple[Unmet, ...]:
    if needs is None or needs.target is None or total >= needs.target - 1e-6:
        return ()
    return (Unmet(0, "target-missed", total, needs.target, "lamp-hours"),)
