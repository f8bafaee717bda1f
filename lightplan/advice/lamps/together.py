"""Least cost for benches that share a breaker or a peak price.

The relaxation gives the bound. A plan is built a few benches at a time, those that draw most first, the
rest left in parts; then a few at a time are laid out anew while the others stand, until the plan is proved
near enough to the bound or the time is up. Solving all at once takes HiGHS several times as long.
"""

from __future__ import annotations

import contextlib
import time
from collections.abc import Sequence

import numpy as np

from lightplan.advice.lamps.horizon import Horizon
from lightplan.advice.lamps.priced import Lit, Priced, lit_of, priced
from lightplan.advice.lamps.program import FEASIBILITY, NoPlan, OutOfTime, Solution, relaxed, whole
from lightplan.advice.lamps.shared_rows import Shared
from lightplan.advice.lamps.task import Array
from lightplan.clock import STEPS_PER_H

AT_ONCE = 4  # benches laid out in one program: of 1, 2, 3, 4 and 12 the quickest to 0.5 % on 12 benches
PART_GAP, PART_LIMIT_S = 1e-3, 1.0
TIDY_GAP = 1e-8
OUTBID = 3.0  # a missing mol costs this many times the dearest lamp light that could make it up
ACCOUNT_OVER_WORTH, MINIMUM_OVER_ACCOUNT = 3.0, 30.0
DAY_OVER_ACCOUNT = 5.0  # an hour that a long day lacks, beside the light of an hour of lamps
TIDY_LIMIT = 2.0  # times the search's time, all in all
FIRST_PLAN = 10.0  # times its share that a first plan may take, rather than none
SEED = 0  # of the choice which benches are laid out anew: the same plan where the clock allows as many tries


def least_cost_together(
    horizons: Sequence[Horizon], price: Array, shared: Shared, *, gap: float, limit_s: float
) -> Lit:
    which = priced(horizons, price, shared)
    search = _Search(which, horizons)
    search.build(gap, limit_s)
    search.improve(gap, limit_s)
    search.tidy(TIDY_LIMIT * limit_s)
    return lit_of(which, search.best.value, search.best.objective, *search.proved())


