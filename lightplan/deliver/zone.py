"""A time zone as a calendar file tells it (RFC 5545, 3.6.5): every change of its clock over some years.

Our own, since `icalendar` 7.3 puts the onset of summer time an hour late: it writes the clock after the
change, where 3.6.5 wants the one before it.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

from icalendar import Timezone, TimezoneDaylight, TimezoneStandard

DAY, SECOND = timedelta(days=1), timedelta(seconds=1)


def changes(zone: ZoneInfo, first: date, last: date) -> Iterator[datetime]:
    """Instants (UTC) from which another offset holds, between two dates."""
    at, end = (datetime(d.year, d.month, d.day, tzinfo=UTC) for d in (first, last))
    while at < end:
        if _offset(at, zone) != _offset(at + DAY, zone):
            before, after = at, at + DAY
            while after - before > SECOND:
                middle = before + (after - before) / 2
                middle = middle.replace(microsecond=0) if middle.microsecond else middle
                if _offset(middle, zone) == _offset(at, zone):
                    before = middle
                else:
                    after = middle
            yield after
        at += DAY


def vtimezone(zone: ZoneInfo, first: date, last: date) -> Timezone:
    """The zone between two dates: an observance for each change, and the one that holds at the beginning."""
    found = Timezone()
    found.add("tzid", zone.key)
    start = datetime(first.year, first.month, first.day, tzinfo=UTC)
    for at in (start, *changes(zone, first, last)):
        local = at.astimezone(zone)
        before = _offset(at - SECOND, zone)
        kind = TimezoneDaylight() if local.dst() else TimezoneStandard()
        kind.add("dtstart", (at + before).replace(tzinfo=None))
        kind.add("tzoffsetfrom", before)
        kind.add("tzoffsetto", _offset(at, zone))
        kind.add("tzname", local.tzname() or zone.key)
        found.add_component(kind)
    return found


def _offset(at: datetime, zone: ZoneInfo) -> timedelta:
    return at.astimezone(zone).utcoffset() or timedelta(0)
