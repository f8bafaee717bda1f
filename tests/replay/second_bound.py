"""The season's bound once more, written another way: a part of every single step, light accounts as sums.

Shares no code with `lightplan.replay`: no blocks, nights told apart here, one program with dear shortages in
place of one after another.
"""

from __future__ import annotations

import numpy as np
from scipy.optimize import linprog
from scipy.sparse import csr_matrix

from lightplan.clock import STEPS_PER_H
from lightplan.replay.season import Season

ACCOUNT, MINIMUM, SEED = 1e2, 1e5, 1e7  # per mol and per step: far above any price of light


class Rows:
    def __init__(self) -> None:
        self.parts: list[tuple[list[int], list[float]]] = []
        self.most: list[float] = []

    def at_most(self, columns: list[int], factors: list[float], most: float) -> None:
        self.parts.append((columns, factors))
        self.most.append(most)

    def matrix(self, columns: int) -> csr_matrix:
        row = np.repeat(np.arange(len(self.parts)), [len(c) for c, _ in self.parts])
        return csr_matrix(
            (np.concatenate([f for _, f in self.parts]), (row, np.concatenate([c for c, _ in self.parts]))),
            shape=(len(self.parts), columns),
        )


def bound_cost(season: Season) -> float:
    """Least cost of energy and peaks [currency]."""
    steps, days = season.steps, season.days
    day = season.grid.day[:steps]
    rows, bounds, cost = Rows(), [], []

    def column(low: float | None, high: float | None, price: float) -> int:
        bounds.append((low, high))
        cost.append(price)
        return len(bounds) - 1

    power = season.site.power
    peak = [column(0, None, power.peak_price_per_kw) for _ in range(12)]
    penalties = []
    draw: list[list[tuple[int, float]]] = [[] for _ in range(steps)]
    for bench in season.benches:
        kw, mol = bench.draw_kw, bench.step_mol
        sun, light = bench.sun_ppfd[:steps], bench.daylight[:steps] > 0
        may = bench.allowed[:steps] & (sun < bench.lamps.sun_enough_ppfd_umol_m2_s)
        held = np.array([n.target is not None for n in bench.needs[:days]])[day]
        groups = min(
            1, int(power.lamps_kw_at_most // kw)
        )  # that the breaker bears: lamps of a bench go on together
        of_step: list[list[int]] = [[] for _ in range(steps)]

        def lit(step: int, of_step=of_step, kw=kw, groups=groups) -> int:
            found = column(0, groups, kw / STEPS_PER_H * season.price[step])
            of_step[step].append(found)
            draw[step].append((found, kw))
            return found

        for step in np.flatnonzero(may & (light | ~held)):
            lit(int(step))
        edges = np.flatnonzero(np.diff(np.concatenate([[light[0]], light, [not light[-1]]]).astype(int)))
        starts = [0, *map(int, edges)] if not light[0] else list(map(int, edges))
        for first in (s for s in starts if s < steps and not light[s]):
            end = next((k for k in range(first, steps) if light[k]), steps)
            if not held[first]:
                continue
            inside: list[int] = []
            for order, real in ((range(first, end), first > 0), (range(end - 1, first - 1, -1), end < steps)):
                before = None
                for step in order:
                    if not real or not may[step]:
                        break
                    now = lit(step)
                    if before is not None:
                        rows.at_most([now, before], [1, -1], 0)
                    before = now
                    inside.append(now)
            for step in range(first, end):
                if len(of_step[step]) == 2:
                    rows.at_most(of_step[step], [1, 1], 1)
            dark_h = bench.needs[0].dark_h
            whole = (end - first) / STEPS_PER_H
            if first == 0:  # yesterday evening was as dark as today's
                whole += float((~light[day == 0])[np.flatnonzero(light[day == 0])[-1] :].sum()) / STEPS_PER_H
            if end == steps:  # and tomorrow morning as this one
                whole += float(np.flatnonzero(light[day == days - 1])[0]) / STEPS_PER_H
            if dark_h > 0 and inside:
                rows.at_most(inside, [1 / STEPS_PER_H] * len(inside), whole - dark_h)
        of_day = [[c for k in np.flatnonzero(day == d) for c in of_step[k]] for d in range(days)]
        # the account is min over j of (C or 0 before day j) + all light since: no state, only sums
        for d in range(days):
            needs = bench.needs[d]
            if needs.germination is not None:
                for step in np.flatnonzero((day == d) & may & (sun < needs.germination.ppfd_umol_m2_s)):
                    lack = column(0, None, 0)
                    penalties.append((lack, SEED))
                    rows.at_most([*of_step[step], lack], [-1.0] * (len(of_step[step]) + 1), -1)
            if needs.target is None:
                continue
            lack = column(0, None, 0)
            penalties.append((lack, MINIMUM))
            rows.at_most([*of_day[d], lack], [*[-mol] * len(of_day[d]), -1], bench.sun_mol[d] - needs.minimum)
            rows.at_most(of_day[d], [mol] * len(of_day[d]), max(0.0, needs.limit - bench.sun_mol[d]))
            floor = 0.0 if d == days - 1 else -needs.most_owed
            owed = column(0, None, 0)
            penalties.append((owed, ACCOUNT))
            for j in range(d + 1):
                since = [c for k in range(j, d + 1) for c in of_day[k]]
                have = (0.0 if j == 0 else needs.most_in_hand) + float(bench.sun_mol[j : d + 1].sum())
                have -= needs.target * (d + 1 - j)
                rows.at_most([*since, owed], [*[-mol] * len(since), -1], have - floor)
    for step, terms in enumerate(draw):
        if terms:
            month = season.dates[int(day[step])].month - 1
            columns, kws = [c for c, _ in terms], [k for _, k in terms]
            rows.at_most(columns, kws, power.lamps_kw_at_most)
            rows.at_most([*columns, peak[month]], [*kws, -1], 0)
    priced = np.array(cost)
    weighed = priced.copy()
    for number, weight in penalties:
        weighed[number] = weight
    answer = linprog(weighed, A_ub=rows.matrix(len(cost)), b_ub=rows.most, bounds=bounds, method="highs-ds")
    assert answer.status == 0, answer.message
    return float(priced @ answer.x)
