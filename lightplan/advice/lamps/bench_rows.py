"""The columns and rows of one bench: what may be lit when, in which runs, and how much light is wanted.

A step by day is one column, lit or not. A step of the night belongs to the piece that begins at dusk, to
the piece that ends at dawn, or to either: one column each, and a piece never skips a step. That makes
"one stretch with the daylight" and "unbroken dark" plain sums, and keeps the relaxation close to whole.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np

from lightplan.advice.lamps.demand import Demand, demands
from lightplan.advice.lamps.horizon import ROUNDING, Horizon, most_steps
from lightplan.advice.lamps.later import Block, add_later
from lightplan.advice.lamps.nights import (
    Night,
    anchors,
    darkness_h,
    daylight_steps,
    near_end,
    nights_of,
    one_stretch_days,
)
from lightplan.advice.lamps.program import Program, Term
from lightplan.advice.lamps.run_rows import add_runs, add_switching
from lightplan.advice.lamps.task import Array, Mask, Numbers

TINY = 1e-9


@dataclass(frozen=True)
class Missing:
    """What a need lacks: "seed" [steps], "minimum", "account" or "worth" [mol], "day" [h]: a column."""

    kind: str
    day: int
    column: int


@dataclass
class BenchRows:
    """The bench's columns in the program, and its steps in terms of them.

    near : steps before it are laid out one by one; those from it on are counted in blocks.
    """

    horizon: Horizon
    program: Program
    near: int
    lit: list[tuple[int, ...]]  # columns whose sum says whether a step is lit
    always: Mask  # lit whatever the program says
    blocks: tuple[Block, ...] = ()
    starts: dict[int, int] = field(default_factory=dict)  # step → column: a run begins here
    missing: list[Missing] = field(default_factory=list)
    burns_on: int | None = None  # column: a run from before the window goes on to dawn

    def terms(self, steps: Iterable[int], factor: float = 1.0) -> list[Term]:
        return [(column, factor) for step in steps for column in self.lit[step]]

    def begin(self, steps: Iterable[int]) -> list[Term]:
        return [(self.starts[step], 1.0) for step in steps if step in self.starts]

    def steps_of(self, days: Iterable[int]) -> tuple[list[Term], float]:
        """Lit steps of civil days: terms, and the count of those that are lit anyhow."""
        within = np.isin(self.horizon.day, tuple(days))
        later = [(block.column, 1.0) for block in self.blocks if within[block.first]]
        return self.terms(np.flatnonzero(within)) + later, float(
            (self.always * self.horizon.share)[within].sum()
        )

    def on(self, value: Array) -> Mask:
        """Lit steps of a solution, up to `near`."""
        lit = [sum(value[column] for column in columns) > 0.5 for columns in self.lit]
        return np.asarray((self.always | np.array(lit, dtype=bool))[: self.near])


def add_bench(program: Program, horizon: Horizon, segment: Numbers) -> BenchRows:
    """Put a bench into the program.

    segment : (steps,) number of the stretch of equal price that a step lies in; a day's end ends one too.
    """
    near = near_end(horizon)
    rows = BenchRows(horizon, program, near, [()] * len(horizon), horizon.past | horizon.must)
    by_day = daylight_steps(horizon) | ~one_stretch_days(horizon)[horizon.day]
    for step in np.flatnonzero((horizon.may & by_day & ~rows.always)[:near]):
        rows.lit[step] = (program.column(whole=True),)
    for night in nights_of(horizon):
        if night.first < near:
            _add_night(rows, night)
    rows.blocks = add_later(program, horizon, segment, near)
    add_runs(rows)
    add_switching(rows)
    _add_most(rows)
    _add_needs(rows)
    return rows


def _add_night(rows: BenchRows, night: Night) -> None:
    program, horizon = rows.program, rows.horizon
    anchored = anchors(horizon)
    for steps, towards_day in ((night.evening, -1), (night.morning, 1)):
        before: list[Term] | None = None
        if steps and anchored[steps[0] + towards_day]:
            before = rows.terms([steps[0] + towards_day])
        for step in steps:
            if rows.always[step]:
                before = None
                continue
            column = program.column(whole=True)
            if before is not None:
                program.row([*before, (column, -1.0)], low=0.0)
            rows.lit[step] = (*rows.lit[step], column)
            before = [(column, 1.0)]
    if night.burning:
        rows.burns_on = next((rows.lit[step][-1] for step in sorted(night.morning) if rows.lit[step]), None)
    for step in set(night.evening) & set(night.morning):
        if len(rows.lit[step]) > 1:
            program.row(rows.terms([step]), high=1.0)
    if night.spare_h is not None:
        dark = darkness_h(horizon)
        reached = sorted({*night.evening, *night.morning})
        taken = [(column, float(dark[step])) for step in reached for column in rows.lit[step]]
        program.row(taken, high=night.spare_h + TINY)
    if night.wanted_h is not None:
        _draw_in(rows, night, night.wanted_h)


def _draw_in(rows: BenchRows, night: Night, wanted_h: float) -> None:
    """Lamps take so much of the night's dark, for a crop that wants a long day.

    What burns at the window's end burns on to dawn: the next sheet holds it to that. What begins later is
    the next sheet's to order, and takes nothing.
    """
    horizon, program = rows.horizon, rows.program
    dark = darkness_h(horizon)
    reached = sorted({*night.evening, *night.morning})
    lack = program.column(upper=np.inf)
    rows.missing.append(Missing("day", int(horizon.day[night.first]), lack))
    ends = horizon.stop if night.first < horizon.stop <= night.end else len(horizon)
    taken = [(c, float(dark[step])) for step in reached if step < ends for c in rows.lit[step]]
    for step in (step for step in reached if step >= ends):
        goes_on = program.column()
        for lit_too in (step, ends - 1):
            program.row([*rows.terms([lit_too]), (goes_on, -1.0)], low=-float(rows.always[lit_too]))
        taken.append((goes_on, float(dark[step])))
    program.row([*taken, (lack, 1.0)], low=wanted_h)


def _add_most(rows: BenchRows) -> None:
    """No lamp light past the day's limit, but for what is lit anyhow.

    A timer set for a window of somewhat more than a day lights its first steps again at the end: what
    today needs of them is not barred because tomorrow is bright.
    """
    horizon = rows.horizon
    again = set(horizon.lit_again)
    for day, most in enumerate(most_steps(horizon)):
        if most is not None:
            terms, fixed = rows.steps_of([day])
            wanted = int((horizon.seed & ~rows.always)[horizon.day == day].sum())
            repeated = sum(bool(rows.lit[step]) for step in again if horizon.day[step] == day)
            rows.program.row(terms, high=max(math.floor(most - fixed + TINY), wanted, repeated))


def _add_needs(rows: BenchRows) -> None:
    """Each need with a column for what is missing of it; a bound of 0 on that makes the need a must."""
    program = rows.program
    for step in map(int, np.flatnonzero((rows.horizon.seed & ~rows.always)[: rows.near])):
        lack = program.column()
        rows.missing.append(Missing("seed", int(rows.horizon.day[step]), lack))
        program.row([*rows.terms([step]), (lack, 1.0)], low=1.0)
    columns: dict[tuple[str, int], int] = {}
    for demand in demands(rows.horizon):
        key = (demand.kind, demand.days[-1])
        if key not in columns:
            columns[key] = program.column(upper=np.inf)
            rows.missing.append(Missing(*key, columns[key]))
        _add_demand(rows, demand, columns[key])


def _add_demand(rows: BenchRows, demand: Demand, lack: int) -> None:
    """Steps and what is missing [mol] make up the demand.

    Where every step is laid out their count is whole, and rounding up the demand cuts off nothing but parts
    of steps (mixed-integer rounding, Nemhauser & Wolsey 1988, II.1.7; from memory).
    """
    terms, fixed = rows.steps_of(demand.days)
    wanted, step_mol = demand.part_steps - fixed, rows.horizon.task.step_mol
    rows.program.row([*terms, (lack, 1 / step_mol)], low=wanted)
    counted = any(rows.horizon.day[block.first] in demand.days for block in rows.blocks)
    rest = wanted - math.floor(wanted)
    if not counted and ROUNDING < rest < 1 - ROUNDING:
        rows.program.row([*terms, (lack, 1 / (step_mol * rest))], low=math.ceil(wanted))
