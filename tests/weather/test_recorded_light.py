"""Recorded Open-Meteo answers: light at the right hours, against the recorded radiation and the sun itself.

Wrong models tried, each of which fails: stamps taken for the start of the hour, for its middle, shifted the
other way, `utc_offset_seconds` left out, the zone's own offset of the date in its place (Adelaide), quarter
hours labelled by their end.
"""

from __future__ import annotations

import json
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from pvlib import irradiance

from lightplan.weather import open_meteo
from lightplan.weather.bands import NOTHING_LEARNED
from lightplan.weather.clear_sky import clear_sky_ghi
from lightplan.weather.cloud import CloudKind
from lightplan.weather.from_service import service_weather
from lightplan.weather.open_meteo_answer import _Block, _members, read
from lightplan.weather.sense import believed
from lightplan.weather.table import SourceFault
from tests.places import bare_site
from tests.weather.sun_hours import ASKED_AT, HOUR, apart, asked_for, best_lag, cos_zenith, out_of_step

GERMANY_NOV, GERMANY_JAN, GERMANY_MAR = (
    "openmeteo_forecast_berlin_2025-11-26.json",
    "openmeteo_historical-forecast_berlin_2023-01-01.json",
    "openmeteo_forecast_50N10E_2026-03-02.json",
)
THREE_PLACES = "openmeteo_forecast_multi_2025-11-26.json"
LIT = [
    (GERMANY_NOV, 0),
    (GERMANY_JAN, 0),
    (GERMANY_MAR, 0),
    (THREE_PLACES, 0),
    (THREE_PLACES, 1),
    (THREE_PLACES, 2),
]


def _body(shared: Path, name: str, number: int = 0) -> tuple[Any, dict[str, Any]]:
    whole = json.loads((shared / "weather" / "recorded" / name).read_text(encoding="utf-8"))
    return whole, whole[number] if isinstance(whole, list) else whole


def _site(part: dict[str, Any], zone: str = "UTC"):
    return bare_site(part["latitude"], part["longitude"], zone, elevation_m=part.get("elevation", 0.0))


def _by_hand(part: dict[str, Any], name: str) -> pd.Series:
    """The recorded values at the start of the hour that they are the mean of, without our parser."""
    back = timedelta(seconds=part["utc_offset_seconds"]) + timedelta(hours=1)
    starts = [datetime.fromisoformat(f"{t}+00:00") - back for t in part["hourly"]["time"]]
    return pd.Series(part["hourly"][name], index=pd.DatetimeIndex(starts), dtype=float)


@pytest.mark.parametrize(("name", "number"), LIT)
def test_light_is_the_recorded_radiation_hour_by_hour(shared, name, number):
    whole, part = _body(shared, name, number)
    light = read({"forecast": whole}, _site(part), ASKED_AT).table["ghi_w_m2"]
    recorded = _by_hand(part, "shortwave_radiation")
    assert light.dropna().to_dict() == recorded.to_dict()
    for hours in (-1, 1):
        assert apart(light.shift(hours), recorded.reindex(light.index)) > 0.15


@pytest.mark.parametrize(("name", "number"), LIT)
def test_light_is_there_when_the_sun_is(shared, name, number):
    whole, part = _body(shared, name, number)
    site = _site(part)
    light = read({"forecast": whole}, site, ASKED_AT).table["ghi_w_m2"]
    assert out_of_step(site, light) == 0
    assert sum(out_of_step(site, light.shift(hours)) for hours in (-1, 1)) >= 1
    assert abs(best_lag(site, light)) <= 1  # clouds may move a few days' light by half an hour
    assert min(best_lag(site, light.shift(1)), -best_lag(site, light.shift(-1))) < 0


@pytest.mark.parametrize(("name", "number"), [case for case in LIT if case[0] != GERMANY_MAR])
def test_beam_and_the_light_above_the_air_agree_with_the_sun_at_our_hours(shared, name, number):
    """Recorded normal beam × mean cosine of the zenith = global − diffuse, if the hour is right.

    Agreement expected: their own rounding and their sun, 3 %; half an hour makes 8 % and more.
    """
    whole, part = _body(shared, name, number)
    site = _site(part)
    answer = read({"forecast": whole}, site, ASKED_AT)
    table = answer.table.dropna(subset=["ghi_w_m2"])
    index = pd.DatetimeIndex(table.index)
    flat = table["ghi_w_m2"] - table["dhi_w_m2"]

    def off(minutes: int) -> tuple[float, float]:
        cosine = cos_zenith(site, index + pd.Timedelta(minutes=minutes))
        above = pd.Series(np.asarray(irradiance.get_extra_radiation(index)) * cosine, index=index)
        return apart(table["dni_w_m2"] * cosine, flat), apart(answer.above_air.reindex(index), above)

    beam, above = off(0)
    assert beam < 0.05
    assert above < 0.02
    for minutes in (-60, -30, 30, 60):
        beam_off, above_off = off(minutes)
        assert beam_off > 0.05
        assert above_off > 0.08


