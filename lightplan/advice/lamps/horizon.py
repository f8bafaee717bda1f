"""One bench's question as arrays: which steps may be lit, which must be, and what light is there."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np

from lightplan.advice.lamps.task import Array, Interval, LampTask, Mask, Numbers
from lightplan.clock import STEP_MIN, STEP_S, STEPS_PER_H, Grid, Window, round_up_to_step
from lightplan.crops.needs import Needs

ROUNDING = 1e-7  # a need this little over a whole step does not ask for another one [steps]
STEPS_A_ROUND = 24 * STEPS_PER_H  # a timer comes round every 24 h of its own clock
MOST_STEPS_A_DAY = 25 * STEPS_PER_H  # a longer window reaches over a day without a crew
HORIZON_DAYS = 3  # the account must be whole again after three days (judgement of the design)


@dataclass(frozen=True)
class Horizon:
    """Arrays (steps,) over the civil days that are planned; `needs` and the sums by day are (days,).

    start, stop : first step that can still be set, first step of the next sheet.
    may : can be lit by this plan or a later one. past : lit before the window, as set.
    must : lit whatever the need: a run too young to end, and ordered night breaks.
    seed : steps in which seed wants lamp light.
    sun_mol, low_mol : each day's own sun. planned_sun_mol, planned_low_mol : the same, but for the days that
        one setting of a timer serves those of the dullest of them.
    account_days : the account is to be whole again after so many days.
    """

    task: LampTask
    start: int
    stop: int
    day: Numbers
    minute: Numbers
    may: Mask
    past: Mask
    must: Mask
    seed: Mask
    switchable: Mask
    needs: tuple[Needs | None, ...]
    sun_mol: Array
    low_mol: Array
    planned_sun_mol: Array
    planned_low_mol: Array
    account_days: int

    def __len__(self) -> int:
        return len(self.day)

    @property
    def days(self) -> int:
        return len(self.needs)

    @property
    def least_run(self) -> int:
        """Shortest run [steps]."""
        return max(1, -(-self.task.lamps.least_run_min // STEP_MIN))

    @property
    def lit_again(self) -> range:
        """Steps at the end of a window of a day and a bit, which a timer's dial lights as its first ones."""
        if self.task.lamps.switch == "hand" or self.stop - self.start > MOST_STEPS_A_DAY:
            return range(0)
        return range(self.start + STEPS_A_ROUND, min(self.stop, len(self)))

    @property
    def share(self) -> Array:
        """(steps,) of each lit step that the lamps burn: less than all in a night that is lit by turns."""
        task = self.task
        if task.night_break is None:
            return np.ones(len(self))
        return np.where(self.must & task.night_break[: len(self)], task.break_share, 1.0)


def horizon_of(
    task: LampTask,
    *,
    grid: Grid,
    window: Window,
    now: datetime,
    crew: Sequence[Interval | None],
    keep_young: bool = True,
) -> Horizon:
    """keep_young : a run from before the window lasts its least length, where that can be."""
    start, stop = window_steps(task, grid, window, now)
    served = _days_of_one_setting(task, grid, start, stop)
    last_day = int(grid.day[stop]) if stop < len(grid) else len(grid.dates) - 1
    days = min(len(grid.dates), max(HORIZON_DAYS, last_day + 1))
    end = int(np.searchsorted(grid.day, days))
    day = grid.day[:end]
    needs = task.needs[:days]
    later = np.arange(end) >= start
    sun, low = task.sun_ppfd[:end], task.sun_ppfd_low[:end]
    on_dial = slice(start, min(stop, end)) if served else slice(0, 0)
    dim = _least_by_clock(sun, on_dial) < task.lamps.sun_enough_ppfd_umol_m2_s
    lit_days = np.array([n is not None and n.lamps_allowed for n in needs])
    wanted = lit_days[day]
    wanted[on_dial] = lit_days[: served.stop].any()
    may = later & task.allowed[:end] & dim & wanted
    past = task.already[:end] & ~later
    must = may & task.night_break[:end] if task.night_break is not None else np.zeros(end, dtype=bool)
    want = np.array(
        [0.0 if n is None or n.germination is None else n.germination.ppfd_umol_m2_s for n in needs]
    )
    sun_mol, low_mol = _mol(sun, day, days), _mol(low, day, days)
    horizon = Horizon(
        task=task,
        start=start,
        stop=stop,
        day=day,
        minute=grid.minute[:end],
        may=may,
        past=past,
        must=must,
        seed=may & (_least_by_clock(low, on_dial) < want[day]),
        switchable=_switchable(task, start, end, grid, crew),
        needs=needs,
        sun_mol=sun_mol,
        low_mol=low_mol,
        planned_sun_mol=_dullest_of(sun_mol, served),
        planned_low_mol=_dullest_of(low_mol, served),
        account_days=max(HORIZON_DAYS, served.stop) if served else days,
    )
    if keep_young:
        must |= _young_run(horizon, on_dial)
    return horizon