class _Search:
    def __init__(self, which: Priced, horizons: Sequence[Horizon]) -> None:
        self.began = time.monotonic()
        self.which = which
        self.rows, self.bounds = which.program.rows(), which.program.bounds
        self.cost = _with_lacks(which, horizons)
        self.columns = [
            np.array(sorted({c for columns in bench.lit for c in columns}), dtype=int)
            for bench in which.benches
        ]
        self.largest_first = sorted(range(len(horizons)), key=lambda n: -horizons[n].task.draw_kw)
        bound = relaxed(self.rows, self.cost, self.bounds)
        if bound is None:
            raise NoPlan("benches together")
        self.bound = bound.objective
        self.best = bound
        self.done = False

    @property
    def gap(self) -> float:
        return max(0.0, (self.best.objective - self.bound) / abs(self.best.objective or 1.0))

    def proved(self) -> tuple[float, float]:
        """Share of its cost that a plan that lacks no more could save, and of its lack that one could spare.

        The search weighs what is short far above cost, so its own gap says little of either.
        """
        weights = self.cost - self.which.cost
        best, lack = self.best.value, float(weights @ self.best.value)
        paid, bound, spared = float(self.which.cost @ best), self.bound - lack, 0.0
        if lack > FEASIBILITY:
            fewest = relaxed(self.rows, weights, self.bounds)
            # less cost for more lack is never worth it, so a better plan is better by what it lacks less
            spared = min(self.best.objective - self.bound, lack - (fewest.objective if fewest else 0.0))
            self.which.program.row([(int(n), float(weights[n])) for n in np.flatnonzero(weights)], high=lack)
            cheapest = relaxed(self.which.program.rows(), self.which.cost, self.bounds)
            bound = max(bound, cheapest.objective) if cheapest else bound
        saved = (paid - bound) / abs(paid or 1.0)
        return max(0.0, min(saved, 1.0)), max(0.0, spared) / (lack or 1.0)

    def left_s(self, limit_s: float) -> float:
        return limit_s - (time.monotonic() - self.began)

    def build(self, gap: float, limit_s: float) -> None:
        """A first whole plan; where all benches can be laid out at once it is the last one too."""
        if len(self.columns) <= AT_ONCE:
            self.best = self._first(self.largest_first, [], self.best.value, limit_s, gap)
            self.bound = max(self.bound, self.best.objective * (1 - self.best.gap))
            paid = float(self.which.cost @ self.best.value)
            left_s = self.left_s(limit_s)
            # most of the objective is what is short
            if self.best.objective - self.bound > gap * paid > 0 and left_s > 0:
                self._better(self.largest_first, [], gap * paid / self.best.objective, left_s)
            self.done = True
            return
        standing: list[int] = []
        value = self.best.value
        for first in range(0, len(self.columns), AT_ONCE):
            free = self.largest_first[first : first + AT_ONCE]
            part = self._first(free, standing, value, max(PART_LIMIT_S, self.left_s(limit_s) / AT_ONCE))
            value, self.best = part.value, part
            standing += free

    def improve(self, gap: float, limit_s: float) -> None:
        """Anew: a bench that lacks light or is simply next, and others by lot, while the rest stands."""
        chance = np.random.default_rng(SEED)
        everyone = range(len(self.columns))
        while not self.done and self.gap > gap and self.left_s(limit_s) > 0:
            lacking = np.array([self._lack(n) for n in everyone]) + 1.0
            first = int(chance.choice(len(self.columns), p=lacking / lacking.sum()))
            others = [n for n in everyone if n != first]
            free = [first, *chance.choice(others, min(AT_ONCE, len(others)), replace=False)]
            standing = [n for n in everyone if n not in free]
            self._better(free, standing, PART_GAP)

    def tidy(self, limit_s: float) -> None:
        """Each bench by itself once more, exactly: of plans that cost the same the one liked best."""
        everyone = range(len(self.columns))
        for n in self.largest_first:
            if self.left_s(limit_s) <= 0:
                break
            standing = [other for other in everyone if other != n]
            self._better([n], standing, TIDY_GAP)

    def _better(
        self, free: Sequence[int], standing: Sequence[int], gap: float, limit_s: float = PART_LIMIT_S
    ) -> None:
        """Another plan where it costs less; none in time is no better."""
        with contextlib.suppress(OutOfTime):
            part = self._lay_out(free, standing, self.best.value, limit_s, gap)
            if part.objective < self.best.objective:
                self.best = part
            if not standing:
                self.bound = max(self.bound, part.objective * (1 - part.gap))

    def _first(
        self,
        free: Sequence[int],
        standing: Sequence[int],
        value: Array,
        limit_s: float,
        gap: float = PART_GAP,
    ) -> Solution:
        try:
            return self._lay_out(free, standing, value, limit_s, gap)
        except OutOfTime:  # a late plan is better than none
            return self._lay_out(free, standing, value, FIRST_PLAN * limit_s, gap)

    def _lay_out(
        self,
        free: Sequence[int],
        standing: Sequence[int],
        value: Array,
        limit_s: float,
        gap: float = PART_GAP,
    ) -> Solution:
        """Some benches in whole steps, those standing as they are, the rest in parts."""
        lower, upper = (bound.copy() for bound in self.bounds)
        integrality = np.zeros(len(self.cost), dtype=np.int64)
        for n in free:
            integrality[self.columns[n]] = 1
        for n in standing:
            lower[self.columns[n]] = upper[self.columns[n]] = np.round(value[self.columns[n]])
        found = whole(self.rows, self.cost, (lower, upper), integrality, gap=gap, limit_s=limit_s)
        if found is None:
            raise NoPlan("benches together")
        return found

    def _lack(self, n: int) -> float:
        columns = [missing.column for missing in self.which.benches[n].missing]
        return float(self.cost[columns] @ self.best.value[columns])


def _with_lacks(which: Priced, horizons: Sequence[Horizon]) -> Array:
    """Costs with a price on what is missing, so dear that lamps are lit wherever they can be."""
    cost = which.cost.copy()
    for bench, horizon in zip(which.benches, horizons, strict=True):
        task = horizon.task
        dearest = which.dearest_step + which.peak_cost_per_kw * task.draw_kw
        worth = OUTBID * dearest / task.step_mol
        account = ACCOUNT_OVER_WORTH * worth
        minimum = MINIMUM_OVER_ACCOUNT * account
        weights = {
            "worth": worth,
            "account": account,
            "minimum": minimum,
            "seed": minimum * task.step_mol,
            "day": DAY_OVER_ACCOUNT * account * task.step_mol * STEPS_PER_H,
        }
        for missing in bench.missing:
            cost[missing.column] = weights[missing.kind]
    return cost
