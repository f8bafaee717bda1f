"""Speed of a day's heat: one house, one bench, and a sample of 60 side by side. Run by hand.

python -m tests.bench.bench_heat
"""

from __future__ import annotations

import timeit
from collections.abc import Callable

import numpy as np

from lightplan.heat.bench_air import bench_heat
from lightplan.heat.house_air import house_heat
from tests.heat.runs import BENCH, HOUSE, OUTDOORS, SUN

SAMPLE = np.linspace(0.2, 1.2, 60)
AIR = house_heat(HOUSE, outdoor_c=OUTDOORS, sun_w_m2=SUN)
AIR_60 = house_heat(HOUSE, outdoor_c=OUTDOORS, sun_w_m2=SUN[:, None] * SAMPLE)

RUNS: dict[str, Callable[[], object]] = {
    "house, one day": lambda: house_heat(HOUSE, outdoor_c=OUTDOORS, sun_w_m2=SUN),
    "house, 60 side by side": lambda: house_heat(HOUSE, outdoor_c=OUTDOORS, sun_w_m2=SUN[:, None] * SAMPLE),
    "bench, one day": lambda: bench_heat(BENCH, house_c=AIR, sun_w_m2=SUN),
    "bench, 60 side by side": lambda: bench_heat(BENCH, house_c=AIR_60, sun_w_m2=SUN[:, None] * SAMPLE),
}

if __name__ == "__main__":
    for name, run in RUNS.items():
        print(f"{name:24} {min(timeit.repeat(run, number=20, repeat=5)) / 20 * 1000:6.2f} ms")
