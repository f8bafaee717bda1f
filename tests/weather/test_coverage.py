"""How often the truth lies in a band: every 10–90 % band is to hold 75 to 85 % of days.

Wrong models tried, each of which fails: half and double the spread (De Bilt, Lyngby: both also run below),
quantiles of type 7 for the typical year, ±3 days in place of ±10, the curve for a model's cover at De Bilt.
"""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from lightplan.weather import typical
from lightplan.weather.assumed import AS_YESTERDAY, BY_LEAD, season_of
from lightplan.weather.bands import assumed_spread, clearness_of_days, squeezed, stretched
from lightplan.weather.clear_sky import clear_sky_ghi
from lightplan.weather.cloud import CURVES, CloudKind, clearness_of_cover
from lightplan.weather.typical import TypicalYear, read_typical_year, typical_spread
from tests.places import bare_site

DE_BILT = bare_site(52.1, 5.18, elevation_m=2)
LYNGBY = bare_site(55.79, 12.525, elevation_m=50)
WHOLE_DAY = 0.9  # share of the clear sky's light in hours with data
ASKED_COVERAGE = (0.75, 0.85)


def _measured(shared: Path, name: str) -> pd.DataFrame:
    table = pd.read_csv(shared / "weather" / "measured" / name)
    ended = pd.DatetimeIndex(pd.to_datetime(table["end_utc"], utc=True))
    return table.set_axis(ended - pd.Timedelta(hours=1), axis=0)


def _whole_days(known: pd.Series, clear: pd.Series) -> tuple[date, ...]:
    by_day = pd.DatetimeIndex(clear.index).date
    share = clear.where(known, 0.0).groupby(by_day).sum() / clear.groupby(by_day).sum()
    return tuple(share.index[share > WHOLE_DAY])


def _holds(dates, centre, truth, measure, where=True) -> float:
    """The share of even days inside the band."""
    band = assumed_spread(dates, centre, measure)
    inside = (truth >= band.low * centre) & (truth <= band.high * centre)
    return float(inside[where & ~_odd(dates)].mean())


def _odd(dates) -> np.ndarray:
    return np.array([d.timetuple().tm_yday % 2 == 1 for d in dates])


@pytest.fixture(scope="module")
def de_bilt(request) -> tuple:
    from tests.conftest import SHARED

    if not SHARED.is_dir():
        pytest.skip("needs the reference data folder ../shared, which is not part of the project")
    table = _measured(SHARED, "knmi_debilt_2000_hourly.csv")
    clear = clear_sky_ghi(DE_BILT, pd.DatetimeIndex(table.index))
    cover = table["cloud_pct_hour_mean"] / 100
    known = cover.notna() & table["ghi_w_m2"].notna()
    dates = _whole_days(known, clear)
    truth = clearness_of_days(table["ghi_w_m2"].where(known), clear, DE_BILT, dates)
    return dates, cover.where(known), clear, truth, table["ghi_w_m2"].where(known)


def _cloud_centre(case, kind: CloudKind) -> np.ndarray:
    dates, cover, clear, _, _ = case
    light = pd.Series(clear.to_numpy() * clearness_of_cover(cover.to_numpy(), kind), index=clear.index)
    return clearness_of_days(light, clear, DE_BILT, dates)


def test_the_band_of_light_from_cover_at_de_bilt(de_bilt):
    """De Bilt 2000 (KNMI 260, CC BY 4.0): hourly global light and observed octas; odd fit, even test.

    As measured: 0.82 of the even days inside, 0.09 below, 0.09 above.
    """
    dates, _, _, truth, _ = de_bilt
    centre = _cloud_centre(de_bilt, CloudKind.OBSERVER)
    season = np.array([(1.2, 1.0, 0.85)[season_of(DE_BILT, d)] for d in dates])
    spread = CURVES[CloudKind.OBSERVER].spread * season
    assert len(dates) >= 355
    assert ASKED_COVERAGE[0] <= _holds(dates, centre, truth, spread) <= ASKED_COVERAGE[1]
    assert _holds(dates, centre, truth, spread / 2) < 0.6
    assert _holds(dates, centre, truth, spread * 2) > 0.9
    model = _cloud_centre(de_bilt, CloudKind.MODEL)
    assert abs(np.mean(centre - truth)) < 0.02
    assert np.mean(model - truth) > 0.05  # a model's 100 % is not an observer's
    seasons = np.array([season_of(DE_BILT, d) for d in dates])
    assert min(_holds(dates, centre, truth, spread, seasons == s) for s in range(3)) > 0.7


