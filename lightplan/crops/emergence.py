"""How much seed comes up at a temperature, and how soon, where somebody has counted it and printed it.

`germination_by_temperature.csv`: Harrington & Minges 1954 (normal seedlings at constant soil temperature,
days to emerge) and a University of Florida table for pansy. Between two printed temperatures a straight
line; outside them nothing is known.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from functools import cache
from itertools import pairwise

import numpy as np

from lightplan.crops.limits import bench_limits
from lightplan.crops.needs import LIGHT_FROM_SOWING, Own
from lightplan.crops.rows import germination_row, number
from lightplan.site.models import Batch, Bench, Stage
from lightplan.tables import read_table

PRINTED_AS = {"pansy_viola": "pansy", "cabbage_broccoli": "cabbage", "onion_leek": "onion"}


@dataclass(frozen=True)
class Seed:
    """What one crop's seed bears and wants.

    limit_c, mark : its upper temperature. optimum_c, days : low and high, None where none is known.
    """

    crop: str
    limit_c: float
    mark: str
    optimum_c: tuple[float, float] | None
    days: tuple[int, int] | None
    requirement: str  # light_needed | light_beneficial | indifferent | dark_needed

    @property
    def lit_from_sowing(self) -> bool:
        """What seed wants, and what is not known to come up later, has light from the first night on."""
        return self.requirement in LIGHT_FROM_SOWING or self.days is None


def seed_of(crop: str, bench: Bench, day: date, own_needs: Own) -> Seed:
    """Seed of a crop on a bench, the grower's own limit before the tables'; 40 °C where none is known."""
    limits = bench_limits(bench_sown(bench, crop, day), day, own_needs)
    assert limits is not None and limits.temperature_c is not None  # seed always has the limit that kills it
    row = germination_row(crop)
    return Seed(
        crop=crop,
        limit_c=limits.temperature_c,
        mark=limits.mark,
        optimum_c=_both(number(row, "temp_opt_low_c"), number(row, "temp_opt_high_c")),
        days=_whole(_both(number(row, "days_low"), number(row, "days_high"))),
        requirement=(row["light_requirement"] if row else "") or "indifferent",
    )


def bench_sown(bench: Bench, crop: str, day: date) -> Bench:
    """The bench with nothing on it but this crop, sown on a day."""
    return replace(bench, batches=(Batch(crop, Stage.GERMINATION, day, day, day, None, True),))


def _both(low: float | None, high: float | None) -> tuple[float, float] | None:
    return None if low is None or high is None else (low, high)


def _whole(pair: tuple[float, float] | None) -> tuple[int, int] | None:
    return None if pair is None else (int(pair[0]), int(pair[1]))


@cache
def _printed(crop: str) -> tuple[tuple[float, float, float | None], ...]:
    """Rows of a crop by temperature: °C, share that comes up, days to emerge."""
    name = PRINTED_AS.get(crop, crop)
    rows = (r for r in read_table("germination_by_temperature") if r["crop"] == name)
    found = (
        (float(r["temp_c"]), float(r["normal_seedlings_pct"]) / 100, number(r, "days_to_emerge"))
        for r in rows
    )
    return tuple(sorted(found, key=lambda row: row[0]))


def share_that_comes_up(crop: str, medium_c: float) -> float | None:
    """Share of seed that gives normal seedlings at a constant temperature; None where none is printed.

    Hotter than a temperature at which none is printed to come up, none does.
    """
    rows = _printed(crop)
    if rows and medium_c > rows[-1][0] and rows[-1][1] == 0:
        return 0.0
    if not rows or not rows[0][0] <= medium_c <= rows[-1][0]:
        return None
    return float(np.interp(medium_c, [row[0] for row in rows], [row[1] for row in rows]))


def days_to_emerge(crop: str, medium_c: float) -> float | None:
    """Days to emerge at a constant temperature; None unless printed on both sides of it."""
    rows = _printed(crop)
    for below, above in pairwise(rows):
        if below[0] <= medium_c <= above[0]:
            at = {below[0]: below[2], above[0]: above[2]}
            if medium_c in at:
                return at[medium_c]
            if below[2] is None or above[2] is None:
                return None
            return float(np.interp(medium_c, [below[0], above[0]], [below[2], above[2]]))
    return None
