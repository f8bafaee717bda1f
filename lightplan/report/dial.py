"""Lamp times as they are set on a timer: clock times that come round every day.

A timer knows no dates. What runs 06:30–08:30 today and 04:45–06:30 tomorrow is one pair on its dial,
04:45–08:30; a window over a weekend is the same pairs on every day of it.
"""

from __future__ import annotations

from datetime import UTC, timedelta

from lightplan.clock import STEP_MIN, Window
from lightplan.dayplan import Interval
from lightplan.site.models import Site, Span

ALL_DAY = ((0, 1440),)
STEPS_A_DAY = 24 * 60 // STEP_MIN


def dial_pairs(intervals: tuple[Interval, ...], window: Window, site: Site) -> tuple[Span, ...] | None:
    """On and off [minutes after midnight] of each pair on the dial, by time of on; off may lie before on.

    (0, 1440) is on all day, () off all day. None where no dial can do what the intervals ask: two days
    of the window differ, or a time is not on the quarter hour.
    """
    ends = [moment.astimezone(site.timezone) for interval in intervals for moment in interval]
    if any(moment.minute % STEP_MIN or moment.second for moment in ends):
        return None
    lit = [(on.timestamp(), off.timestamp()) for on, off in intervals]
    dial: dict[int, bool] = {}
    moment, end = window.start.astimezone(UTC), window.end.astimezone(UTC)
    while moment < end:
        local = moment.astimezone(site.timezone)
        slot = (local.hour * 60 + local.minute) // STEP_MIN
        on = any(a <= moment.timestamp() < b for a, b in lit)
        if dial.setdefault(slot, on) != on:
            return None
        moment += timedelta(minutes=STEP_MIN)
    return _runs([dial.get(slot, False) for slot in range(STEPS_A_DAY)])


def _runs(on: list[bool]) -> tuple[Span, ...]:
    """Runs of a round of slots as pairs of minutes; one that passes midnight is one pair."""
    if all(on):
        return ((0, STEPS_A_DAY * STEP_MIN),)
    starts = [k for k in range(STEPS_A_DAY) if on[k] and not on[k - 1]]
    pairs = []
    for start in starts:
        length = next(n for n in range(1, STEPS_A_DAY) if not on[(start + n) % STEPS_A_DAY])
        end = start + length
        pairs.append((start * STEP_MIN, (end if end <= STEPS_A_DAY else end - STEPS_A_DAY) * STEP_MIN))
    return tuple(pairs)
