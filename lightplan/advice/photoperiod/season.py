"""Dates of the year on which the natural day crosses a length, and when to start and stop making another."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from lightplan.crops.day_length import DayKind

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Crossed:
    """dates : the first day beyond the length, each time. needed : (dates,) the natural day is on the wrong
    side, so a long day is to be made by lamps, or a short one by a dark cover.

    first, last : of the season in which it is made; over the year's end in winter; None where it never is.
    """

    dates: tuple[date, ...]
    needed: NDArray[np.bool_]
    first: date | None
    last: date | None

    @property
    def all_year(self) -> bool:
        return bool(self.needed.all())


def crossed(dates: Sequence[date], day_h: Array, *, kind: DayKind, critical_h: float) -> Crossed:
    """A year of natural days against one length, the year taken as a ring.

    day_h : (dates,) hours of day as plants see them. A long-day crop is short of day under `critical_h`, a
    short-day crop has too much of it over.
    """
    needed = day_h < critical_h if kind is DayKind.LONG else day_h > critical_h
    turns = np.flatnonzero(needed != np.roll(needed, 1))
    at = tuple(dates[int(n)] for n in turns)
    if not needed.any() or needed.all():
        bounds = (dates[0], dates[-1]) if needed.any() else (None, None)
        return Crossed((), needed, *bounds)
    begins = [int(n) for n in turns if needed[n]]
    lengths = [_run(needed, first) for first in begins]
    longest = int(np.argmax(lengths))
    first = begins[longest]
    return Crossed(at, needed, dates[first], dates[(first + lengths[longest] - 1) % len(dates)])


def _run(needed: NDArray[np.bool_], first: int) -> int:
    count = len(needed)
    length = 0
    while length < count and needed[(first + length) % count]:
        length += 1
    return length