def test_the_observers_curve_is_that_of_the_odd_days(de_bilt):
    """Refit on odd days by least squares on the hour's light: each step within 0.03 of the table."""
    _, cover, clear, _, light = de_bilt
    odd = pd.DatetimeIndex(clear.index).day_of_year % 2 == 1
    use = cover.notna().to_numpy() & odd & (clear > 20).to_numpy()
    knots = np.array(CURVES[CloudKind.OBSERVER].cover)
    weights = np.array([np.interp(cover[use], knots, row) for row in np.eye(len(knots))]).T
    design = weights * clear[use].to_numpy()[:, None]
    fitted = np.linalg.lstsq(design, light[use].to_numpy(), rcond=None)[0]
    assert np.abs(fitted - CURVES[CloudKind.OBSERVER].clearness).max() < 0.03


def test_yesterday_taken_for_today_at_lyngby(shared):
    """Lyngby 2016 (Technical University of Denmark): the widest row of the table, which no forecast exceeds.

    As measured: 0.80 of the even days inside with the odd days' spread. Half of it is too narrow.
    """
    table = _measured(shared, "dtu_lyngby_2016_hourly.csv")
    light = table["ghi_w_m2"].clip(lower=0)
    clear = clear_sky_ghi(LYNGBY, pd.DatetimeIndex(table.index))
    whole = set(_whole_days(light.notna(), clear))
    dates = tuple(d for d in sorted(whole) if d - timedelta(days=1) in whole)
    truth = clearness_of_days(light, clear, LYNGBY, dates)
    before = clearness_of_days(light, clear, LYNGBY, tuple(d - timedelta(days=1) for d in dates))
    season = np.array([season_of(LYNGBY, d) for d in dates])
    measure = np.array(AS_YESTERDAY.by_season)[season]
    assert ASKED_COVERAGE[0] <= _holds(dates, before, truth, measure) <= ASKED_COVERAGE[1]
    assert _holds(dates, before, truth, measure / 2) < 0.65
    assert _holds(dates, before, truth, measure * 2) > 0.9
    error = stretched(truth) - stretched(before)
    for number in range(3):
        low, high = np.quantile(error[_odd(dates) & (season == number)], [0.1, 0.9])
        assert (high - low) / 2 / 1.2816 == pytest.approx(AS_YESTERDAY.by_season[number], abs=0.11)


TYPICAL = [
    ("723170TYA.CSV", bare_site(36.1, -79.95, "Etc/GMT+5", elevation_m=270)),
    ("703165TY.csv", bare_site(55.3, -160.5, "Etc/GMT+9")),
    ("12839.tm2", bare_site(25.8, -80.27, "Etc/GMT+5")),
]


@pytest.mark.parametrize(("name", "site"), TYPICAL)
def test_the_typical_years_band_holds_days_that_it_has_not_seen(name, site, monkeypatch):
    """Each day of the year left out in turn, another of its season (11 days on) for it.

    The band is then made as for a sheet: the 21 days about the date, widened to hold the file's own day. As
    measured: 0.80 in each of the three years that pvlib ships; 0.79 and 0.80 at De Bilt and Lyngby.
    """
    monkeypatch.setattr(typical, "capped_normal_sample", lambda *_: np.empty(0))  # odds, which cost time
    year = read_typical_year(f"pvlib:{name}", Path())
    assert ASKED_COVERAGE[0] <= _left_out(year, site) <= ASKED_COVERAGE[1]


def _left_out(year: TypicalYear, site) -> float:
    dates = [date(2001, 1, 1) + timedelta(days=n) for n in range(365)]
    sums = dict(year._day_sums)
    inside = []
    for turn in range(22):  # no two of one turn lie within the same ±10 days
        out = tuple(dates[turn::22])
        changed = dict(sums)
        for day in out:
            other = day + timedelta(days=11)
            changed[day.month, day.day] = sums[other.month, other.day]
        left = TypicalYear(year.name, year.table, year.zone_hours)
        left.__dict__["_day_sums"] = changed
        band = typical_spread(site, left, out, stands_in=False)
        own = np.array([left.day_wh_m2(day) for day in out])
        truth = np.array([sums[day.month, day.day] for day in out])
        inside += list((truth >= band.low * own) & (truth <= band.high * own))
    return float(np.mean(inside))


def test_the_assumed_table_grows_with_lead_and_says_what_it_rests_on():
    leads = [row.lead_h for row in BY_LEAD]
    assert leads == sorted(leads)
    for season in range(3):
        spread = [row.by_season[season] for row in BY_LEAD]
        assert spread == sorted(spread)
        assert spread[-1] == AS_YESTERDAY.by_season[season]
    for row in BY_LEAD:
        assert row.by_season[0] > row.by_season[1] > row.by_season[2]
        assert row.mark


def test_stretching_is_undone_by_squeezing():
    clearness = np.linspace(0.02, 1.10, 40)
    assert np.allclose(squeezed(stretched(clearness)), clearness)
