"""The invented weather of two samples: whole, small, plausible by its months, and dull days in rows."""

from __future__ import annotations

import pandas as pd
import pytest

from lightplan.site.read import load_site
from lightplan.site.sample_copy import sample_names
from lightplan.weather.file import read_weather_csv
from tests.conftest import ROOT

SAMPLES = ROOT / "sample_sites"
INVENTED = ("quillfen", "tussockbrook")
# 4.57 µmol per joule of PAR (McCree 1972) and PAR as 45 % of sunlight's energy (common practice)
PHOTONS_PER_JOULE = 4.57 * 0.45


def daily_ghi(name: str) -> pd.Series:
    return read_weather_csv(SAMPLES / name / "weather.csv")["ghi_w_m2"].resample("D").sum()


def monthly_dli(name: str) -> pd.Series:
    """Outdoor light of each month's mean day [mol m⁻² d⁻¹] by one plain factor."""
    daily = daily_ghi(name) * 3600 / 1e6 * PHOTONS_PER_JOULE
    return daily.groupby(daily.index.month).mean()


@pytest.mark.parametrize("name", sample_names())
def test_samples_are_labelled_invented_and_read_without_a_warning(name):
    assert load_site(SAMPLES / name).warnings == ()
    assert "invented" in (SAMPLES / name / "site.toml").read_text(encoding="utf-8").splitlines()[0]
    assert "(invented)" in (SAMPLES / name / "README.md").read_text(encoding="utf-8").splitlines()[0]


@pytest.mark.parametrize("name", INVENTED)
def test_a_whole_year_within_half_a_megabyte(name):
    path = SAMPLES / name / "weather.csv"
    table = read_weather_csv(path)
    assert path.stat().st_size <= 500_000
    assert len(table) == 8760 and not table[["ghi_w_m2", "temp_air_c"]].isna().any().any()
    assert table["ghi_w_m2"].max() < 1361  # the solar constant [W/m²], Kopp & Lean 2011


def test_months_are_plausible():
    """Bands are judgement, set wide about the latitudes' usual light."""
    north, south = (monthly_dli(name) for name in INVENTED)
    assert 3.5 <= north[1] <= 6 and 34 <= north[6] <= 42 and north[12] < north[1]
    assert 6 <= south[6] <= 9 and 40 <= south[12] <= 48
    assert north.idxmax() in (6, 7) and south.idxmin() in (6, 7)


@pytest.mark.parametrize("name", INVENTED)
def test_dull_days_follow_dull_days(name):
    """Lag-1 correlation of a day's light over its month's; the same days shuffled have none."""
    ghi = daily_ghi(name)
    brightness = ghi / ghi.groupby(ghi.index.month).transform("mean")
    shuffled = brightness.sample(frac=1, random_state=1).reset_index(drop=True)
    assert brightness.autocorr(1) > 0.3 > 0.2 > abs(shuffled.autocorr(1))


@pytest.mark.parametrize("name", INVENTED)
def test_air_is_warmest_in_the_local_afternoon_and_summer(name):
    site = load_site(SAMPLES / name).site
    air = read_weather_csv(SAMPLES / name / "weather.csv")["temp_air_c"].tz_convert(site.timezone)
    assert air.groupby(air.index.hour).mean().idxmax() in (13, 14, 15, 16)
    assert air.groupby(air.index.month).mean().idxmax() in ((7, 8) if site.latitude > 0 else (1, 2))
