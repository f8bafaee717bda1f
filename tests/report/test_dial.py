"""Timer settings: the pairs of a dial must light the lamps exactly when the plan does."""

from __future__ import annotations

from datetime import UTC, date, timedelta

import pytest

from lightplan.clock import Window, at_local
from lightplan.dayplan import Interval
from lightplan.report.dial import dial_pairs
from tests.report.sites import range_of

FRIDAY = date(2026, 1, 9)
SITE = range_of(1, FRIDAY)


def window(hours_from: float, hours_to: float, day: date = FRIDAY) -> Window:
    return Window(*(at_local(day, round(h * 60), SITE.timezone) for h in (hours_from, hours_to)))


def lit(*spans: tuple[float, float], day: date = FRIDAY) -> tuple[Interval, ...]:
    """Hours after the midnight before `day`."""
    return tuple((w.start, w.end) for w in (window(a, b, day) for a, b in spans))


def test_a_pair_cut_by_the_window_is_one_on_the_dial() -> None:
    intervals = lit((6.5, 8.5), (15.5, 21), (28.75, 30.5))
    assert dial_pairs(intervals, window(6.5, 30.5), SITE) == ((285, 510), (930, 1260))


def test_a_run_past_midnight_is_one_pair() -> None:
    assert dial_pairs(lit((22, 26)), window(6.5, 30.5), SITE) == ((1320, 120),)
    assert dial_pairs(lit((22, 24)), window(6.5, 30.5), SITE) == ((1320, 1440),)


def test_on_and_off_all_day() -> None:
    assert dial_pairs(lit((6.5, 24), (24, 30.5)), window(6.5, 30.5), SITE) == ((0, 1440),)
    assert dial_pairs((), window(6.5, 30.5), SITE) == ()


def test_a_weekend_is_the_same_pairs_on_every_day() -> None:
    daily = [(24 * n + 15.5, 24 * n + 21) for n in range(3)]
    assert dial_pairs(lit(*daily), window(6.5, 78.5), SITE) == ((930, 1260),)


def test_days_that_differ_fit_no_dial() -> None:
    assert dial_pairs(lit((15.5, 21), (39.5, 44)), window(6.5, 78.5), SITE) is None


def test_times_off_the_quarter_hour_fit_no_dial() -> None:
    assert dial_pairs(lit((15.6, 21)), window(6.5, 30.5), SITE) is None


@pytest.mark.parametrize(
    "day", [date(2026, 3, 7), date(2026, 10, 31)]
)  # the clocks change in the night after
def test_clock_times_hold_over_a_clock_change(day: date) -> None:
    assert dial_pairs(lit((15.5, 21), (29, 30.5), day=day), window(6.5, 30.5, day), SITE) == (
        (300, 390),
        (930, 1260),
    )


def test_an_hour_that_comes_twice_must_be_lit_twice_or_not_at_all() -> None:
    day = date(2026, 10, 31)
    once = at_local(day, 25 * 60, SITE.timezone).astimezone(UTC)
    assert dial_pairs(((once, once + timedelta(hours=1)),), window(6.5, 30.5, day), SITE) is None
    assert dial_pairs(((once, once + timedelta(hours=2)),), window(6.5, 30.5, day), SITE) == ((60, 120),)
