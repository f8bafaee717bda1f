"""What comes up at which temperature, held against published germination tables, ceilings and trials."""

from __future__ import annotations

import csv
import math
from itertools import pairwise

import numpy as np
import pytest

from lightplan.crops import emergence
from lightplan.crops.emergence import days_to_emerge, seed_of, share_that_comes_up
from lightplan.site.models import OwnNeeds, Stage
from lightplan.tables import read_table
from tests.inversion.hot_site import START, dark_bench, seed

# Harrington & Minges 1954, Vegetable Seed Germination, Univ. of California (two secondary copies that agree):
# normal seedlings [%] and days to emerge at 15, 20, 25, 30, 35 °C, typed from the table by hand
HARRINGTON = {
    "lettuce": ((99, 99, 99, 12, 0), (4, 3, 2, 3, None)),
    "celery": ((40, 97, 65, 0, 0), (12, 7, None, None, None)),
    "tomato": ((98, 98, 97, 83, 46), (14, 8, 6, 6, 9)),
    "pepper": ((70, 96, 98, 95, 70), (25, 13, 8, 8, 9)),
    "onion_leek": ((98, 99, 97, 91, 73), (7, 5, 4, 4, 13)),
}


@pytest.mark.parametrize("crop", HARRINGTON)
def test_printed_values_come_back_as_printed(crop):
    for c, percent, days in zip((15, 20, 25, 30, 35), *HARRINGTON[crop], strict=True):
        assert share_that_comes_up(crop, c) == pytest.approx(percent / 100)
        assert days_to_emerge(crop, c) == days


def test_pansy_as_printed():
    """Univ. of Florida IFAS, plant propagation notes on thermodormancy: pansy at 10 to 35 °C."""
    for c, percent in zip((10, 15, 20, 25, 30, 35), (75, 85, 90, 84, 56, 10), strict=True):
        assert share_that_comes_up("pansy_viola", c) == pytest.approx(percent / 100)


def half_point(crop: str) -> float:
    """Where, above its best, half of what comes up at best still does [°C]."""
    grid = np.arange(20.0, 40.0, 0.05)
    shares = np.array([share_that_comes_up(crop, float(c)) for c in grid])
    return float(grid[np.flatnonzero(shares >= shares.max() / 2)[-1]])


def test_lettuce_stops_where_other_trials_say():
    """Gray 1975 (22 cultivars): upper limits of 25.7 to 32.8 °C. The table's curve was not drawn from it."""
    assert 25.7 <= half_point("lettuce") <= 32.8


def test_pansy_falls_from_25_to_35_as_in_texas():
    """Texas A&M 1995, two cultivars of unprimed pansy: germination fell significantly from 25 to 35 °C."""
    shares = [share_that_comes_up("pansy_viola", c) for c in (25, 27.5, 30, 32.5, 35)]
    assert all(a > b for a, b in pairwise(shares))


def test_onion_is_high_where_other_trials_say():
    """Abu-Rayyan et al. 2012: high germination of onion from 7.5 to 30 °C, in light or dark."""
    assert min(share_that_comes_up("onion_leek", c) for c in np.arange(7.5, 30.1, 0.5)) > 0.9


def test_seed_limits_lie_where_the_printed_curve_has_fallen():
    """A species' limit is held against its curve: at it most still comes up, 5 K above it clearly less."""
    for crop in ("lettuce", "celery", "pansy_viola", "tomato"):
        limit = seed(crop).limit_c
        best = max(share_that_comes_up(crop, float(c)) for c in range(10, 31))
        at, past = share_that_comes_up(crop, limit), share_that_comes_up(crop, limit + 5)
        assert at >= 0.6 * best > 0, crop
        assert past <= 0.75 * at, crop


def test_between_printed_temperatures_a_straight_line_and_none_outside():
    assert share_that_comes_up("tomato", 32.5) == pytest.approx((0.83 + 0.46) / 2)
    assert days_to_emerge("tomato", 32.5) == pytest.approx(7.5)
    assert share_that_comes_up("tomato", 45) == 0, "none is printed to come up at 40 °C"
    assert share_that_comes_up("pansy_viola", 36) is None, "a tenth still comes up at 35 °C"
    assert share_that_comes_up("lobelia", 20) is None
    assert days_to_emerge("celery", 27) is None, "nothing is printed at 25 and 30 °C"


@pytest.mark.parametrize("crop", ["tomato", "lettuce", "pepper", "cucumber"])
def test_days_lie_within_what_another_table_gives(crop):
    """UC seed table (secondary copy): days to germinate at warm soil; Harrington's at 25 °C, ±2 days."""
    row = next(
        r
        for r in read_table("crops_germination")
        if r["crop"] == crop and r["source"] == "uc_seed_table" and r["record"] == "source"
    )
    assert float(row["days_low"]) - 2 <= days_to_emerge(crop, 25) <= float(row["days_high"]) + 2


def test_the_growers_own_limit_wins():
    own = {("petunia", Stage.GERMINATION): OwnNeeds(limit_c=26.5)}
    found = seed_of("petunia", dark_bench(), START, own)
    assert (found.limit_c, found.mark) == (26.5, "site file")
    assert seed("petunia").limit_c == 29


def test_every_crop_of_the_tables_has_a_seed():
    for row in read_table("crops_germination"):
        if row["record"] == "merged":
            found = seed(row["crop"])
            assert 10 < found.limit_c <= 40 and math.isfinite(found.limit_c)
            assert found.days is None or found.days[0] <= found.days[1]
    assert seed("gazania").lit_from_sowing is False and seed("petunia").lit_from_sowing is True


def test_the_table_is_the_reference_data(shared):
    with (shared / "reference" / "germination_by_temperature.csv").open(encoding="utf-8") as file:
        assert tuple(csv.DictReader(file)) == read_table("germination_by_temperature")


def test_a_wrong_curve_is_seen(monkeypatch):
    """The checks above against a table read in °F: lettuce would stop 30 K elsewhere."""
    right = emergence._printed("lettuce")
    monkeypatch.setattr(
        emergence, "_printed", lambda crop: tuple((1.25 * c, share, days) for c, share, days in right)
    )
    assert not 25.7 <= half_point("lettuce") <= 32.8
