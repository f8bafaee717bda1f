"""The program of one or more benches with what every column costs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from lightplan.advice.lamps.bench_rows import BenchRows, add_bench
from lightplan.advice.lamps.horizon import Horizon
from lightplan.advice.lamps.preferences import START, UNIT, step_preference
from lightplan.advice.lamps.program import FEASIBILITY, Program
from lightplan.advice.lamps.shared_rows import Shared, add_shared
from lightplan.advice.lamps.task import Array, Mask, Numbers
from lightplan.clock import STEPS_PER_H


@dataclass(frozen=True)
class Priced:
    """cost : of every column, in mean costs of a lit step; 0 for what is missing of a need."""

    program: Program
    benches: tuple[BenchRows, ...]
    cost: Array
    dearest_step: float
    peak_cost_per_kw: float


@dataclass(frozen=True)
class Lit:
    """on : lit steps of each bench as far as they are laid out.

    short : what each bench lacks, by kind and day ["seed": steps, else mol].
    gap : share of its cost by which a plan that lacks no more could be cheaper, as proved.
    short_gap : share of what is short that some plan might spare; 0 where nothing is.
    """

    on: tuple[Mask, ...]
    short: tuple[dict[tuple[str, int], float], ...]
    objective: float
    gap: float
    short_gap: float = 0.0


def priced(horizons: Sequence[Horizon], price: Array, shared: Shared) -> Priced:
    """price : (steps,) per kWh."""
    program = Program()
    segment = _segments(horizons, price)
    benches = tuple(add_bench(program, horizon, segment) for horizon in horizons)
    peak = add_shared(program, benches, segment, shared)
    step_cost = [price[: len(h)] * h.task.draw_kw / STEPS_PER_H for h in horizons]
    scale = float(np.abs(np.concatenate(step_cost)).mean()) or 1.0
    cost = np.zeros(len(program.lower))
    for bench, each in zip(benches, step_cost, strict=True):
        liked = each / scale + UNIT * step_preference(bench.horizon)
        for step, columns in enumerate(bench.lit):
            cost[list(columns)] = liked[step]
        for block in bench.blocks:
            cost[block.column] = liked[list(block.steps)].mean()
        cost[list(bench.starts.values())] = UNIT * START
    peak_cost = shared.peak_price_per_kw / scale
    if peak is not None:
        cost[peak] = peak_cost
    return Priced(program, benches, cost, float(np.concatenate(step_cost).max()) / scale, peak_cost)


def _segments(horizons: Sequence[Horizon], price: Array) -> Numbers:
    """Number of the stretch of one price within one civil day that each step lies in."""
    day = max((h.day for h in horizons), key=len)
    new = (np.diff(day) != 0) | (np.diff(price[: len(day)]) != 0)
    return np.concatenate([[0], np.cumsum(new)]).astype(np.int64)


def lit_of(which: Priced, value: Array, objective: float, gap: float, short_gap: float = 0.0) -> Lit:
    return Lit(
        on=tuple(bench.on(value) for bench in which.benches),
        short=tuple(_short(bench, value) for bench in which.benches),
        objective=objective,
        gap=gap,
        short_gap=short_gap,
    )


def _short(bench: BenchRows, value: Array) -> dict[tuple[str, int], float]:
    found: dict[tuple[str, int], float] = {}
    for missing in bench.missing:
        lack = float(value[missing.column])
        if lack > FEASIBILITY:
            key = (missing.kind, missing.day)
            found[key] = found.get(key, 0.0) + lack
    return found
