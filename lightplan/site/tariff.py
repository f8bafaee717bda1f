"""The price of a kWh by month, day of the week and clock time.

A row holds on its own days: one over midnight, such as 22:00 to 06:00 on `sat`, covers Saturday's
first six hours and Saturday's last two.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from lightplan.site.models import Minutes, Rate, Span

DAY_MIN = 1440


def price_per_kwh(rates: Iterable[Rate], *, month: int, weekday: int, minute: Minutes) -> float | None:
    """The price at a clock time (Monday = 0); later rows win. None where no row covers it."""
    price = None
    for rate in rates:
        if month in rate.months and weekday in rate.weekdays and _covers(rate, minute):
            price = rate.price
    return price


def _covers(rate: Rate, minute: Minutes) -> bool:
    if rate.from_min < rate.to_min:
        return rate.from_min <= minute < rate.to_min
    return minute >= rate.from_min or minute < rate.to_min


def spans_of(rate: Rate) -> tuple[Span, ...]:
    """Hours of a rate within one day."""
    if rate.from_min < rate.to_min:
        return ((rate.from_min, rate.to_min),)
    return ((rate.from_min, DAY_MIN), (0, rate.to_min))


def gaps(rates: Iterable[Rate]) -> Iterator[tuple[frozenset[int], frozenset[int], Span]]:
    """(months, weekdays, hours) that no row covers, those alike put together."""
    rates = tuple(rates)
    days_by_hours: dict[tuple[int, Span], set[int]] = {}
    for month in range(1, 13):
        for weekday in range(7):
            for span in _uncovered(
                rate for rate in rates if month in rate.months and weekday in rate.weekdays
            ):
                days_by_hours.setdefault((month, span), set()).add(weekday)
    months_by_days: dict[tuple[frozenset[int], Span], set[int]] = {}
    for (month, span), weekdays in days_by_hours.items():
        months_by_days.setdefault((frozenset(weekdays), span), set()).add(month)
    for (days, span), months in months_by_days.items():
        yield frozenset(months), days, span


def _uncovered(rates: Iterable[Rate]) -> Iterator[Span]:
    reached = 0
    for start, end in sorted(span for rate in rates for span in spans_of(rate)):
        if start > reached:
            yield reached, start
        reached = max(reached, end)
    if reached < DAY_MIN:
        yield reached, DAY_MIN
