"""Nights as plants see them, held against an independent ephemeris and published day lengths."""

from __future__ import annotations

import math
from datetime import UTC, date, datetime, timedelta

import ephem
import numpy as np
import pytest

from lightplan.advice.photoperiod.seen import DAY_SEEN_DEG, DAY_SEEN_SHORT_DAY_DEG, photoperiod_h
from lightplan.clock import at_local
from lightplan.site.models import Site
from lightplan.sun import SUNRISE_DEG, hours_above
from lightplan.tables import read_table
from lightplan.twilight import nights
from lightplan.year.day_length import natural_days_h
from tests.places import bare_site

YEAR = tuple(date(2026, 1, 1) + timedelta(days=n) for n in range(365))


def their_night(site: Site, day: date, angle_deg: float) -> tuple[float, float] | None:
    """Dusk after a date's noon and the dawn that follows it by PyEphem 4 (VSOP87), UTC seconds."""
    observer = ephem.Observer()
    observer.lat, observer.lon = math.radians(site.latitude), math.radians(site.longitude)
    observer.pressure, observer.horizon = 0, math.radians(angle_deg)
    start = datetime.fromtimestamp(at_local(day, 720, site.timezone).timestamp(), UTC)
    observer.date = ephem.Date(start.replace(tzinfo=None))
    try:
        dusk = observer.next_setting(ephem.Sun(), use_center=True)
        observer.date = dusk
        dawn = observer.next_rising(ephem.Sun(), use_center=True)
    except (ephem.AlwaysUpError, ephem.NeverUpError):
        return None
    return tuple(e.datetime().replace(tzinfo=UTC).timestamp() for e in (dusk, dawn))  # type: ignore[return-value]


@pytest.mark.parametrize("angle_deg", [DAY_SEEN_DEG, DAY_SEEN_SHORT_DAY_DEG])
def test_dusk_and_dawn_agree_with_another_ephemeris(angle_deg):
    """200 random places and dates of 2024 to 2027 against PyEphem 4 (VSOP87; Rhodes, pypi.org/project/ephem).

    Within 2 s up to 56 degrees (0.1 s measured): what a second of ΔT comes to where the sun sinks slowest.
    """
    random = np.random.default_rng(7)
    compared = 0
    for _ in range(200):
        longitude = float(random.uniform(-180, 180))
        hours = round(longitude / 15)
        zone = f"Etc/GMT{-hours:+d}" if hours else "UTC"
        site = bare_site(float(random.uniform(-56, 56)), longitude, zone)
        day = date(2024, 1, 1) + timedelta(days=int(random.integers(0, 1461)))
        theirs = their_night(site, day, angle_deg)
        ours = nights(site, [day], angle_deg)
        if theirs is None:
            continue
        assert abs(float(ours.dark_s[0]) - theirs[0]) < 2, (site.latitude, day)
        assert abs(float(ours.light_s[0]) - theirs[1]) < 2, (site.latitude, day)
        compared += 1
    assert compared > 190


def test_many_dates_at_once_are_each_as_alone():
    """The noons that brackets lie between are drawn straight between every tenth date."""
    for latitude in (52.0, -46.0, 64.0):
        site = bare_site(latitude, 170.0, "Pacific/Auckland")
        together = nights(site, YEAR, DAY_SEEN_DEG)
        for n in range(0, 365, 37):
            alone = nights(site, [YEAR[n]], DAY_SEEN_DEG)
            far = 1.0 if alone.spans() else 10.0  # where no dark is, both are solar midnight, nearly
            assert together.dark_s[n] == pytest.approx(alone.dark_s[0], abs=far)
            assert together.light_s[n] == pytest.approx(alone.light_s[0], abs=far)


def rule(rule_id: str) -> tuple[float, float]:
    row = next(row for row in read_table("photoperiod_rules") if row["rule_id"] == rule_id)
    return float(row["value_low"]), float(row["value_high"])


def test_plants_at_43_n_see_35_to_40_min_beyond_sunrise_to_sunset():
    """Runkle & Heins, day length (photoperiod_rules.csv twilight_add, page): 35 to 40 min at 43 N, "all
    seasons about". The middle of the year's figures is held to it, each day to 10 min about it.
    """
    site = bare_site(43.0, -84.5, "America/Detroit")
    beyond = natural_days_h(site, YEAR[::5], DAY_SEEN_DEG) - [
        hours_above(site, day, SUNRISE_DEG) for day in YEAR[::5]
    ]
    low, high = rule("twilight_add")
    assert low <= 60 * float(np.median(beyond)) <= high
    assert 60 * beyond.min() > low - 5
    assert 60 * beyond.max() < high + 10


