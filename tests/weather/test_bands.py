"""Bands from members, from the assumed table, and of stand-ins.

Wrong models tried, each of which fails: factors on the members' mean in place of the forecast,
plain quantiles (type 7), hours summed over UTC days, no guard on stand-ins, the northern seasons everywhere.
"""

from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd
import pytest

from lightplan.weather.assumed import assumed_measure, season_of
from lightplan.weather.bands import assumed_spread, never_sunny, with_members
from lightplan.weather.clear_sky import STAND_IN_DULL, clear_sky_ghi
from tests.places import bare_site

SITE = bare_site(45.0, -120.0, "America/Los_Angeles")  # its day is far from UTC's
DATES = (date(2026, 4, 20), date(2026, 4, 21))
HOURS = pd.date_range("2026-04-20T07:00Z", periods=48, freq="h")


def _assumed(clearness=(0.5, 0.9), measure=(0.5, 0.5), count=None):
    return assumed_spread(DATES, np.array(clearness), np.array(measure), count)


def test_the_band_of_an_ensemble_is_that_of_its_members():
    """40 members of known factors on the first civil day: quantiles of type 8 (Hyndman & Fan 1996)."""
    clear = clear_sky_ghi(SITE, HOURS)
    light = clear * 0.6
    factors = np.linspace(0.5, 1.45, 40)
    second = HOURS.tz_convert(SITE.timezone).date == DATES[1]
    members = pd.DataFrame(
        {f"m{n}": light * np.where(second, factors[::-1][n], f) for n, f in enumerate(factors)}, index=HOURS
    )
    found, days = with_members(_assumed(), members, light, clear, SITE)
    assert days == 2
    position = 0.1 * (40 + 1 / 3) + 1 / 3  # of the sorted members, counted from 1
    low = np.interp(position, np.arange(1, 41), factors)
    assert found.low == pytest.approx([low, low])
    assert found.high == pytest.approx([0.5 + 1.45 - low] * 2)
    assert found.sample.shape == (40, 2)
    assert found.sample[:, 0] == pytest.approx(factors)
    assert found.sample[:, 1] == pytest.approx(factors[::-1])  # a member stays itself from day to day


def test_days_that_the_members_leave_out_keep_the_assumed_band_and_an_equivalent_sample():
    clear = clear_sky_ghi(SITE, HOURS)
    light = clear * 0.6
    members = pd.DataFrame({f"m{n}": light * (0.8 + n / 50) for n in range(20)}, index=HOURS)
    found, days = with_members(_assumed(), members.iloc[:24], light, clear, SITE)
    assert days == 1
    assumed = _assumed()
    assert found.low[1] == assumed.low[1]
    assert found.high[1] == assumed.high[1]
    assert np.quantile(found.sample[:, 1], 0.1) == pytest.approx(assumed.low[1], abs=0.03)
    assert np.quantile(found.sample[:, 1], 0.9) == pytest.approx(assumed.high[1], abs=0.03)
    part, none = with_members(_assumed(), members.iloc[:13], light, clear, SITE)  # half a day says too little
    assert none == 0
    assert part.low == pytest.approx(assumed.low)
    few, none = with_members(_assumed(), members.iloc[:, :3], light, clear, SITE)
    assert none == 0
    assert few.sample.shape == assumed.sample.shape


def test_members_that_end_early_are_not_counted_as_dark():
    clear = clear_sky_ghi(SITE, HOURS)
    light = clear * 0.6
    members = pd.DataFrame({f"m{n}": light * 1.0 for n in range(10)}, index=HOURS)
    members.iloc[30:, :4] = np.nan
    found, _ = with_members(_assumed(), members, light, clear, SITE)
    assert found.low[1] == pytest.approx(1.0)


def test_the_equivalent_sample_has_the_bands_own_quantiles():
    spread = _assumed()
    assert np.quantile(spread.sample, 0.1, axis=0) == pytest.approx(spread.low, rel=0.01)
    assert np.quantile(spread.sample, 0.5, axis=0) == pytest.approx([1.0, 1.0])
    assert np.quantile(spread.sample, 0.9, axis=0) == pytest.approx(spread.high, rel=0.01)


@pytest.mark.parametrize("clearness", [0.05, 0.3, 0.7, 1.0, 1.1])
@pytest.mark.parametrize("measure", [0.4, 1.0, 1.7])
def test_a_band_holds_its_day_and_no_day_brighter_than_can_be(clearness, measure):
    spread = _assumed((clearness, clearness), (measure, measure))
    assert (spread.low < 1).all()
    assert (spread.high > 1).all()
    assert (spread.high * clearness <= 1.15).all()
    assert (spread.sample > 0).all()


def test_a_day_without_daylight_has_no_band():
    spread = _assumed((np.nan, 0.5))
    assert (spread.low[0], spread.high[0]) == (1.0, 1.0)
    assert (spread.sample[:, 0] == 1.0).all()


def test_a_stand_in_is_never_surely_sunny():
    """Its 10 % point lies below half of a clear sky, a dull day's where it was; the upper half stays."""
    clear = np.array([8000.0, 8000.0])
    before = _assumed((0.2, 1.0), (0.5, 0.5))
    after = never_sunny(before, clear * [0.2, 1.0], clear)
    assert before.low[1] > 0.5
    assert after.low[1] == pytest.approx(STAND_IN_DULL)
    assert after.low[0] == before.low[0]
    assert after.high == pytest.approx(before.high)
    assert np.quantile(after.sample[:, 1], 0.1) == pytest.approx(STAND_IN_DULL, abs=0.01)
    assert np.quantile(after.sample[:, 1], [0.5, 0.9]) == pytest.approx(
        np.quantile(before.sample[:, 1], [0.5, 0.9])
    )
    assert after.sample[:, 0] == pytest.approx(before.sample[:, 0])
    assert (after.sample >= 0).all()
    same = assumed_spread(DATES, np.array([1.0, 1.0]), np.array([1e-9, 1e-9]))  # members all of one mind
    agreed = never_sunny(same, clear, clear)
    assert np.quantile(agreed.sample, 0.1, axis=0) == pytest.approx([STAND_IN_DULL] * 2, abs=0.01)
    night = never_sunny(_assumed((np.nan, np.nan)), np.zeros(2), np.zeros(2))
    assert (night.low == 1.0).all()


def test_seasons_turn_round_south_of_the_equator():
    south = bare_site(-45.0, 170.0)
    for month in range(1, 13):
        other = (month + 5) % 12 + 1
        assert season_of(south, date(2026, month, 10)) == season_of(SITE, date(2026, other, 10))
    winter, summer = date(2026, 1, 10), date(2026, 7, 10)
    assert assumed_measure(SITE, winter, 24)[0] > assumed_measure(SITE, summer, 24)[0]
    assert assumed_measure(south, winter, 24)[0] < assumed_measure(south, summer, 24)[0]
    assert assumed_measure(SITE, summer, -5.0) == assumed_measure(SITE, summer, 0.0)
    assert assumed_measure(SITE, summer, 36.0)[0] == pytest.approx((0.44 + 0.53) / 2)
    assert assumed_measure(SITE, summer, 900.0)[0] == 1.20
