"""Typical year, weather file and clear sky: right hours, right bands, one clear sentence for bad input."""

from __future__ import annotations

import csv
from datetime import date, datetime, timedelta
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from lightplan.clock import grid_over
from lightplan.site.models import Site, SourceName
from lightplan.weather.clear_sky import clear_sky_ghi
from lightplan.weather.fetch import weather_for
from lightplan.weather.file import read_weather_csv
from lightplan.weather.table import Kind, WeatherError, check_table
from lightplan.weather.typical import MOL_PER_WH, read_typical_year
from tests.places import bare_site

AUTHORITIES = Path(__file__).parents[1] / "authorities"
GREENSBORO = bare_site(
    36.1, -79.95, "America/New_York", source=SourceName.TYPICAL_YEAR, file="pvlib:723170TYA.CSV"
)
HEADER = "time,ghi_w_m2,temp_air_c\n"


def _rows(start: str, hours: int, ghi: float = 100.0) -> str:
    first = datetime.fromisoformat(start)
    return "".join(
        f"{(first + timedelta(hours=n)).isoformat()},{ghi},{5 + n % 24 / 10:.1f}\n" for n in range(hours)
    )


def _file_site(folder: Path, text: str, **keys: object) -> Site:
    (folder / "weather.csv").write_text(text, encoding="utf-8")
    return bare_site(52.0, 0.0, source=SourceName.FILE, file="weather.csv", folder=folder, **keys)  # type: ignore[arg-type]


def _weather(site: Site, day: date, days: int = 3):
    grid = grid_over(day, days, site.timezone)
    return weather_for(site, grid, needed_until=grid.moment(len(grid)), now=grid.moment(0))


@pytest.mark.parametrize(
    ("name", "longitude"), [("723170TYA.CSV", -79.95), ("703165TY.csv", -160.517), ("12839.tm2", -80.27)]
)
def test_hours_of_a_typical_year_start_where_they_should(name, longitude):
    """Over a year the light of a place is centred on its solar noon; a label an hour off is out by 1 h."""
    year = read_typical_year(f"pvlib:{name}", Path())
    local = year._local(pd.DatetimeIndex(year.table.index))
    light = year.table["ghi_w_m2"].to_numpy()
    centre = float((light * (local.hour.to_numpy() + 0.5)).sum() / light.sum())
    assert centre == pytest.approx(12 - (longitude / 15 - year.zone_hours), abs=0.25)


def test_monthly_outdoor_light_lies_in_the_published_bands():
    """outdoor_dli.csv, Miami: bands from the NREL manual of 1994 × 7.265 mol/kWh (recalled, checked: memory).

    The file is another thirty years and another station of the city: one month in six may lie outside by
    8 %, as November and June do.
    """
    year = read_typical_year("pvlib:12839.tm2", Path())
    with (AUTHORITIES / "outdoor_dli.csv").open(encoding="utf-8") as file:
        rows = [row for row in csv.DictReader(file) if row["place"] == "Miami, Florida"]
    inside = 0
    for row in rows:
        days = pd.date_range(f"2001-{int(row['month']):02d}-01", periods=28)
        ours = np.mean([year.day_wh_m2(d.date()) for d in days]) * MOL_PER_WH
        low, high = float(row["dli_low_mol_m2_d"]), float(row["dli_high_mol_m2_d"])
        inside += low <= ours <= high
        assert 0.92 * low < ours < 1.08 * high
    assert inside >= len(rows) * 10 / 12


def test_typical_year_band_holds_the_neighbours_and_the_day():
    found = _weather(GREENSBORO, date(2026, 1, 10))
    year = read_typical_year("pvlib:723170TYA.CSV", Path())
    own = year.day_wh_m2(date(2026, 1, 10))
    days = [year.day_wh_m2(date(2026, 1, 10) + timedelta(days=n)) for n in range(-10, 11)]
    assert found.kind is Kind.TYPICAL_YEAR
    assert found.fallback_reason is None
    low, high = np.quantile(days, [0.1, 0.9], method="median_unbiased")
    assert found.spread.low[0] * own == pytest.approx(min(low, own))
    assert found.spread.high[0] * own == pytest.approx(max(high, own))
    clear = clear_sky_ghi(GREENSBORO, pd.DatetimeIndex(found.table.index))[:24].sum()
    assert (found.spread.sample[:, 0] * own <= max(1.06 * clear, own)).all()
    assert np.quantile(found.spread.sample[:, 1], 0.1587) == pytest.approx(1 - 0.15, abs=0.01)  # one sd below


