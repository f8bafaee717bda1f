"""Least cost for all benches: each alone where nothing binds them, else together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from lightplan.advice.lamps.alone import least_cost_alone
from lightplan.advice.lamps.horizon import Horizon
from lightplan.advice.lamps.priced import Lit
from lightplan.advice.lamps.program import FEASIBILITY
from lightplan.advice.lamps.shared_rows import Shared
from lightplan.advice.lamps.task import Array, Mask
from lightplan.advice.lamps.together import least_cost_together

EXACT = 1e-8  # relative gap for a bench alone, small enough for preferences among equal costs to count


@dataclass(frozen=True)
class Answer:
    """lit : the plan. alone : what each bench would do and lack if it had the power to itself."""

    lit: Lit
    alone: tuple[Lit, ...]


def least_cost(
    horizons: Sequence[Horizon], price: Array, shared: Shared, *, gap: float, limit_s: float
) -> Answer:
    """price : (steps,) per kWh. gap : relative gap at which the search for benches together may stop.

    limit_s : when it stops in any case. Raises RuntimeError when HiGHS finds no plan at all in that time.
    """
    alone = tuple(least_cost_alone(h, price, gap=EXACT, limit_s=limit_s) for h in horizons)
    apart = _joined(alone)
    if len(horizons) == 0 or (shared.peak_price_per_kw == 0 and _fits(horizons, apart.on, shared)):
        return Answer(apart, alone)
    return Answer(least_cost_together(horizons, price, shared, gap=gap, limit_s=limit_s), alone)


def _joined(alone: Sequence[Lit]) -> Lit:
    total = sum(abs(lit.objective) for lit in alone)
    return Lit(
        on=tuple(lit.on[0] for lit in alone),
        short=tuple(lit.short[0] for lit in alone),
        objective=sum(lit.objective for lit in alone),
        gap=sum(abs(lit.objective) * lit.gap for lit in alone) / total if total > 0 else 0.0,
    )


def _fits(horizons: Sequence[Horizon], on: Sequence[Mask], shared: Shared) -> bool:
    if shared.most_kw is None:
        return True
    first = min(h.start for h in horizons)
    return bool((draw_kw(horizons, on)[first:] <= shared.most_kw + FEASIBILITY).all())


def draw_kw(horizons: Sequence[Horizon], on: Sequence[Mask]) -> Array:
    """(steps,) power of all lamps together, as far as the longest plan reaches."""
    total = np.zeros(max((len(mask) for mask in on), default=0))
    for horizon, mask in zip(horizons, on, strict=True):
        total[: len(mask)] += mask * horizon.task.draw_kw
    return total
