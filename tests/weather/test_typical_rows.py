"""A typical year's rows at asked hours: zones of half hours, finer files, snow. Invented figures."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from lightplan.weather.table import empty_table
from lightplan.weather.typical import COLUMN_OF, TypicalYear, _from_pvlib

ASKED = pd.date_range("2026-05-01T00:00Z", periods=24, freq="h")


def year(zone_hours: float, freq: str = "h") -> TypicalYear:
    """Light that names its own hour of the file's standard time."""
    local = pd.date_range("2001-01-01", "2002-01-01", freq=freq, inclusive="left")
    table = empty_table(local.tz_localize("UTC") - pd.Timedelta(hours=zone_hours))
    table["ghi_w_m2"] = np.asarray(local.hour, dtype=float)
    return TypicalYear("invented", table, zone_hours)


@pytest.mark.parametrize("zone_hours", [0.0, -5.0, 9.0, 5.5, 9.5, -3.5, 5.75])
def test_an_asked_hour_takes_its_part_of_the_files_hours(zone_hours):
    found = year(zone_hours).at(ASKED)["ghi_w_m2"].to_numpy()
    start = (np.arange(24) + zone_hours) % 24
    first, past = np.floor(start), start % 1
    assert found == pytest.approx(first * (1 - past) + (first + 1) % 24 * past)


def test_a_file_of_quarter_hours_gives_hourly_means():
    fine = year(0.0, "15min")
    fine.table["ghi_w_m2"] += np.tile([0.0, 0.1, 0.2, 0.3], len(fine.table) // 4)
    assert fine.at(ASKED)["ghi_w_m2"].to_numpy() == pytest.approx(np.arange(24) + 0.15)


def test_snow_comes_in_metres_and_unknown_stays_unknown():
    times = pd.date_range("2001-01-01", periods=8760, freq="h", tz="UTC")
    data = pd.DataFrame({"ghi": 0.0, "temp_air": -3.0, "snow_depth": 12.0}, index=times)
    data.iloc[5, 2] = 999
    snow = _from_pvlib(data, COLUMN_OF, "invented", 0.0, pd.Timedelta(0)).table["snow_m"]
    assert snow.iloc[4] == pytest.approx(0.12)
    assert np.isnan(snow.iloc[5])
