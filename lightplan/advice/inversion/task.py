"""What planning an inverted bench is asked, and the records that come out of it.

Clock times are minutes after local midnight. Arrays (steps,) lie on one grid of quarter hours.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from enum import Enum

import numpy as np
from numpy.typing import NDArray

from lightplan.crops.emergence import Seed
from lightplan.heat.runs import BenchHeat
from lightplan.site.models import Bench, Cover, Minutes, Span

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
Numbers = NDArray[np.int64]

# House air (steps,) with this bench's lamps lit so, and a cover drawn over the house so (None = nothing)
HouseAir = Callable[[Mask, Cover | None, Mask], Array]


@dataclass(frozen=True)
class Place:
    """A bench to germinate on and the weather it meets.

    dates, day, minute : of the grid. sun_ppfd : at the bench with its tent rolled back. crew : usual hours.
    sunrise_min : of each date, None where the sun does not rise. price : per kWh, None without rates.
    """

    bench: Bench
    dates: tuple[date, ...]
    day: Numbers
    minute: Numbers
    house_air: HouseAir
    house_covers: tuple[Cover, ...]
    heat: BenchHeat
    sun_ppfd: Array
    crew: Span
    sunrise_min: tuple[Minutes | None, ...]
    price: Array | None = None

    def of_days(self, first: int, last: int) -> Mask:
        """Steps of the dates from one number to another, both included."""
        return (self.day >= first) & (self.day <= last)


@dataclass(frozen=True)
class Schedule:
    """One day of an inverted bench, from first emergence on. light_h : of the lamps."""

    cover_on: Minutes
    cover_off: Minutes
    lamps_on: Minutes
    lamps_off: Minutes

    @property
    def dark_h(self) -> float:
        return (self.cover_off - self.cover_on) / 60

    @property
    def light_h(self) -> float:
        return ((self.lamps_off - self.lamps_on) % 1440) / 60

    def lit(self, minute: Numbers) -> Mask:
        return within(minute, self.lamps_on, self.lamps_off)

    def covered(self, minute: Numbers) -> Mask:
        return within(minute, self.cover_on, self.cover_off)


def within(minute: Numbers, start: Minutes, end: Minutes) -> Mask:
    """Which clock times lie from one to another, which may be past midnight."""
    if start <= end:
        return (minute >= start) & (minute < end)
    return (minute >= start) | (minute < end)


@dataclass(frozen=True)
class Way:
    """A week of the medium under one way to keep the bench.

    hours_over : of the week, over the seed's limit. days_over : of its days, over it for more than two
    hours. by_hour_c : (24, 3) mean, lowest and highest of the week's days at each clock hour.
    comes_up : share of seed, at the mean of the days' peaks and at the mean; None where none is printed.
    """

    peak_c: float
    hours_over: float
    days_over: int
    days: int
    mean_c: float
    by_hour_c: Array
    comes_up: tuple[float, float] | None

    @property
    def share_over(self) -> float:
        return self.days_over / self.days


@dataclass(frozen=True)
class Week:
    start: date
    open: Way
    shaded: Way
    inverted: Way
    shade: str | None  # the cover that shades best that week; None: the bench has none


class Advice(Enum):
    NOT_NEEDED = "not-needed"
    SHADE = "shade-is-enough"
    INVERT = "invert"
    TOO_HOT = "too-hot-either-way"


@dataclass(frozen=True)
class Verdict:
    advice: Advice
    needed: bool
    enough: bool


@dataclass(frozen=True)
class Emergence:
    first: date
    most: date
    last: date


@dataclass(frozen=True)
class TurnDay:
    """A day on the way back. None: no cover any more, no lamps any more."""

    day: date
    cover: Span | None
    lamps: Span | None  # may end past midnight: then its end is the smaller


@dataclass(frozen=True)
class Remark:
    """A slug that `report` has words for, and the values in it; for conflicts and calendar entries."""

    slug: str
    values: tuple[tuple[str, object], ...] = ()
    day: date | None = None


def remark(slug: str, day: date | None = None, **values: object) -> Remark:
    return Remark(slug, tuple(values.items()), day)


@dataclass(frozen=True)
class Alternative:
    """Another way out, with its figures over the days it speaks of (None where they do not apply)."""

    kind: str  # wait | invert-later | house-shade | other-bench | cool-room
    sow: date | None = None
    bench: str | None = None
    house: str | None = None
    peak_c: float | None = None
    hours_over: float | None = None
    days_over: int | None = None
    days: int | None = None
    comes_up: float | None = None
    busy: bool = False
    cover: str | None = None  # drawn over the whole house while the bench is dark


__all__ = [
    "Advice",
    "Alternative",
    "Emergence",
    "Place",
    "Remark",
    "Schedule",
    "Seed",
    "TurnDay",
    "Verdict",
    "Way",
    "Week",
    "remark",
    "within",
]
