"""The zone in a calendar file, read by dateutil, which takes RFC 5545, 3.6.5 at its word."""

from __future__ import annotations

import io
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from dateutil.tz import tzical
from icalendar import Calendar

from lightplan.deliver.zone import changes, vtimezone

FIRST, LAST = date(2025, 11, 20), date(2027, 11, 22)


def as_read(zone: ZoneInfo):
    found = Calendar()
    found.add_component(vtimezone(zone, FIRST, LAST))
    text = found.to_ical().decode()
    return tzical(io.StringIO(text.replace("\r\n", "\n"))).get()


@pytest.mark.parametrize(
    "name",
    ["America/New_York", "Europe/Berlin", "Asia/Kolkata", "Pacific/Auckland", "Australia/Lord_Howe",
     "Africa/Casablanca", "America/Nuuk", "UTC", "Europe/Dublin"],
)  # fmt: skip
def test_every_hour_of_two_years_has_its_offset(name):
    """Local clock → offset; of two equal clock times a calendar can tell the first only."""
    zone, theirs = ZoneInfo(name), as_read(ZoneInfo(name))
    at, wrong, looked = datetime(2025, 11, 21, tzinfo=UTC), [], 0
    while at < datetime(2027, 11, 20, tzinfo=UTC):
        local = at.astimezone(zone)
        if not local.fold:
            looked += 1
            clock = local.replace(tzinfo=None)
            if theirs.utcoffset(clock) != local.utcoffset():
                wrong.append((clock, theirs.utcoffset(clock), local.utcoffset()))
        at += timedelta(hours=1)
    assert looked > 17000
    assert not wrong, (len(wrong), wrong[:3])


def test_the_changes_of_new_york_by_law():
    """Energy Policy Act of 2005, section 110: second Sunday of March, first of November, at 02:00."""
    found = list(changes(ZoneInfo("America/New_York"), date(2026, 1, 1), date(2027, 1, 1)))
    assert found == [datetime(2026, 3, 8, 7, tzinfo=UTC), datetime(2026, 11, 1, 6, tzinfo=UTC)]


def test_the_onsets_are_written_as_in_the_standards_own_example():
    """RFC 5545, 3.6.5, the last example there: New York in 2007, clocks as they stand before each change."""
    found = vtimezone(ZoneInfo("America/New_York"), date(2007, 1, 1), date(2008, 1, 1))
    told = {
        (part.name, part["DTSTART"].to_ical(), part["TZOFFSETFROM"].to_ical(), part["TZOFFSETTO"].to_ical())
        for part in found.subcomponents[1:]
    }
    assert told == {
        ("DAYLIGHT", b"20070311T020000", "-0500", "-0400"),
        ("STANDARD", b"20071104T020000", "-0400", "-0500"),
    }


def test_the_check_by_the_hour_sees_a_wrong_onset():
    shifted = vtimezone(ZoneInfo("America/New_York"), FIRST, LAST)
    for part in shifted.subcomponents:
        if part.name == "DAYLIGHT":
            part["DTSTART"].dt += timedelta(hours=2)
    found = Calendar()
    found.add_component(shifted)
    theirs = tzical(io.StringIO(found.to_ical().decode().replace("\r\n", "\n"))).get()
    assert theirs.utcoffset(datetime(2026, 3, 8, 3, 30)) != timedelta(hours=-4)
