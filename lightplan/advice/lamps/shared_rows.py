"""What joins the benches: the breaker that all lamps share, and the peak that the month is charged for."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from lightplan.advice.lamps.bench_rows import BenchRows
from lightplan.advice.lamps.program import FEASIBILITY, Program, Term
from lightplan.advice.lamps.task import Numbers


@dataclass(frozen=True)
class Shared:
    """Power for lamps [kW], None = no bound; price of the month's peak, and the peak so far."""

    most_kw: float | None = None
    peak_price_per_kw: float = 0.0
    peak_so_far_kw: float = 0.0

    @property
    def joins(self) -> bool:
        return self.most_kw is not None or self.peak_price_per_kw > 0


def add_shared(
    program: Program, benches: Sequence[BenchRows], segment: Numbers, shared: Shared
) -> int | None:
    """Rows that hold for all lamps together; the column of the peak above the one so far [kW], if charged."""
    if not shared.joins:
        return None
    peak = program.column(upper=math.inf) if shared.peak_price_per_kw > 0 else None
    near = min(bench.near for bench in benches)
    for step in range(min(bench.horizon.start for bench in benches), near):
        _hold(program, benches, [step], (), shared, peak)
    for number in range(
        int(segment[near]) if near < len(segment) else int(segment[-1]) + 1, int(segment[-1]) + 1
    ):
        steps = np.flatnonzero(segment == number)
        _hold(program, benches, [int(k) for k in steps[steps >= near]], (int(number),), shared, peak)
    return peak


def _hold(
    program: Program,
    benches: Sequence[BenchRows],
    steps: Sequence[int],
    segments: Sequence[int],
    shared: Shared,
    peak: int | None,
) -> None:
    """Mean power over some steps, in sums of kW and steps."""
    terms: list[Term] = []
    fixed = could = 0.0
    for bench in benches:
        kw = bench.horizon.task.draw_kw
        inside = [step for step in steps if step < len(bench.horizon)]
        blocks = [block for block in bench.blocks if block.segment in segments]
        terms += bench.terms(inside, kw)
        terms += [(block.column, kw) for block in blocks]
        fixed += kw * (sum(bool(bench.always[step]) for step in inside))
        could += kw * (
            sum(bool(bench.lit[step]) for step in inside) + sum(len(block.steps) for block in blocks)
        )
    wanted = sum(program.lower[column] * kw for column, kw in terms)
    most = math.inf if shared.most_kw is None else shared.most_kw * len(steps)
    if terms and fixed + could > most + FEASIBILITY:
        program.row(terms, high=max(wanted, most - fixed))
    if terms and peak is not None and fixed + could > shared.peak_so_far_kw * len(steps):
        program.row([*terms, (peak, -float(len(steps)))], high=shared.peak_so_far_kw * len(steps) - fixed)
