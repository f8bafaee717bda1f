"""Rows for how lamps are switched: runs long enough, few starts and timer pairs, the same clock times."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from lightplan.advice.lamps.horizon import STEPS_A_ROUND
from lightplan.advice.lamps.runs import runs

if TYPE_CHECKING:
    from lightplan.advice.lamps.bench_rows import BenchRows


def add_runs(rows: BenchRows) -> None:
    """A column for each step at which a run may begin; no run ends before its least length."""
    horizon, program, least = rows.horizon, rows.program, rows.horizon.least_run
    for step in range(horizon.start, rows.near):
        lit = bool(rows.lit[step]) or bool(rows.always[step])
        lit_before = step > 0 and bool(rows.always[step - 1])
        if not lit or lit_before:
            continue
        cut_short = horizon.stop - least < step < horizon.stop and not horizon.seed[step]
        start = program.column(upper=0.0 if cut_short and not rows.always[step] else 1.0)
        rows.starts[step] = start
        before = rows.terms([step - 1], 1.0) if step > 0 else []
        program.row([(start, 1.0), *before, *rows.terms([step], -1.0)], low=float(rows.always[step]))
    for step in range(horizon.start, rows.near):
        if not rows.always[step]:
            begun = rows.begin(range(max(horizon.start, step - least + 1), step + 1))
            if begun:
                program.row([*begun, *rows.terms([step], -1.0)], high=0.0)


def add_switching(rows: BenchRows) -> None:
    _few_starts(rows)
    _burn_on(rows)
    if rows.horizon.task.lamps.switch == "hand":
        _by_hand(rows)
    else:
        _by_timer(rows)


def _few_starts(rows: BenchRows) -> None:
    """Starts of each civil day; ordered night breaks don't count, what began before the window does."""
    horizon = rows.horizon
    begun = [first for first, _ in runs(horizon.past) if first > 0]
    for day in range(horizon.days):
        steps = np.flatnonzero((horizon.day == day) & ~horizon.must)
        left = horizon.task.lamps.starts - sum(bool(horizon.day[first] == day) for first in begun)
        rows.program.row(rows.begin(int(step) for step in steps), high=max(0, left))


def _burn_on(rows: BenchRows) -> None:
    """What burns before dawn ends when the crew comes, unless the day is lit again: then it reaches dawn."""
    if rows.burns_on is not None:
        again = [(column, -1.0) for step, column in rows.starts.items() if rows.horizon.day[step] == 0]
        if again:
            rows.program.row([(rows.burns_on, float(len(again))), *again], low=0.0)


def _by_hand(rows: BenchRows) -> None:
    for step in range(rows.horizon.start + 1, rows.near):
        if not rows.horizon.switchable[step]:
            _same(rows, step, step - 1)


def _by_timer(rows: BenchRows) -> None:
    """The same clock times on every day of the window, and no more pairs than the timer holds.

    What burns at the end of a round and at its beginning is one pair on the dial.
    """
    horizon, program = rows.horizon, rows.program
    start, stop = horizon.start, min(horizon.stop, len(horizon))
    for step in range(start + STEPS_A_ROUND, stop):
        _same(rows, step, step - STEPS_A_ROUND)
    first, end = start, min(stop, start + STEPS_A_ROUND)
    if first < end:
        pairs = [*rows.terms([first]), *rows.begin(range(first + 1, end))]
        if end - first == STEPS_A_ROUND:
            joined = program.column()
            for edge in (first, end - 1):
                program.row([*rows.terms([edge]), (joined, -1.0)], low=-float(rows.always[edge]))
            pairs.append((joined, -1.0))
        program.row(pairs, high=horizon.task.lamps.pairs - float(rows.always[first]))


def _same(rows: BenchRows, step: int, other: int) -> None:
    terms = [*rows.terms([step]), *rows.terms([other], -1.0)]
    if terms:
        difference = float(rows.always[other]) - float(rows.always[step])
        rows.program.row(terms, low=difference, high=difference)