def test_leap_day_of_a_typical_year_is_the_day_before():
    leap, before = _weather(GREENSBORO, date(2028, 2, 29)), _weather(GREENSBORO, date(2028, 2, 28))
    noon = pd.Timestamp("2028-02-29T17:00Z")
    assert leap.table.loc[noon, "ghi_w_m2"] == before.table.loc[noon - pd.Timedelta(days=1), "ghi_w_m2"]


def test_missing_typical_year_is_one_sentence(tmp_path):
    site = bare_site(36.0, -80.0, source=SourceName.TYPICAL_YEAR, file="mine.epw", folder=tmp_path)
    with pytest.raises(WeatherError, match=r'"mine.epw" is not there; give a TMY2, TMY3, EPW or CSV'):
        _weather(site, date(2026, 1, 1))


def test_a_file_with_the_dates_is_used_as_it_is(tmp_path):
    site = _file_site(tmp_path, HEADER + _rows("2026-04-20T00:00+00:00", 24 * 7))
    found = _weather(site, date(2026, 4, 21))
    assert (found.kind, found.fallback_reason) == (Kind.OBSERVED, None)
    assert (found.table["ghi_w_m2"] == 100).all()


def test_hours_to_come_of_a_file_have_the_band_of_a_forecast_and_hours_past_none(tmp_path):
    site = _file_site(tmp_path, HEADER + _rows("2026-04-20T00:00+00:00", 24 * 7))
    grid = grid_over(date(2026, 4, 21), 3, site.timezone)
    spreads = [
        weather_for(site, grid, needed_until=grid.moment(96), now=grid.moment(0) + timedelta(hours=h)).spread
        for h in (0, 12, 24)
    ]
    assert spreads[0].low[0] < 0.8 < 1.2 < spreads[0].high[0]
    assert spreads[1].low[0] == pytest.approx(1 - (1 - spreads[0].low[0]) / 2, abs=0.03)
    assert spreads[2].low[0] == spreads[2].high[0] == 1.0
    assert spreads[2].low[1] < 0.8
    for spread in spreads:
        assert np.quantile(spread.sample[:, 1], 0.1) == pytest.approx(spread.low[1], abs=0.02)


def test_gaps_of_a_file_are_filled_and_said(tmp_path):
    text = HEADER + _rows("2026-04-20T00:00+00:00", 24 * 7)
    lines = text.splitlines()
    holed = [line for line in lines if not line.startswith(("2026-04-21T10", "2026-04-21T11"))]
    site = _file_site(tmp_path, "\n".join(holed))
    found = _weather(site, date(2026, 4, 21))
    assert found.fallback_reason is not None
    assert "2026-04-21 10:00 to 12:00" in found.fallback_reason
    filled = found.table.loc["2026-04-21T10:00Z", "ghi_w_m2"]
    assert 0 < filled != 100


def test_gaps_after_the_needed_time_are_no_fallback(tmp_path):
    site = _file_site(tmp_path, HEADER + _rows("2026-04-21T00:00+00:00", 36))
    grid = grid_over(date(2026, 4, 21), 5, site.timezone)
    found = weather_for(site, grid, needed_until=grid.moment(4 * 30), now=grid.moment(0))
    assert found.fallback_reason is None
    assert len(found.table) == 24 * 5


def test_a_file_without_the_dates_is_refused(tmp_path):
    site = _file_site(tmp_path, HEADER + _rows("2025-04-20T00:00+00:00", 48))
    with pytest.raises(WeatherError, match="none of the time from 2026-04-21"):
        _weather(site, date(2026, 4, 21))


def test_a_whole_year_of_another_year_stands_for_a_typical_one(tmp_path):
    site = _file_site(tmp_path, HEADER + _rows("2023-01-01T00:00+00:00", 8760))
    found = _weather(site, date(2026, 4, 21))
    assert (found.kind, found.source, found.fallback_reason) == (Kind.TYPICAL_YEAR, "file", None)


