"""Civil days of 23, 24 and 25 hours, and the window of orders."""

from __future__ import annotations

import dataclasses
from datetime import date, datetime
from zoneinfo import ZoneInfo

import pytest

from lightplan.clock import at_local, grid_over, round_up_to_step, window_for
from tests.places import bare_site

BERLIN = ZoneInfo("Europe/Berlin")


@pytest.mark.parametrize(
    ("zone", "day", "steps"),
    [
        ("Europe/Berlin", date(2026, 3, 29), 92),
        ("Europe/Berlin", date(2026, 10, 25), 100),
        ("Asia/Kolkata", date(2026, 6, 1), 96),
        ("Australia/Lord_Howe", date(2026, 4, 5), 98),  # half an hour back
        ("America/New_York", date(2028, 2, 29), 96),
    ],
)
def test_steps_of_a_day(zone, day, steps):
    grid = grid_over(day, 2, ZoneInfo(zone))
    assert int((grid.day == 0).sum()) == steps
    assert int((grid.day == 1).sum()) == 96
    assert grid.moment(0).date() == day


def test_wall_clock_jumps_with_the_change():
    minutes = grid_over(date(2026, 3, 29), 1, BERLIN).minute
    assert list(minutes[7:9]) == [105, 180]


def test_midnight_after_a_day_is_the_next_days():
    assert at_local(date(2026, 5, 1), 1440, BERLIN) == at_local(date(2026, 5, 2), 0, BERLIN)


def test_a_moment_is_rounded_up_to_the_quarter_hour():
    moment = datetime(2026, 5, 1, 9, 1, tzinfo=BERLIN)
    assert round_up_to_step(moment) == datetime(2026, 5, 1, 9, 15, tzinfo=BERLIN)
    assert round_up_to_step(moment.replace(minute=15)) == moment.replace(minute=15)


def _site(**changes):
    return dataclasses.replace(bare_site(52, 13, "Europe/Berlin"), **changes)


def test_window_runs_from_first_crew_hour_to_the_next_days():
    window = window_for(_site(), date(2026, 5, 1), at_local(date(2026, 5, 1), 0, BERLIN))
    assert (window.start, window.end) == (
        at_local(date(2026, 5, 1), 390, BERLIN),
        at_local(date(2026, 5, 2), 390, BERLIN),
    )


def test_a_late_sheet_starts_now_and_days_off_stretch_it():
    friday = date(2026, 5, 1)
    site = _site(crew=(*((390, 1080),) * 5, None, None), days_off=frozenset({date(2026, 5, 4)}))
    window = window_for(site, friday, at_local(friday, 601, BERLIN))
    assert window.start == at_local(friday, 615, BERLIN)
    assert window.end == at_local(date(2026, 5, 5), 390, BERLIN)


def test_a_date_without_crew_has_no_window():
    day = date(2026, 5, 2)
    assert window_for(_site(days_off=frozenset({day})), day, at_local(day, 0, BERLIN)) is None


def test_a_clock_change_inside_the_window_makes_it_an_hour_longer():
    day = date(2026, 10, 24)
    window = window_for(_site(), day, at_local(day, 0, BERLIN))
    assert window.end.timestamp() - window.start.timestamp() == 25 * 3600