def test_a_civil_day_of_the_site_holds_its_own_light(shared):
    """50° N 10° E on 3 March 2026, Europe/Berlin: the sum of local stamps 01:00 to 24:00 of that day."""
    _, part = _body(shared, GERMANY_MAR)
    site = _site(part, "Europe/Berlin")
    first = datetime(2026, 3, 3).date()
    asked = asked_for(site, first, 1)
    answer = believed(read({"forecast": part}, site, asked.now), site, asked)
    found = service_weather(open_meteo.SERVICE, answer, site, asked, earlier=(), learned=NOTHING_LEARNED)
    stamps = dict(zip(part["hourly"]["time"], part["hourly"]["shortwave_radiation"], strict=True))
    wanted = sum(stamps[f"2026-03-03T{h:02d}:00"] for h in range(1, 24)) + stamps["2026-03-04T00:00"]
    assert found.table["ghi_w_m2"].sum() == pytest.approx(wanted, abs=0.5)
    noon = found.table["ghi_w_m2"].idxmax()
    assert found.table.loc[noon, "ghi_w_m2"] == max(stamps[f"2026-03-03T{h:02d}:00"] for h in range(24))
    assert noon.tz_convert("Europe/Berlin").hour == 12  # solar noon 12:32; of the stamps 13:00 is the highest


def test_adelaide_in_the_offset_of_the_call_and_not_of_the_date(shared):
    """Its evaporation, of the hour before like light, follows the sun; by the zone's own +10:30 not."""
    whole, part = _body(shared, "openmeteo_archive_adelaide_2025-01-10.json")
    site = _site(part)
    ended = _Block(part, "hourly").at
    evaporation = pd.Series(part["hourly"]["et0_fao_evapotranspiration"], index=ended - HOUR)
    assert best_lag(site, evaporation) == 0
    assert best_lag(site, evaporation.set_axis(ended - 2 * HOUR)) == 2  # the zone's own offset of that date
    assert best_lag(site, evaporation.set_axis(ended)) == -2
    table = read({"forecast": whole}, site, ASKED_AT).table
    by_stamp = pd.Series(part["hourly"]["temperature_2m"], index=ended)
    inside = table["temp_air_c"].iloc[1:-1]
    at = np.asarray((inside.index + HOUR / 2).astype("int64"), dtype=float)
    drawn = np.interp(at, np.asarray(ended.astype("int64"), dtype=float), by_stamp.to_numpy())
    assert np.abs(inside.to_numpy() - drawn).max() < 1.0
    with pytest.raises(SourceFault, match="neither light nor cloud"):
        believed(
            read({"forecast": whole}, site, ASKED_AT), site, asked_for(site, datetime(2025, 1, 10).date(), 1)
        )


def test_native_quarter_hours_start_where_they_should(shared):
    """Karlsruhe: normal beam × cosine of the zenith = global − diffuse to 1 %; a quarter hour makes 2 %."""
    whole, part = _body(shared, "openmeteo_minutely15_karlsruhe_2024-05-03.json")
    site = _site(part)
    answer = read({"forecast": whole}, site, ASKED_AT)
    quarters = answer.quarters
    assert quarters.index[0] == pd.Timestamp("2024-05-03T11:45Z")
    index = pd.DatetimeIndex(quarters.index)
    flat = quarters["ghi_w_m2"] - quarters["dhi_w_m2"]
    strong = flat > 20

    def off(minutes: int) -> float:
        cosine = cos_zenith(site, index + pd.Timedelta(minutes=minutes), HOUR / 4)
        return apart((quarters["dni_w_m2"] * cosine)[strong], flat[strong])

    assert off(0) < 0.01
    assert min(off(-15), off(15)) > 0.02
    hours = answer.table["ghi_w_m2"].dropna()
    assert list(hours.index.hour) == [12, 13]  # the other hours are not whole
    four = part["minutely_15"]["shortwave_radiation"][1:5]  # stamps 12:15 to 13:00
    assert hours.iloc[0] == pytest.approx(sum(four) / 4)


def test_every_member_of_the_ensemble_has_light_when_the_sun_is_there(shared):
    _, part = _body(shared, "openmeteo_ensemble_icon_48N12E_2026-07-11.json")
    site = _site(part)
    members = _members(part)
    assert members.shape == (6, 40)
    assert members.index[0] == pd.Timestamp("2026-07-11T02:00Z")
    assert out_of_step(site, members.max(axis=1)) == 0
    assert out_of_step(site, members.min(axis=1)) == 0
    clear = clear_sky_ghi(site, pd.DatetimeIndex(members.index))
    assert (
        apart(members.mean(axis=1), clear) < 0.2
    )  # a cloudless morning; Ineichen reads low, most so at low sun
    for hours in (-1, 1):
        assert apart(members.mean(axis=1).shift(hours), clear) > 0.3


def test_cover_without_radiation_is_drawn_between_its_stamps(shared):
    """New Jersey: `is_day` says where the sun is at each stamp; an hour's cover lies between its ends."""
    whole, part = _body(shared, "openmeteo_forecast_newjersey_2025-12-28.json")
    site = _site(part)
    answer = read({"forecast": whole}, site, ASKED_AT)
    assert answer.cloud is CloudKind.MODEL
    at = _Block(part, "hourly").at
    by_day = np.array(part["hourly"]["is_day"]) == 1

    def wrong(hours: int) -> int:
        noon = cos_zenith(
            site, at + pd.Timedelta(hours=hours) - pd.Timedelta(minutes=1), pd.Timedelta(minutes=2)
        )
        return int(((noon > 0.03) != by_day).sum())

    assert wrong(0) <= 14  # one stamp a day may lie within minutes of the rim
    assert min(wrong(-1), wrong(1)) > wrong(0) + 8
    cover = part["hourly"]["cloud_cover"]
    for n in range(len(cover) - 1):
        if cover[n] is not None and cover[n + 1] is not None:
            assert answer.table["cloud_pct"][at[n]] == (cover[n] + cover[n + 1]) / 2
    assert cover.count(None) == 24
    assert answer.table["cloud_pct"][at[0] :].notna().all()  # single holes are drawn through
