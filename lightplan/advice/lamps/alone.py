"""Least cost for one bench that shares nothing: exact, the account giving first, then the minimum."""

from __future__ import annotations

import numpy as np
from scipy.optimize import LinearConstraint

from lightplan.advice.lamps.horizon import Horizon
from lightplan.advice.lamps.priced import Lit, Priced, lit_of, priced
from lightplan.advice.lamps.program import FEASIBILITY, NoPlan, OutOfTime, Solution, relaxed, whole
from lightplan.advice.lamps.shared_rows import Shared
from lightplan.advice.lamps.task import Array

# What a missing need weighs while the least of them is sought: seed light before the day's minimum before
# a long day before the account before what is only worth taking, each above all that the next can gain.
# Missing seed light is counted in steps, a day in hours, the rest in mol.
WEIGHTS = {"seed": 1e4, "minimum": 1e3, "day": 3e1, "account": 1.0, "worth": 1e-3}
SHORTAGE_GAP = 1e-7


def least_cost_alone(horizon: Horizon, price: Array, *, gap: float, limit_s: float) -> Lit:
    """Raises NoPlan where nothing satisfies the switching rules, OutOfTime when HiGHS finds none in time."""
    which = priced([horizon], price, Shared())
    rows, bounds = which.program.rows(), which.program.bounds
    missing = [m.column for m in which.benches[0].missing]
    nothing_missing = bounds[1].copy()
    nothing_missing[missing] = 0.0
    found = _whole(which, rows, which.cost, (bounds[0], nothing_missing), gap=gap, limit_s=limit_s)
    if found is None:
        lack = np.zeros(len(which.cost))
        lack[missing] = [WEIGHTS[m.kind] for m in which.benches[0].missing]
        least = _whole(which, rows, lack, bounds, gap=SHORTAGE_GAP, limit_s=limit_s)
        if least is None:
            raise NoPlan(horizon.task.bench_id)
        terms = [(int(column), float(lack[column])) for column in missing]
        which.program.row(terms, high=float(lack @ least.value) + FEASIBILITY)
        rows = which.program.rows()
        try:
            found = _whole(which, rows, which.cost, bounds, gap=gap, limit_s=limit_s) or least
        except OutOfTime:  # what lacks least stands, whatever it costs
            cheapest = relaxed(rows, which.cost, bounds)
            paid = float(which.cost @ least.value)
            left = 0.0 if cheapest is None or paid <= 0 else 1 - cheapest.objective / paid
            found = Solution(least.value, paid, left)
    return lit_of(which, found.value, found.objective, found.gap)


def _whole(
    which: Priced,
    rows: LinearConstraint,
    cost: Array,
    bounds: tuple[Array, Array],
    *,
    gap: float,
    limit_s: float,
) -> Solution | None:
    """The relaxation where it comes out whole by itself, which is most days, else branch and bound."""
    first = relaxed(rows, cost, bounds)
    integrality = which.program.integrality
    if first is None or (np.abs(first.value - np.round(first.value))[integrality > 0] < FEASIBILITY).all():
        return first
    return whole(rows, cost, bounds, integrality, gap=gap, limit_s=limit_s)
