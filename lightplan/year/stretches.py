"""Months and weeks of a year's dates, as slices of its days."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

MONDAY = 0
NEAR_DAYS = 10  # days either side of a week that tell how far its days may differ, as for a typical year


@dataclass(frozen=True)
class Stretch:
    """Days that follow each other: `days` of the grid, from `first` to `last`, both included."""

    first: date
    last: date
    days: slice

    def __len__(self) -> int:
        return int(self.days.stop - self.days.start)


def months_of(dates: tuple[date, ...]) -> tuple[Stretch, ...]:
    return _cut(dates, [n for n, day in enumerate(dates) if n == 0 or day.day == 1])


def weeks_of(dates: tuple[date, ...]) -> tuple[Stretch, ...]:
    """Weeks that begin on Mondays, and the parts of weeks at both ends."""
    return _cut(dates, [n for n, day in enumerate(dates) if n == 0 or day.weekday() == MONDAY])


def _cut(dates: tuple[date, ...], firsts: list[int]) -> tuple[Stretch, ...]:
    return tuple(Stretch(dates[a], dates[b - 1], slice(a, b)) for a, b in pairwise([*firsts, len(dates)]))


def means(values: Array, stretches: tuple[Stretch, ...]) -> Array:
    """(stretches,) mean of each one's days."""
    return np.array([values[one.days].mean() for one in stretches])


def band(values: Array, week: Stretch, sample: Array | None = None) -> tuple[float, float]:
    """The 10 and 90 % points of the days of a week and of those within NEAR_DAYS of it.

    values : (days,). sample : (members, days) likely factors on days that do not differ by themselves.
    """
    near = slice(max(0, week.days.start - NEAR_DAYS), week.days.stop + NEAR_DAYS)
    likely = values[near] if sample is None else (values * sample)[:, near]
    low, high = np.quantile(likely, [0.1, 0.9])
    return float(low), float(high)


def same_days(dates: tuple[date, ...], week: Stretch) -> list[int]:
    """Numbers of another year's dates that fall into a week by month and day; 29 February is the 28th."""
    held = {_month_day(week.first + timedelta(days=n)) for n in range(len(week))}
    return [n for n, day in enumerate(dates) if _month_day(day) in held]


def _month_day(day: date) -> tuple[int, int]:
    return (2, 28) if (day.month, day.day) == (2, 29) else (day.month, day.day)
