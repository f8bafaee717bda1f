"""When to lay a dark cover on of an evening and take it off next morning, while somebody is there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from lightplan.advice.photoperiod.seen import Spans, longest_dark, seen_dark
from lightplan.clock import STEP_S
from lightplan.site.models import Cover

Array = NDArray[np.float64]

HALF_HOUR_S = 1800.0  # finer times are not kept by hand anyway
LONG_COVER_H = 15.0  # the longest that trials black out for (photoperiod_rules.csv blackout_hours, page)


@dataclass(frozen=True)
class BlackoutTask:
    """One bench and the night to come; instants in UTC seconds.

    night : the sun is down, for the cover's own class of crop. lit : other light by night, above a cover.
    covered : something dark lies there already.
    start, end : the noons between which the dark is counted. evening, morning : while hands are there today
    from now on, and on the next day with somebody; None where nobody comes in time.
    """

    night: Spans
    lit: Spans
    start: float
    end: float
    wanted_dark_h: float
    evening: tuple[float, float] | None
    morning: tuple[float, float] | None
    covered: Spans = ()


@dataclass(frozen=True)
class Blackout:
    """A cover's times. dark_h : the unbroken dark that they make."""

    on: float
    off: float
    dark_h: float


def cover_for_dark(covers: tuple[Cover, ...], *, where: str = "bench") -> Cover | None:
    """The dark cover that may lie by night and holds heat the least; of equal ones the darkest.

    All of them make it dark enough; boards and quilts are laid over grown plants only where there is nothing
    else.
    """
    fit = [c for c in covers if c.dark and c.night and c.where == where and _lasts(c)]
    return min(fit, key=lambda c: (c.r_m2k_w, c.transmittance[1], c.name), default=None)


def _lasts(cover: Cover) -> bool:
    return cover.life_h is None or cover.life_h >= LONG_COVER_H


def blackouts(task: BlackoutTask) -> tuple[Blackout, ...]:
    """For each time to lay it on, the earliest to take it off with which the dark is long enough.

    The latest on comes last. None where no pair of times will do.
    """
    if task.evening is None or task.morning is None:
        return ()
    found: dict[float, Blackout] = {}
    for on, off in product(_times(task.evening), _times(task.morning)):
        if on in found or off <= on:
            continue
        covered = ((on, off), *task.covered)
        a, b = longest_dark(seen_dark(task.night, covered=covered, lit=task.lit), task.start, task.end)
        if (b - a) / 3600 >= task.wanted_dark_h - 1e-9:
            found[on] = Blackout(on, off, (b - a) / 3600)
    return tuple(found[on] for on in sorted(found))


def shared(each: Sequence[tuple[Blackout, ...]]) -> tuple[Blackout, ...]:
    """Times of one cover over several benches, each of which has times of its own that will do.

    Off when the last of them may come out; dark_h : of the bench that has the least.
    """
    by_on = [{one.on: one for one in found} for found in each]
    common = set.intersection(*(set(found) for found in by_on)) if by_on else set()
    return tuple(
        Blackout(on, max(found[on].off for found in by_on), min(found[on].dark_h for found in by_on))
        for on in sorted(common)
    )


def _times(hands: tuple[float, float]) -> list[float]:
    """Half hours within the crew's time, its last moment too."""
    first = float(np.ceil(hands[0] / STEP_S) * STEP_S)
    times = np.arange(first, hands[1], HALF_HOUR_S).tolist()
    return [*times, hands[1]] if hands[1] >= hands[0] else []


def least_cost(candidates: tuple[Blackout, ...], over_minutes: Array, lost_mol: Array) -> int:
    """The one that is least hot over limits, then takes least light, then lies the shortest; its number."""
    hours = np.array([c.off - c.on for c in candidates])
    order = np.lexsort((hours, np.round(lost_mol, 2), over_minutes))
    return int(order[0])
