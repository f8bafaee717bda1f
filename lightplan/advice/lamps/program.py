"""A mixed-integer program put together column by column and row by row, and solved by HiGHS through scipy."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_matrix

from lightplan.advice.lamps.task import Array

Term = tuple[int, float]  # column, coefficient
TIME_LIMIT, INFEASIBLE = 1, 2  # status of scipy.optimize.milp
FEASIBILITY = 1e-6  # how far HiGHS lets a row be missed


class NoPlan(RuntimeError):
    """Nothing satisfies the switching rules; with what a run from before the window asks that may be."""


class OutOfTime(RuntimeError):
    """HiGHS found no answer in its time."""


@dataclass(frozen=True)
class Solution:
    value: Array
    objective: float
    gap: float


class Program:
    def __init__(self) -> None:
        self.lower: list[float] = []
        self.upper: list[float] = []
        self.whole: list[int] = []
        self._low: list[float] = []
        self._high: list[float] = []
        self._row: list[int] = []
        self._column: list[int] = []
        self._coefficient: list[float] = []

    def column(self, lower: float = 0.0, upper: float = 1.0, *, whole: bool = False) -> int:
        self.lower.append(lower)
        self.upper.append(upper)
        self.whole.append(int(whole))
        return len(self.lower) - 1

    def row(self, terms: Iterable[Term], low: float = -math.inf, high: float = math.inf) -> None:
        number = len(self._low)
        for column, coefficient in terms:
            self._row.append(number)
            self._column.append(column)
            self._coefficient.append(coefficient)
        self._low.append(low)
        self._high.append(high)

    def rows(self) -> LinearConstraint:
        shape = (len(self._low), len(self.lower))
        matrix = csr_matrix((self._coefficient, (self._row, self._column)), shape=shape)
        return LinearConstraint(matrix, np.array(self._low), np.array(self._high))

    @property
    def integrality(self) -> NDArray[np.int64]:
        return np.array(self.whole, dtype=np.int64)

    @property
    def bounds(self) -> tuple[Array, Array]:
        return np.array(self.lower), np.array(self.upper)


def relaxed(rows: LinearConstraint, cost: Array, bounds: tuple[Array, Array]) -> Solution | None:
    """Least cost where columns need not be whole; None where nothing satisfies the rows."""
    return _solve(rows, cost, bounds, None, 0.0, math.inf)


def whole(
    rows: LinearConstraint,
    cost: Array,
    bounds: tuple[Array, Array],
    integrality: NDArray[np.int64],
    *,
    gap: float,
    limit_s: float,
) -> Solution | None:
    """Least cost with whole columns where integrality is 1, within a relative gap.

    None where nothing satisfies the rows. Raises OutOfTime when HiGHS finds no answer in time.
    """
    return _solve(rows, cost, bounds, integrality, gap, limit_s)


def _solve(
    rows: LinearConstraint,
    cost: Array,
    bounds: tuple[Array, Array],
    integrality: NDArray[np.int64] | None,
    gap: float,
    limit_s: float,
) -> Solution | None:
    if len(cost) == 0:  # nothing to light and nothing wanted; scipy refuses to solve that
        return Solution(cost, 0.0, 0.0)
    for presolve in (True, False):  # presolve now and then ends in "Solve error" (scipy 1.17, status 4)
        answer = milp(
            cost,
            integrality=integrality,
            bounds=Bounds(*bounds),
            constraints=rows,
            options={"mip_rel_gap": gap, "time_limit": limit_s, "presolve": presolve},
        )
        if answer.status == INFEASIBLE:
            return None
        if answer.x is not None:
            return Solution(answer.x, float(answer.fun), float(answer.mip_gap or 0.0))
        if answer.status == TIME_LIMIT:
            break
    raise OutOfTime(f"HiGHS found no lamp plan: {answer.message}")
