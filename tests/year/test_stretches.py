"""Weeks, months and seasons of a year: parts that tile it, and seasons that run over its end."""

from __future__ import annotations

from datetime import date
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lightplan.clock import grid_over
from lightplan.year.season import season_of
from lightplan.year.stretches import band, means, months_of, same_days, weeks_of


@pytest.mark.parametrize(("year", "days"), [(2026, 365), (2028, 366)])
@pytest.mark.parametrize("cut", [weeks_of, months_of])
def test_stretches_tile_the_year(year, days, cut):
    dates = grid_over(date(year, 1, 1), days, ZoneInfo("UTC")).dates
    parts = cut(dates)
    assert [day for part in parts for day in dates[part.days]] == list(dates)
    assert all(dates[p.days][0] == p.first and dates[p.days][-1] == p.last for p in parts)
    assert len(parts) == (12 if cut is months_of else len({d.isocalendar()[:2] for d in dates}))
    light = np.arange(float(days))
    assert sum(m * len(p) for m, p in zip(means(light, parts), parts, strict=True)) == light.sum()


@pytest.mark.parametrize(
    ("needed", "season"),
    [
        ([0, 0, 1, 1, 0, 0, 0], (2, 3)),
        ([1, 1, 0, 0, 0, 0, 1], (6, 1)),  # winter in the north
        ([1, 0, 1, 0, 0, 0, 1], (6, 2)),  # a free week within the season
        ([0, 0, 0, 1, 0, 0, 0], (3, 3)),
        ([1] * 7, (0, 6)),
        ([0] * 7, None),
    ],
)
def test_a_season_is_the_ring_of_weeks_without_its_longest_free_time(needed, season):
    assert season_of(needed) == season


@given(st.lists(st.booleans(), min_size=2, max_size=53), st.integers(0, 52))
def test_a_season_turns_with_the_year(needed, turn):
    """Whatever week the year is cut at, the same weeks lie in the season, where its free time is one only."""
    turn %= len(needed)
    first, turned = season_of(needed), season_of(needed[turn:] + needed[:turn])
    if first is None or all(needed):
        assert (turned is None) == (first is None)
        return
    length = (first[1] - first[0]) % len(needed)
    assert (turned[1] - turned[0]) % len(needed) == length
    inside = {(first[0] + n) % len(needed) for n in range(length + 1)}
    assert {n for n, one in enumerate(needed) if one} <= inside


def test_a_band_holds_eight_days_of_ten_of_the_weeks_around():
    dates = grid_over(date(2026, 1, 1), 365, ZoneInfo("UTC")).dates
    light = np.random.default_rng(3).uniform(0, 10, 365)
    week = weeks_of(dates)[20]
    near = light[week.days.start - 10 : week.days.stop + 10]
    low, high = band(light, week)
    assert ((near >= low) & (near <= high)).mean() == pytest.approx(0.8, abs=0.05)
    assert band(light, week, np.array([[0.5], [2.0]]) * np.ones(365))[1] > 1.5 * high


def test_a_leap_day_is_the_28th_of_another_year():
    leap = grid_over(date(2028, 1, 1), 366, ZoneInfo("UTC")).dates
    plain = grid_over(date(2026, 1, 1), 365, ZoneInfo("UTC")).dates
    week = next(w for w in weeks_of(leap) if w.first <= date(2028, 2, 29) <= w.last)
    found = [plain[n] for n in same_days(plain, week)]
    assert found[0] == date(2026, 2, 28)
    assert len(found) == len(week) - 1  # two of its days are one there
