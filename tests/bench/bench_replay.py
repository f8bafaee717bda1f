"""How long a replayed year of ten benches takes, and how near its plans are proved.

Run: python -m tests.bench.bench_replay [DAYS]. Process time stands beside the clock's, for a busy machine.
"""

from __future__ import annotations

import sys
import time
from dataclasses import replace

import numpy as np

from lightplan.replay.bound import least_cost_of
from lightplan.replay.forecasts import model
from lightplan.replay.policies import advice
from tests.replay.seasons import FLAT, bench, season, site_of


def main(days: int = 365) -> None:
    benches = [bench(f"bench-{n}", 60 + 5 * n, 0.5 + 0.1 * n) for n in range(10)]
    summer = -np.cos(2 * np.pi * (np.arange(days) + 22) / 365)  # the season begins on 12 January
    sun = np.exp(2.6 + 0.5 * summer + np.random.default_rng(0).normal(0, 0.4, days))
    usual = tuple(float(share) for share in sun[np.linspace(0, days - 1, 30).astype(int)] / 60.0)
    found = replace(season(site_of(*benches, power=FLAT), sun, clear_mol=60.0), clearness=(usual,) * days)
    for name, work in (
        ("bound", lambda: least_cost_of(found)),
        ("advice", lambda: advice(found, model(found, 0))),
    ):
        clock, own = time.perf_counter(), time.process_time()
        run = work()
        print(
            f"{name}: {days} days of 10 benches, {time.perf_counter() - clock:.0f} s by the clock, "
            f"{time.process_time() - own:.0f} s of its own, {run.kwh:.0f} kWh, gap {run.gap}"
        )


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:]))