@pytest.mark.parametrize(
    ("rule_id", "latitude", "longitude", "zone"),
    [
        ("nat_day_new_orleans", 30.0, -90.0, "America/Chicago"),
        ("nat_day_minneapolis", 45.0, -93.2, "America/Chicago"),
        ("nat_day_east_lansing", 43.0, -84.5, "America/Detroit"),
    ],
)
def test_the_years_shortest_and_longest_day_as_published(rule_id, latitude, longitude, zone):
    """Lopez & Currey 2014, "includes twilight as plants see it" (page), told to half an hour; Runkle & Heins,
    "fewer than 10 to more than 16 h" at 43 N (page): its upper end is the day to -6 degrees.
    """
    site = bare_site(latitude, longitude, zone)
    low, high = rule(rule_id)
    days = natural_days_h(site, YEAR, DAY_SEEN_DEG)
    assert days.min() == pytest.approx(low, abs=0.5)
    assert days.max() == pytest.approx(high, abs=0.5)


def test_polar_day_has_no_dark_and_polar_night_is_all_dark():
    """Above 66.6 + 4 degrees the sun's centre keeps below -4 degrees in midwinter (astronomical almanac)."""
    site = bare_site(75.0, 20.0, "Europe/Oslo")
    summer, winter = (nights(site, [day], DAY_SEEN_DEG) for day in (date(2026, 6, 21), date(2026, 12, 21)))
    assert summer.spans() == ()
    assert (winter.light_s - winter.dark_s)[0] == pytest.approx(86400, abs=60)
    days = natural_days_h(site, YEAR, DAY_SEEN_DEG)
    assert (days[171], days[354]) == (24.0, 0.0)
    # about 61 to 62.5 N nights are bright in June: below -4, never for long
    assert 19 < natural_days_h(bare_site(60.0, 20.0, "Europe/Oslo"), YEAR, DAY_SEEN_DEG).max() < 24


def test_half_a_year_later_on_the_other_half_of_the_earth():
    """The sun of 21 March stands as far south of 46 S as that of 23 September north of 46 N: equal days to a
    few minutes, the year's two solstices to one (the sun's distance and refraction make no difference here).
    """
    north = natural_days_h(bare_site(46.0, 0.0), YEAR, DAY_SEEN_DEG)
    south = natural_days_h(bare_site(-46.0, 0.0), YEAR, DAY_SEEN_DEG)
    assert south.max() == pytest.approx(north.max(), abs=0.02)
    assert south.min() == pytest.approx(north.min(), abs=0.02)
    assert abs(int(south.argmax()) - int(north.argmin())) <= 1


@pytest.mark.parametrize(
    ("zone", "longitude", "day"),
    [
        ("Europe/Berlin", 13.4, date(2026, 3, 28)),  # the clock jumps in the night that follows
        ("Europe/Berlin", 13.4, date(2026, 10, 24)),
        ("Asia/Kolkata", 77.2, date(2026, 5, 1)),
        ("America/New_York", -79.9, date(2028, 2, 28)),
        ("America/New_York", -79.9, date(2028, 2, 29)),
        ("Pacific/Fiji", 179.9, date(2026, 1, 2)),
    ],
)
def test_clocks_and_calendars_leave_the_dark_alone(zone, longitude, day):
    """A night across a clock change, a leap day or at +05:30 is as long as the same one told in UTC."""
    here = bare_site(40.0, longitude, zone)
    by_clock = natural_days_h(here, [day], DAY_SEEN_DEG)[0]
    hours = round(longitude / 15)
    there = bare_site(40.0, longitude, f"Etc/GMT{-hours:+d}")
    assert by_clock == pytest.approx(natural_days_h(there, [day], DAY_SEEN_DEG)[0], abs=0.001)


def test_noon_to_noon_of_25_hours_is_still_a_day():
    """All dark: no light is made up by the hour that comes twice."""
    start = at_local(date(2026, 10, 24), 720, bare_site(70, 20, "Europe/Oslo").timezone).timestamp()
    assert photoperiod_h(((start - 9e4, start + 9e4),), start, start + 25 * 3600) == 0.0
    assert photoperiod_h((), start, start + 23 * 3600) == 24.0
