"""Known factors found again in as many cases of a hundred as the intervals say."""

from __future__ import annotations

import math
from collections import Counter

from lightplan.learn.calibration import Factor
from lightplan.learn.light_fit import LightFound
from tests.learn.invented import invented_site, random_case

CASES = 1000


def held(factor: Factor, log: float) -> bool:
    return factor.low <= math.exp(log) <= factor.high


def inside(found: LightFound, truth: dict[str, float]) -> dict[str, bool]:
    houses = {h.id: h.factor for h in found.houses}
    of = {f"house {name}": held(houses[name], log) for name, log in truth.items() if name in houses}
    lamps, covers = dict(found.lamps), dict(found.covers)
    of["lamps"] = held(lamps["plugs"], truth["lamps"])
    if "wet-paper" in covers:
        of["cover"] = held(covers["wet-paper"], truth["cover"])
    return of


def rates(cases: int, noise: float) -> dict[str, tuple[float, int]]:
    """Share of the intervals that hold the truth, and how many there were, by kind."""
    site, hits, tries = invented_site(), Counter(), Counter()
    for seed in range(cases):
        for name, hit in inside(*random_case(site, seed, noise=noise)).items():
            kind = name.split()[0]
            hits[kind] += hit
            tries[kind] += 1
    return {kind: (hits[kind] / tries[kind], tries[kind]) for kind in tries}


def test_ninety_per_cent_intervals_hold_the_truth_in_87_to_93_of_a_hundred_cases():
    found = rates(CASES, noise=1.0)
    assert found["house"][1] >= CASES
    for kind in ("house", "lamps", "cover"):
        assert 0.87 <= found[kind][0] <= 0.93, found


def test_readings_noisier_than_is_said_would_be_caught_by_this():
    share, _ = rates(200, noise=2.5)["house"]
    assert share < 0.7
