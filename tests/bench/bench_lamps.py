"""How long 12 lamp groups on one breaker take to plan, beside the relaxation of the same program.

Run: python -m pytest -q -s tests/bench/bench_lamps.py
"""

from __future__ import annotations

import time
from dataclasses import replace

import numpy as np
import pytest

from lightplan.advice.lamps.horizon import Horizon, horizon_of
from lightplan.advice.lamps.priced import priced
from lightplan.advice.lamps.program import relaxed
from lightplan.advice.lamps.shared_rows import Shared
from lightplan.advice.lamps.solve import least_cost
from lightplan.advice.lamps.together import _with_lacks
from lightplan.clock import Grid, at_local
from tests.advice.lamp_cases import DAY, LAMPS, SEEDLING, ZONE, crew_of, grid_of, spans, task, window_of

BENCHES = 12
SEEDS = 5
GAP, LIMIT_S = 0.005, 8.0
RATES = ((0, 360, 0.09), (360, 1260, 0.14), (1260, 1440, 0.09))


def price_of(grid: Grid) -> np.ndarray:
    found = np.zeros(len(grid))
    for first, end, rate in RATES:
        found[spans(grid, (first, end))] = rate
    return found


def horizons_of(seed: int, grid: Grid) -> list[Horizon]:
    """Invented benches of unlike lamps, needs, sun and accounts; 13.5 kW in the mean if all are lit."""
    chance = np.random.default_rng(seed)
    found = []
    for n in range(BENCHES):
        lamps = replace(
            LAMPS, ppfd_umol_m2_s=float(chance.uniform(60, 110)), power_kw=float(chance.uniform(0.6, 1.6))
        )
        needs = replace(SEEDLING, target=float(chance.uniform(9, 13)), minimum=float(chance.uniform(6, 8)))
        sun = tuple(float(mol) for mol in chance.uniform(3, 13, 3))
        one = task(
            grid, sun, bench_id=f"b{n}", lamps=lamps, needs=needs, account=float(chance.uniform(-3, 2))
        )
        found.append(
            horizon_of(
                one, grid=grid, window=window_of(grid), now=at_local(DAY, 300, ZONE), crew=crew_of(grid)
            )
        )
    return found


@pytest.mark.parametrize(
    ("kw", "peak_price"),
    [(None, 0.0), (12.0, 0.0), (10.0, 0.0), (8.0, 0.0), (7.0, 0.0), (None, 8.0), (10.0, 8.0)],
)
def test_twelve_lamp_groups(kw: float | None, peak_price: float) -> None:
    grid = grid_of()
    price = price_of(grid)
    took, worked, relaxation, gaps = [], [], [], []
    for seed in range(SEEDS):
        horizons = horizons_of(seed, grid)
        shared = Shared(kw, peak_price, 0.0)
        which = priced(horizons, price, shared)
        began = time.perf_counter()
        relaxed(which.program.rows(), _with_lacks(which, horizons), which.program.bounds)
        relaxation.append(time.perf_counter() - began)
        began, began_work = time.perf_counter(), time.process_time()
        answer = least_cost(horizons, price, shared, gap=GAP, limit_s=LIMIT_S)
        took.append(time.perf_counter() - began)
        worked.append(time.process_time() - began_work)
        gaps.append(answer.lit.gap)
    print(
        f"\n{kw or 'no'} kW, peak {peak_price}: plan {np.median(took):.2f} s median ({max(took):.2f} most;"
        f" {np.median(worked):.2f} s of it on a core), relaxation {np.median(relaxation):.2f} s;"
        f" gap {100 * np.median(gaps):.2f} % median ({100 * max(gaps):.2f} most)"
    )
