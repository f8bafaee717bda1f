"""Prices by hour, day and month, and the hours that have none."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from lightplan.site.models import Rate
from lightplan.site.tariff import gaps, price_per_kwh

ALL_DAYS, ALL_MONTHS = frozenset(range(7)), frozenset(range(1, 13))


def painted(rates: list[Rate], month: int, weekday: int) -> list[float | None]:
    """Price of every minute of a day, row over row: the slow way, without the module's own arithmetic."""
    day: list[float | None] = [None] * 1440
    for rate in rates:
        if month in rate.months and weekday in rate.weekdays:
            minute = rate.from_min
            while True:
                day[minute % 1440] = rate.price
                minute += 1
                if minute % 1440 == rate.to_min % 1440:
                    break
    return day


QUARTERS = st.integers(0, 95).map(lambda quarter: quarter * 15)
ROWS = st.builds(
    Rate,
    from_min=QUARTERS,
    to_min=st.integers(1, 96).map(lambda quarter: quarter * 15),
    price=st.sampled_from([0.1, 0.2, 0.3]),
    weekdays=st.sampled_from([ALL_DAYS, frozenset(range(5)), frozenset({5, 6})]),
    months=st.sampled_from([ALL_MONTHS, frozenset({1, 2}), frozenset({7})]),
).filter(lambda rate: rate.from_min != rate.to_min)


@given(st.lists(ROWS, max_size=6), st.sampled_from([1, 7, 9]), st.integers(0, 6))
def test_prices_and_gaps_against_painting_every_minute(rates: list[Rate], month: int, weekday: int) -> None:
    day = painted(rates, month, weekday)
    for minute in range(0, 1440, 15):
        assert price_per_kwh(rates, month=month, weekday=weekday, minute=minute) == day[minute]
    unpriced = {
        minute
        for months, days, (start, end) in gaps(rates)
        if month in months and weekday in days
        for minute in range(start, end)
    }
    assert unpriced == {minute for minute, price in enumerate(day) if price is None}


def test_later_rows_win() -> None:
    day = Rate(0, 1440, 0.3, ALL_DAYS, ALL_MONTHS)
    night = Rate(1320, 360, 0.1, ALL_DAYS, ALL_MONTHS)
    at = {"month": 1, "weekday": 0}
    assert price_per_kwh([day, night], minute=0, **at) == 0.1
    assert price_per_kwh([night, day], minute=0, **at) == 0.3
    assert price_per_kwh([day, night], minute=360, **at) == 0.3  # the end is not part of it


def test_a_row_over_midnight_holds_on_its_own_days() -> None:
    """22:00 to 06:00 on Saturday covers Saturday's first six hours and its last two."""
    night = Rate(1320, 360, 0.1, frozenset({5}), ALL_MONTHS)
    assert price_per_kwh([night], month=1, weekday=5, minute=60) == 0.1
    assert price_per_kwh([night], month=1, weekday=6, minute=60) is None
