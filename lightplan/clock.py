"""Civil days, the working step, and the window that orders may fall in.

A site's day is its civil day: 23, 24 or 25 hours. Times inside are UTC instants; wall-clock
minutes are worked out once, here.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from functools import cached_property
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from lightplan.site.models import Site

STEP_MIN = 15
STEP_S = STEP_MIN * 60
STEPS_PER_H = 60 // STEP_MIN
STEP = timedelta(minutes=STEP_MIN)


def at_local(day: date, minutes: int, zone: ZoneInfo) -> datetime:
    """The instant at which the wall clock shows `minutes` after midnight of `day` (1440 = next midnight).

    A clock time that a change skips counts on from the hour before it; one that comes twice is the
    first of the two.
    """
    days, rest = divmod(minutes, 1440)
    local = datetime.combine(day + timedelta(days=days), time(rest // 60, rest % 60), zone)
    return local.astimezone(UTC).astimezone(zone)


def utc_text(moment: datetime) -> str:
    """An instant as it is kept: ISO, UTC, to the second."""
    return moment.astimezone(UTC).isoformat(timespec="seconds")


def day_start(day: date, zone: ZoneInfo) -> datetime:
    """The first instant of a civil day (some dates have no midnight: then the first moment after it)."""
    return at_local(day, 0, zone)


def round_up_to_step(moment: datetime) -> datetime:
    """The next quarter hour, or the moment itself when it is one."""
    utc = moment.astimezone(UTC)
    floor = utc.replace(minute=utc.minute - utc.minute % STEP_MIN, second=0, microsecond=0)
    return (floor if floor == utc else floor + STEP).astimezone(moment.tzinfo)


@dataclass(frozen=True)
class Grid:
    """The working steps from the first instant of `first` to the last instant of the last date."""

    dates: tuple[date, ...]
    zone: ZoneInfo

    @cached_property
    def times(self) -> pd.DatetimeIndex:
        """Start of every step, UTC."""
        start, end = (
            day_start(self.dates[0], self.zone),
            day_start(self.dates[-1] + timedelta(days=1), self.zone),
        )
        return pd.date_range(start.astimezone(UTC), end.astimezone(UTC), freq=STEP, inclusive="left")

    @cached_property
    def day(self) -> NDArray[np.int64]:
        """Number of the civil day (0 = first) of every step."""
        starts = [day_start(d, self.zone).astimezone(UTC) for d in self.dates]
        return np.asarray(pd.DatetimeIndex(starts).searchsorted(self.times, side="right") - 1, dtype=np.int64)

    @cached_property
    def minute(self) -> NDArray[np.int64]:
        """Wall-clock minutes after midnight at the start of every step."""
        local = self.times.tz_convert(self.zone)
        return np.asarray(local.hour * 60 + local.minute, dtype=np.int64)

    def __len__(self) -> int:
        return len(self.times)

    def index(self, moment: datetime) -> int:
        """Number of the step that starts at or first after `moment` (len(self) past the end)."""
        return int(self.times.searchsorted(pd.Timestamp(moment.astimezone(UTC))))

    def moment(self, step: int) -> datetime:
        """Start of a step as local time; `step` may be len(self), the end of the grid."""
        start = day_start(self.dates[0], self.zone).astimezone(UTC)
        return (start + step * STEP).astimezone(self.zone)


def grid_over(first: date, days: int, zone: ZoneInfo) -> Grid:
    return Grid(tuple(first + timedelta(days=n) for n in range(days)), zone)


@dataclass(frozen=True)
class Window:
    """The time that this sheet's orders cover: from W0 to W1."""

    start: datetime
    end: datetime


LOOK_AHEAD_DAYS = 14  # crews come back within a fortnight, or the window ends there


def window_for(site: Site, day: date, now: datetime) -> Window | None:
    """From the first crew hour of `day` to that of the next day with a crew; None when nobody comes.

    now : the moment the sheet is made. On the sheet's own date a start already past gives way to
    `now`, rounded up to the quarter hour.
    """
    crew = site.crew_on(day)
    if crew is None:
        return None
    start = at_local(day, crew[0], site.timezone)
    if now.astimezone(site.timezone).date() == day and now > start:
        start = round_up_to_step(now)
    for ahead in range(1, LOOK_AHEAD_DAYS + 1):
        next_day = day + timedelta(days=ahead)
        next_crew = site.crew_on(next_day)
        if next_crew is not None:
            return Window(start, at_local(next_day, next_crew[0], site.timezone))
    return Window(start, at_local(day + timedelta(days=LOOK_AHEAD_DAYS), crew[0], site.timezone))
