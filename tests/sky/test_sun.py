"""Sun positions and times held against a published example and an independent ephemeris."""

from __future__ import annotations

import math
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import ephem
import numpy as np
import pandas as pd
import pytest

from lightplan.clock import at_local
from lightplan.site.models import Site
from lightplan.sun import CIVIL_DEG, SUNRISE_DEG, crossings, position, sun_times
from tests.places import bare_site


def test_published_spa_example():
    """Reda & Andreas 2004 (NREL/TP-560-34302), table A5.1: zenith 50.11162°, azimuth 194.34024°.

    The report's pressure 820 hPa and 11 °C move refraction by under 0.001° at this height; ours come from
    the elevation and a usual air. ΔT there is 67 s.
    """
    site = bare_site(39.742476, -105.1786, "America/Denver", elevation_m=1830.14)
    moment = datetime.fromisoformat("2003-10-17T12:30:30-07:00").timestamp()
    zenith, _, azimuth = position(site, np.array([moment]))
    assert zenith[0] == pytest.approx(50.11162, abs=0.001)
    assert azimuth[0] == pytest.approx(194.34024, abs=0.001)


def _ephem_times(site: Site, day: date, angle_deg: float) -> dict[bool, list[float]]:
    """Crossings of a civil day by PyEphem (VSOP87), as UTC seconds, by whether the sun rises."""
    observer = ephem.Observer()
    observer.lat, observer.lon = math.radians(site.latitude), math.radians(site.longitude)
    observer.pressure, observer.horizon = 0, math.radians(angle_deg)
    start, end = (at_local(day + timedelta(days=n), 0, site.timezone).timestamp() for n in (0, 1))
    sun, found = ephem.Sun(), {True: [], False: []}
    for rises, ask in ((True, observer.next_rising), (False, observer.next_setting)):
        observer.date = ephem.Date(datetime.fromtimestamp(start, UTC).replace(tzinfo=None))
        try:
            instant = ask(sun, use_center=True).datetime().replace(tzinfo=UTC).timestamp()
        except (ephem.AlwaysUpError, ephem.NeverUpError):
            continue
        if instant < end:
            found[rises].append(instant)
    return found


@pytest.mark.parametrize("angle_deg", [SUNRISE_DEG, CIVIL_DEG])
def test_rise_set_and_twilight_agree_with_another_ephemeris(angle_deg):
    """200 random places and dates against PyEphem 4 (VSOP87), within a minute away from polar limits."""
    random = np.random.default_rng(20261125)
    compared = 0
    for _ in range(200):
        site = bare_site(float(random.uniform(-62, 62)), float(random.uniform(-180, 180)))
        day = date(2024, 1, 1) + timedelta(days=int(random.integers(0, 1461)))
        theirs = _ephem_times(site, day, angle_deg)
        ours = {True: [], False: []}
        for moment, rises in crossings(site, day, angle_deg):
            ours[rises].append(moment.timestamp())
        for rises in (True, False):
            for instant in theirs[rises]:
                assert min(abs(instant - other) for other in ours[rises]) < 60
                compared += 1
    assert compared > 300


@pytest.mark.parametrize(
    ("latitude", "longitude", "zone", "day", "length_h"),
    [
        (70.0, 25.0, "Europe/Oslo", date(2026, 6, 21), 24.0),
        (70.0, 25.0, "Europe/Oslo", date(2026, 12, 21), 0.0),
    ],
)
def test_polar_day_and_night(latitude, longitude, zone, day, length_h):
    times = sun_times(bare_site(latitude, longitude, zone), day)
    assert (times.sunrise, times.sunset) == (None, None)
    assert times.day_length_h == length_h
    assert times.solar_noon is not None


@pytest.mark.parametrize(
    ("latitude", "longitude", "zone", "day"),
    [
        (52.5, 13.4, "Europe/Berlin", date(2026, 3, 29)),  # spring change
        (52.5, 13.4, "Europe/Berlin", date(2026, 10, 25)),  # autumn change
        (28.6, 77.2, "Asia/Kolkata", date(2026, 7, 1)),  # +05:30
        (-46.0, 169.0, "Pacific/Auckland", date(2026, 7, 15)),  # southern winter
        (36.1, -79.9, "America/New_York", date(2028, 2, 29)),  # leap day
        (-16.5, 179.9, "Pacific/Fiji", date(2026, 1, 2)),  # by the date line
    ],
)
def test_events_come_in_order_on_their_own_date(latitude, longitude, zone, day):
    site = bare_site(latitude, longitude, zone)
    times = sun_times(site, day)
    events = [times.civil_dawn, times.sunrise, times.solar_noon, times.sunset, times.civil_dusk]
    assert all(event is not None and event.date() == day for event in events)
    assert events == sorted(events)
    span = (times.sunset.timestamp() - times.sunrise.timestamp()) / 3600
    assert times.day_length_h == pytest.approx(span, abs=0.001)
    assert abs((times.solar_noon - times.sunrise) / (times.sunset - times.sunrise) - 0.5) < 0.005


def test_day_length_of_the_almanac():
    """Day of 21 June at 40 N: 15.0 h (astronomical almanac; from memory)."""
    site = bare_site(40.0, -75.0, "America/New_York")
    assert sun_times(site, date(2026, 6, 21)).day_length_h == pytest.approx(15.0, abs=0.1)


def test_clock_of_another_zone_moves_nothing():
    here = sun_times(bare_site(40.0, 0.0, "UTC"), date(2026, 5, 1))
    there = sun_times(bare_site(40.0, 0.0, "Europe/Madrid"), date(2026, 5, 1))
    assert abs(here.sunrise.timestamp() - there.sunrise.timestamp()) <= 1
    assert pd.Timestamp(there.sunrise).tz == ZoneInfo("Europe/Madrid")
