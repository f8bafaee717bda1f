"""Small invented answers in the services' documented forms: what is given differs, the hours must not.

Invented for these tests; the forms are those of the services' own documentation (open-meteo.com/en/docs,
weather.gov services-web-api, api.met.no locationforecast 2.0). Wrong models tried, each of which fails:
the offset added in place of taken off, numeric stamps shifted by the offset, a cover layer or an instant
taken for a model, the last model in place of the first, an hour made of three quarters, an interval's days or
minutes left out, a null taken for nothing, the tail's holes drawn over.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import numpy as np
import pandas as pd
import pytest

from lightplan.weather import met_norway, nws, open_meteo, open_meteo_answer
from lightplan.weather.bands import NOTHING_LEARNED, SiteErrors
from lightplan.weather.clear_sky import clear_sky_ghi
from lightplan.weather.cloud import CloudKind
from lightplan.weather.from_service import service_weather
from lightplan.weather.sense import believed
from lightplan.weather.table import SourceFault
from tests.places import bare_site
from tests.weather import bodies
from tests.weather.sun_hours import ASKED_AT, HOUR, asked_for, out_of_step

PLACES = [
    (52.0, 6.0, "Europe/Amsterdam", date(2026, 3, 29)),  # 23 hours
    (52.0, 6.0, "Europe/Amsterdam", date(2026, 10, 25)),  # 25 hours
    (40.0, -75.0, "America/New_York", date(2026, 3, 8)),
    (40.0, -75.0, "America/New_York", date(2026, 11, 1)),
    (-34.8, 138.6, "Australia/Adelaide", date(2026, 4, 5)),
    (19.0, 73.0, "Asia/Kolkata", date(2026, 6, 21)),
    (69.6, 18.9, "Europe/Oslo", date(2026, 6, 21)),  # the sun stays up
    (69.6, 18.9, "Europe/Oslo", date(2026, 12, 21)),  # and down
    (-45.0, 170.0, "Pacific/Auckland", date(2026, 12, 21)),
    (52.0, 6.0, "Europe/Amsterdam", date(2028, 2, 29)),
]

HALF_HOURS = ("Asia/Kolkata", "Australia/Adelaide")


def _read(body, site):
    return open_meteo_answer.read({"forecast": body}, site, ASKED_AT)


@pytest.mark.parametrize(("latitude", "longitude", "zone", "day"), PLACES)
@pytest.mark.parametrize("stamps", ["offset", "numbers"])
def test_light_of_a_civil_day_whatever_its_length_and_stamps(latitude, longitude, zone, day, stamps):
    site = bare_site(latitude, longitude, zone)
    asked = asked_for(site, day, 1)
    first = asked.times[0].to_pydatetime().replace(hour=0) - timedelta(days=1)
    # one offset all through, that of the day before, as the service does
    ahead = int(pd.Timestamp(first).tz_convert(zone).utcoffset().total_seconds())
    if ahead % 3600 and stamps == "offset":
        ahead = 3600 * (ahead // 3600)
    body = bodies.open_meteo(site, first, 4, clearness=0.4, offset_s=ahead)
    if stamps == "numbers":  # Unix seconds are UTC whatever the offset says
        ended = pd.date_range(first, periods=24 * 4, freq="h")
        body["hourly"]["time"] = [int(t.timestamp()) for t in ended]
    answer = believed(_read(body, site), site, asked)
    found = service_weather(open_meteo.SERVICE, answer, site, asked, earlier=(), learned=NOTHING_LEARNED)
    hours = {date(2026, 3, 29): 23, date(2026, 10, 25): 25, date(2026, 3, 8): 23, date(2026, 11, 1): 25}
    length = 25 if zone.endswith("Adelaide") else hours.get(day, 24)
    assert len(asked.times) == length + (zone in HALF_HOURS)  # a midnight within a UTC hour
    clear = clear_sky_ghi(site, asked.times)
    assert found.table["ghi_w_m2"].sum() == pytest.approx(0.4 * clear.sum(), abs=2.0)
    assert np.abs(found.table["ghi_w_m2"] - 0.4 * clear).max() < 0.1
    assert out_of_step(site, found.table["ghi_w_m2"]) == 0
    assert (found.spread.low <= 1).all()
    assert (found.spread.high >= 1).all()


SITE = bare_site(50.0, 9.0, "Europe/Berlin")
FIRST = datetime(2026, 5, 1, tzinfo=UTC)


def _body(**changed):
    body = bodies.open_meteo(SITE, FIRST, 2, clearness=0.5)
    for name, values in changed.items():
        if values is None:
            body["hourly"].pop(name, None)
            body["hourly_units"].pop(name, None)
        else:
            body["hourly"][name] = values
    return body


def test_keys_of_several_models_are_read_from_the_first_that_knows():
    body = _body()
    hourly, light = body["hourly"], body["hourly"]["shortwave_radiation"]
    short = light[:30] + [None] * 18  # the first model ends early
    for name in list(hourly):
        if name != "time":
            hourly[f"{name}_icon_d2"] = hourly.pop(name)
    hourly["shortwave_radiation_icon_d2"] = short
    hourly["shortwave_radiation_ecmwf_ifs025"] = [v * 2 for v in light]
    hourly["cloud_cover_low_icon_d2"] = [5] * 48
    answer = _read(body, SITE)
    found = answer.table["ghi_w_m2"].to_numpy()[:48]
    assert np.allclose(found, light[:30] + [v * 2 for v in light[30:]])
    assert (answer.table["cloud_pct"].dropna() == 100).all()  # and not the low cover's 5
    assert answer.above_air is not None


def test_a_value_at_an_instant_is_not_taken_for_a_model():
    light = _body()["hourly"]["shortwave_radiation"]
    body = _body(shortwave_radiation=None, shortwave_radiation_instant=light, cloud_cover_low=[5] * 48)
    answer = _read(body, SITE)
    assert answer.table["ghi_w_m2"].isna().all()
    assert answer.cloud is CloudKind.MODEL


@pytest.mark.parametrize("missing", ["shortwave_radiation", "diffuse_radiation"])
def test_two_of_global_diffuse_and_direct_make_the_third(missing):
    light = np.array(_body()["hourly"]["shortwave_radiation"])
    parts = {
        "shortwave_radiation": list(light),
        "diffuse_radiation": list(light * 0.6),
        "direct_radiation": list(light * 0.4),
    }
    table = _read(_body(**{**parts, missing: None}), SITE).table
    assert np.allclose(table["ghi_w_m2"].dropna(), light)
    assert np.allclose(table["dhi_w_m2"].dropna(), light * 0.6)


def test_light_by_the_quarter_hour_alone_makes_hours_and_a_null_leaves_one_open():
    stamps = pd.date_range(FIRST + timedelta(minutes=15), periods=96, freq="15min")
    light = (clear_sky_ghi(SITE, stamps - HOUR / 4, HOUR / 4) * 0.5).round(1).tolist()
    light[41] = None
    body = _body(shortwave_radiation=None, diffuse_radiation=None)
    body["minutely_15"] = {
        "time": [f"{t:%Y-%m-%dT%H:%M}" for t in stamps],
        "shortwave_radiation": light,
    }
    answer = _read(body, SITE)
    hours = answer.table["ghi_w_m2"][FIRST : FIRST + timedelta(hours=23)]
    clear = clear_sky_ghi(SITE, pd.DatetimeIndex(hours.index)) * 0.5
    assert list(hours.index[hours.isna()].hour) == [10]
    assert np.abs(hours - clear).max() < 8  # four looks at four quarters against four at the hour
    assert answer.cloud is None


def test_nulls_stay_unknown_and_other_units_are_read():
    light = _body()["hourly"]["shortwave_radiation"]
    body = _body(shortwave_radiation=[None, *light[1:-1], None], temperature_2m=[50.0] * 48)
    body["hourly_units"] |= {"temperature_2m": "°F", "wind_speed_10m": "km/h"}
    table = _read(body, SITE).table
    assert table["ghi_w_m2"].isna().sum() == 3  # both nulls, and the hour after the last stamp
    assert np.allclose(table["temp_air_c"].dropna(), 10.0)
    assert np.allclose(table["wind_m_s"].dropna(), 3 / 3.6)
    body["hourly_units"]["shortwave_radiation"] = "MJ/m²"
    with pytest.raises(SourceFault, match="MJ/m²"):
        _read(body, SITE)


def test_blocks_that_are_missing_or_of_another_place_are_refused():
    body = _body()
    far = {**body, "latitude": 10.0}
    assert _read([far, body], SITE).table["ghi_w_m2"].notna().any()
    for bad in ([far], far, {**body, "hourly": None}, {"error": True, "reason": "out of range"}, [], 7):
        with pytest.raises(SourceFault):
            _read(bad, SITE)


def _grid(values, site=SITE, uom="wmoUnit:percent"):
    grid = bodies.nws_grid(site, FIRST)
    grid["properties"]["skyCover"] = {
        "uom": uom,
        "values": [{"validTime": time, "value": value} for time, value in values],
    }
    return nws.read({"grid": grid}, site, ASKED_AT)


def test_intervals_of_any_length_and_offset():
    """One hour to days, minutes, a local offset across the change of 8 March 2026, a null and a hole."""
    answer = _grid(
        [
            ("2026-03-07T22:00:00-05:00/PT1H", 10),  # 03:00 UTC
            ("2026-03-07T23:00:00-05:00/PT3H", 20),  # 04:00 to 07:00
            ("2026-03-08T03:00:00-04:00/PT12H", 30),  # 07:00 to 19:00, the clock has gone on
            ("2026-03-08T19:00:00Z/PT1H30M", 40),
            ("2026-03-08T20:30:00+00:00/PT30M", 60),
            ("2026-03-08T21:00:00+00:00/PT2H", None),
            ("2026-03-09T00:00:00+00:00/P1DT6H", 70),
        ]
    )
    cover = answer.table["cloud_pct"].dropna()
    cover = cover[cover.index < "2026-04-01"]
    hours = [3, *range(4, 7), *range(7, 19), 19, 20, *range(24, 54)]
    assert list((cover.index - pd.Timestamp("2026-03-08T00:00Z")) / HOUR) == hours
    assert list(cover) == [10, *[20] * 3, *[30] * 12, 40, 50, *[70] * 30]


@pytest.mark.parametrize(
    "values",
    [
        [("2026-05-01T00:00:00+00:00/PT6H", 10), ("2026-05-01T03:00:00+00:00/PT6H", 20)],
        [("2026-05-01T00:00:00+00:00", 10)],
        [("2026-05-01T00:00:00/PT1H", 10)],
        [("2026-05-01T00:00:00+00:00/PT0H", 10)],
        [("2026-05-01T00:00:00+00:00/PT3H", 140)],
        [("2026-05-01T00:00:00+00:00/PT3H", None)],
        [],
    ],
)
def test_strange_intervals_are_refused(values):
    with pytest.raises(SourceFault):
        _grid(values)


def test_old_names_of_units_and_layers_that_are_missing_or_empty():
    grid = bodies.nws_grid(SITE, FIRST)
    properties = grid["properties"]
    properties["skyCover"]["uom"] = "unit:percent"
    properties["temperature"] = {
        "uom": "unit:degF",
        "values": [{"validTime": "2026-05-01T00:00:00+00:00/PT6H", "value": 50.0}],
    }
    properties["windSpeed"] = {"values": []}
    table = nws.read({"grid": grid}, SITE, ASKED_AT).table
    assert np.allclose(table["temp_air_c"].dropna(), 10.0)
    assert table["wind_m_s"].isna().all()
    del properties["temperature"]
    assert nws.read({"grid": grid}, SITE, ASKED_AT).table["temp_air_c"].isna().all()


def test_the_six_hourly_tail_is_drawn_and_a_missing_key_is_no_clear_sky():
    body = bodies.met_norway(SITE, FIRST)
    series = body["properties"]["timeseries"]
    for number, step in enumerate(series):
        step["data"]["instant"]["details"]["cloud_area_fraction"] = float(number % 2) * 60
    series[10]["data"]["instant"]["details"] = {}
    series[70]["data"]["instant"] = {"details": {}}
    cover = met_norway.read({"forecast": body}, SITE, ASKED_AT).table["cloud_pct"]
    assert cover[FIRST] == 30.0
    tail = pd.Timestamp(series[61]["time"])  # 60 there, 0 six hours on
    assert np.allclose(cover[tail : tail + 5 * HOUR], [55, 45, 35, 25, 15, 5])
    assert np.allclose(cover[FIRST + timedelta(hours=9) : FIRST + timedelta(hours=10)], 60.0)  # drawn through
    hole = pd.Timestamp(series[69]["time"])
    assert cover[hole : hole + 11 * HOUR].isna().all()  # twelve hours are no line
    assert cover.index[-1] == pd.Timestamp(series[-1]["time"])


def test_a_swapped_place_is_refused():
    body = bodies.met_norway(SITE, FIRST)
    longitude, latitude, height = body["geometry"]["coordinates"]
    body["geometry"]["coordinates"] = [latitude, longitude, height]
    with pytest.raises(SourceFault, match="another place"):
        met_norway.read({"forecast": body}, SITE, ASKED_AT)


def test_what_a_site_has_learned_moves_light_from_cover_and_narrows_the_band():
    asked = asked_for(SITE, date(2026, 5, 1), 2, FIRST)
    body = bodies.met_norway(SITE, FIRST - timedelta(hours=4), cover=90.0)
    answer = met_norway.read({"forecast": body}, SITE, FIRST)

    def made(learned):
        return service_weather(met_norway.SERVICE, answer, SITE, asked, earlier=(), learned=learned)

    plain, brighter = made(NOTHING_LEARNED), made(SiteErrors(cloud_light=1.2, spread=0.5))
    assert brighter.table["ghi_w_m2"].sum() == pytest.approx(1.2 * plain.table["ghi_w_m2"].sum())
    assert (brighter.spread.low > plain.spread.low).all()
    assert any("assumed" in note for note in plain.notes)
    assert not any("assumed" in note for note in brighter.notes)
    absurd = made(SiteErrors(cloud_light=3.0)).table["ghi_w_m2"]
    assert (absurd <= 1.11 * clear_sky_ghi(SITE, pd.DatetimeIndex(absurd.index))).all()