BAD = {
    "twice": (
        _rows("2026-04-21T00:00+00:00", 3) + _rows("2026-04-21T02:00+00:00", 1),
        "2026-04-21T02:00.* twice",
    ),
    "unsorted": (
        _rows("2026-04-21T05:00+00:00", 2) + _rows("2026-04-21T00:00+00:00", 2),
        "not in time order",
    ),
    "naive": (_rows("2026-04-21T00:00", 2), 'line 2: "2026-04-21T00:00:00" has no offset'),
    "fahrenheit": ("2026-04-21T00:00+00:00,0,71\n2026-04-21T01:00+00:00,0,70\n", "looks like °F"),
    "kelvin": ("2026-04-21T00:00+00:00,0,281\n2026-04-21T01:00+00:00,0,280\n", "looks like kelvin"),
    "lux": (_rows("2026-04-21T00:00+00:00", 3, 54_000), "looks like lux"),
    "photons": (_rows("2026-04-21T00:00+00:00", 3, 1_900), "looks like µmol"),
    "negative": (_rows("2026-04-21T00:00+00:00", 3, -12), "light can't be negative"),
    "word": ("2026-04-21T00:00+00:00,none,5\n2026-04-21T01:00+00:00,0,5\n", 'line 2: ghi_w_m2 is "none"'),
    "infinite": (
        "2026-04-21T00:00+00:00,inf,5\n2026-04-21T01:00+00:00,0,5\n",
        'ghi_w_m2 is "inf", not a number',
    ),
    "cells": ("2026-04-21T00:00+00:00,5\n2026-04-21T01:00+00:00,0,5\n", "line 2 has 2 cells, the header 3"),
    "step": ("2026-04-21T00:00+00:00,0,5\n2026-04-21T00:07+00:00,0,5\n", "steps of 7 min"),
}


@pytest.mark.parametrize("case", BAD)
def test_bad_files_are_refused_in_one_sentence(tmp_path, case):
    rows, message = BAD[case]
    (tmp_path / "weather.csv").write_text(HEADER + rows, encoding="utf-8")
    with pytest.raises(WeatherError, match=message) as error:
        read_weather_csv(tmp_path / "weather.csv")
    assert str(error.value).count("\n") == 0
    assert "weather.csv" in str(error.value)


def test_missing_and_strange_columns_are_named(tmp_path):
    path = tmp_path / "weather.csv"
    path.write_text("time,ghi_w_m2\n", encoding="utf-8")
    with pytest.raises(WeatherError, match="no column temp_air_c"):
        read_weather_csv(path)
    path.write_text("time,ghi_w_m2,temp_air_c,rain\n", encoding="utf-8")
    with pytest.raises(WeatherError, match="a column rain that is not known"):
        read_weather_csv(path)


def test_clear_sky_is_never_silently_sunny():
    """The middle is 0.62 of a clear day, the low end 0.25, and a note says so."""
    site = bare_site(52.0, 0.0)
    found = _weather(site, date(2026, 6, 1))
    clear = clear_sky_ghi(site, pd.DatetimeIndex(found.table.index))
    assert found.table["ghi_w_m2"].sum() == pytest.approx(0.62 * clear.sum())
    assert found.spread.low[0] * 0.62 == pytest.approx(0.25)
    assert found.spread.high[0] * 0.62 == pytest.approx(1.0)
    assert found.notes
    assert found.fallback_reason is None


def test_own_clearness_is_used_by_month():
    twelve = tuple(0.3 + 0.02 * n for n in range(12))
    site = bare_site(52.0, 0.0, clearness=twelve)
    found = _weather(site, date(2026, 6, 10))
    clear = clear_sky_ghi(site, pd.DatetimeIndex(found.table.index))
    assert found.table["ghi_w_m2"].sum() == pytest.approx(twelve[5] * clear.sum())


def test_every_source_passes_the_one_check():
    for site in (GREENSBORO, bare_site(-46.0, 169.0, "Pacific/Auckland")):
        check_table(_weather(site, date(2026, 7, 15)).table)
