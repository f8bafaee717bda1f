"""A house's table and a year's look-ups beside pvlib's solar positions of that year.

Run: python -m tests.bench.bench_house
"""

from __future__ import annotations

import time
from collections.abc import Callable

import pandas as pd
import pvlib

from lightplan.house.transmission import house_light
from tests.house.houses import hoop_of_reference, house
from tests.house.traced_houses import HOUSES

TABLE_TARGET, LOOK_UP_TARGET = 15.0, 0.2  # times the solar positions
CASES = {
    "A": house(),
    "C_stack": hoop_of_reference(),
    "three-spans": HOUSES["three-spans"]().house,
    "hazy-spans": HOUSES["hazy-spans"]().house,
}


def seconds(work: Callable[[], object], times: int = 3) -> float:
    """Best of a few runs."""
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        taken.append(time.perf_counter() - start)
    return min(taken)


def main() -> None:
    steps = pd.date_range("2026-01-01", "2027-01-01", freq="15min", inclusive="left", tz="UTC")
    sun = pvlib.solarposition.get_solarposition(steps, 45.0, 0.0)
    zenith, azimuth = sun.apparent_zenith.to_numpy(), sun.azimuth.to_numpy()
    pvlib_s = seconds(lambda: pvlib.solarposition.get_solarposition(steps, 45.0, 0.0))
    print(f"solar positions of {len(steps)} steps: {pvlib_s:.3f} s")
    for name, model in CASES.items():
        light = house_light(model)
        table_s = seconds(lambda model=model: house_light(model))  # type: ignore[misc]
        look_up_s = seconds(lambda light=light: light.beam(zenith, azimuth))  # type: ignore[misc]
        print(
            f"{name:12} table {table_s:.2f} s, {table_s / pvlib_s:.1f} × (target {TABLE_TARGET:g}); "
            f"a year's look-ups {look_up_s:.3f} s, {look_up_s / pvlib_s:.2f} × (target {LOOK_UP_TARGET:g}); "
            f"kept {light.table.cells.nbytes / 1e6:.1f} MB"
        )


if __name__ == "__main__":
    main()