def most_steps(horizon: Horizon) -> tuple[int | None, ...]:
    """Lit steps of each day at which its light reaches the limit; None without a limit."""
    found: list[int | None] = []
    for needs, sun in zip(horizon.needs, horizon.sun_mol, strict=True):
        if needs is None or needs.limit is None:
            found.append(None)
        else:
            room = (needs.limit - float(sun)) / horizon.task.step_mol
            found.append(max(0, math.floor(room + ROUNDING)))
    return tuple(found)


def _days_of_one_setting(task: LampTask, grid: Grid, start: int, stop: int) -> range:
    """The days that a timer must serve without being set anew; none where the crew comes daily.

    The day the crew comes back is mostly the next sheet's to set.
    """
    if task.lamps.switch == "hand" or stop - start <= MOST_STEPS_A_DAY:
        return range(0)
    return range(int(grid.day[start]), int(grid.day[stop - 1]))


def _least_by_clock(ppfd: Array, on_dial: slice) -> Array:
    """On the dial of a timer the least of its rounds, for what it does once it does on all of them."""
    found = ppfd.copy()
    for position in range(STEPS_A_ROUND):
        rounds = slice(on_dial.start + position, on_dial.stop, STEPS_A_ROUND)
        if len(found[rounds]):
            found[rounds] = found[rounds].min()
    return found


def _dullest_of(mol: Array, served: range) -> Array:
    found = mol.copy()
    if served:
        found[served.start : served.stop] = mol[served.start : served.stop].min()
    return found


def window_steps(task: LampTask, grid: Grid, window: Window, now: datetime) -> tuple[int, int]:
    """First step that can still be set and the step at which the next sheet takes over."""
    start = window.start
    if task.lamps.switch == "remote" and window.end > window.start:  # nobody is to be told on a day off
        start = min(start, max(grid.moment(0), round_up_to_step(now)))
    return grid.index(start), grid.index(window.end)


def _mol(ppfd: Array, day: Numbers, days: int) -> Array:
    return np.asarray(np.bincount(day, weights=ppfd, minlength=days) * STEP_S / 1e6)


def _switchable(task: LampTask, start: int, end: int, grid: Grid, crew: Sequence[Interval | None]) -> Mask:
    """Steps at whose beginning the lamps can be switched: always, or while somebody is there."""
    if task.lamps.switch != "hand":
        return np.ones(end, dtype=bool)
    there = np.zeros(end, dtype=bool)
    for hours in crew:
        if hours is not None:
            there[grid.index(hours[0]) : grid.index(hours[1]) + 1] = True
    there[start : start + 1] = True
    return there


def _young_run(horizon: Horizon, on_dial: slice) -> Mask:
    """What is left of a run that began before the window and is shorter than the least run.

    None where it may not burn so long, can't be ended then, or a timer would light barred hours later on.
    """
    must = np.zeros(len(horizon), dtype=bool)
    age = 0
    while age < horizon.start and horizon.past[horizon.start - 1 - age]:
        age += 1
    if 0 < age < horizon.least_run:
        left = range(horizon.start, horizon.start + horizon.least_run - age)
        rounds = (range(step, max(step + 1, on_dial.stop), STEPS_A_ROUND) for step in left)
        may = all(horizon.may[step] for steps in rounds for step in steps)
        if may and left.stop < len(horizon) and horizon.switchable[left.stop]:
            must[left.start : left.stop] = True
    return must
