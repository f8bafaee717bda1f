"""Week by week: does the bench need turning round, and is that enough?"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from lightplan.advice.inversion.task import Advice, Array, Mask, Numbers, Place, Seed, Verdict, Way, Week
from lightplan.advice.inversion.ways import open_medium_c, shaded_medium_c, shades_of
from lightplan.clock import STEP_MIN, STEPS_PER_H
from lightplan.crops.emergence import share_that_comes_up

# The issue's own thresholds
LONG_MIN = 120  # over the limit for more than this makes a day too hot
NEEDED_OVER = 0.2  # of the days, open and under shade
ENOUGH_AT_MOST = 0.1  # of the days, turned round
WEEK = 7


@dataclass(frozen=True)
class Unturned:
    """Medium of a bench that is not turned round (steps,): open, and under each shade by its name."""

    open_c: Array
    shaded_c: tuple[tuple[str, Array], ...]

    @property
    def media_c(self) -> tuple[Array, ...]:
        return (self.open_c, *(medium for _, medium in self.shaded_c))


def unturned(place: Place, seed: Seed) -> Unturned:
    shades = tuple((shade.name, shaded_medium_c(place, seed, shade)) for shade in shades_of(place))
    return Unturned(open_medium_c(place, seed), shades)


def days_too_hot(place: Place, seed: Seed, medium_c: Array) -> Mask:
    """(days,) over the limit for more than two hours."""
    over = np.bincount(place.day, weights=medium_c > seed.limit_c, minlength=len(place.dates)) * STEP_MIN
    return np.asarray(over > LONG_MIN)


def way_of(place: Place, seed: Seed, medium_c: Array, first: int, last: int) -> Way:
    """Figures of the dates from one number to another, both included."""
    steps = place.of_days(first, last)
    medium, day, minute = medium_c[steps], place.day[steps] - first, place.minute[steps]
    days = last - first + 1
    peaks = np.array([medium[day == n].max() for n in range(days)])
    mean = float(medium.mean())
    by_hour = np.array([_spread(medium, day, minute // 60 == hour, days) for hour in range(24)])
    best = share_that_comes_up(seed.crop, mean)
    worst = share_that_comes_up(seed.crop, float(peaks.mean()))
    return Way(
        peak_c=float(medium.max()),
        hours_over=float((medium > seed.limit_c).sum()) / STEPS_PER_H,
        days_over=int(days_too_hot(place, seed, medium_c)[first : last + 1].sum()),
        days=days,
        mean_c=mean,
        by_hour_c=by_hour,
        comes_up=None if best is None or worst is None else (min(best, worst), max(best, worst)),
    )


def _spread(medium: Array, day: Numbers, hour: Mask, days: int) -> tuple[float, float, float]:
    """Mean, lowest and highest of the days' means at one clock hour (a day of 23 h lacks one)."""
    means = [medium[hour & (day == n)].mean() for n in range(days) if (hour & (day == n)).any()]
    return float(np.mean(means)), float(min(means)), float(max(means))


def weeks_of(
    place: Place, seed: Seed, kept: Unturned, inverted_c: Array, starts: Iterable[int]
) -> tuple[Week, ...]:
    """starts : numbers of the dates on which weeks begin."""
    found = []
    for start in starts:
        last = start + WEEK - 1
        ways = [(name, way_of(place, seed, medium, start, last)) for name, medium in kept.shaded_c]
        bare = way_of(place, seed, kept.open_c, start, last)
        name, shaded = min([(None, bare), *ways], key=lambda one: hotness(one[1]))
        turned = way_of(place, seed, inverted_c, start, last)
        found.append(Week(place.dates[start], bare, shaded, turned, name))
    return tuple(found)


def hotness(way: Way) -> tuple[int, float, float]:
    """Sorts the coolest first: fewest days over, then fewest hours, then the lowest peak."""
    return way.days_over, way.hours_over, way.peak_c


def too_often(way: Way) -> bool:
    return way.share_over > NEEDED_OVER


def verdict_on(weeks: Sequence[Week]) -> Verdict:
    needed = any(too_often(week.open) and too_often(week.shaded) for week in weeks)
    enough = all(week.inverted.share_over <= ENOUGH_AT_MOST for week in weeks)
    if needed:
        return Verdict(Advice.INVERT if enough else Advice.TOO_HOT, needed, enough)
    hot = any(too_often(week.open) for week in weeks)
    return Verdict(Advice.SHADE if hot else Advice.NOT_NEEDED, needed, enough)
