"""A weather file of several years: how far a week lies from the same week of another year."""

from __future__ import annotations

import pandas as pd
import pytest

from lightplan.site.read import read_site
from lightplan.year.several import years_held
from tests.year.sites import house, told, write_site

YEARS = {2023: 0.5, 2024: 1.0, 2025: 0.75}


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """Three years of the same hours, each as bright as its factor; a fourth of which ten days are there."""
    to = write_site(
        tmp_path_factory.mktemp("several"),
        house("flat", shape="flat", ridge_m=None, width_m=4, length_m=6, ridge_azimuth_deg=0),
        weather='source = "file"\nfile = "years.csv"',
    )
    times = pd.date_range("2023-01-01", "2026-01-10 23:00", freq="h", tz="UTC")
    high = 12 - abs(times.hour - 12.0)
    ghi = [20.0 * h * YEARS.get(t.year, 1.0) if h > 4 else 0.0 for t, h in zip(times, high, strict=True)]
    table = pd.DataFrame({"time": times.strftime("%Y-%m-%dT%H:%M+00:00"), "ghi_w_m2": ghi, "temp_air_c": 8.0})
    table.to_csv(to / "years.csv", index=False)
    return to


def test_whole_years_are_found_and_scraps_are_not(folder):
    assert years_held(read_site(folder)) == (2023, 2024, 2025)


def test_weeks_lie_as_far_apart_as_their_years(folder):
    document = told(folder)
    assert document["years"] == [2023, 2024, 2025]
    for week in document["houses"][0]["weekly"][1:-1]:
        assert week["years_low"] < week["years_high"]
    summer = [w for w in document["houses"][0]["weekly"] if "2026-05" < w["from"] < "2026-08"]
    for week in summer:  # dull years pass another share: their light comes from all sides
        assert week["years_low"] / week["years_high"] == pytest.approx(0.5, abs=0.08)


def test_a_typical_year_has_no_other_years(quillfen):
    assert years_held(read_site(quillfen)) == ()
