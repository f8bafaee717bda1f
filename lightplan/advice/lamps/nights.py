"""Nights between daylight: how far lamps may reach into them, and how much dark must stay.

Lamp time and daylight form one stretch, so what is lit of a night is a piece that begins at dusk and a
piece that ends at dawn, and the dark between them is unbroken.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import takewhile

import numpy as np

from lightplan.advice.lamps.horizon import Horizon
from lightplan.advice.lamps.runs import runs
from lightplan.advice.lamps.task import Array, Mask
from lightplan.clock import STEPS_PER_H

DAY_H = 24.0
WHOLE = 1 - 1e-9  # daylight share of a step that is all day


@dataclass(frozen=True)
class Night:
    """The steps first..end (not included) between two days.

    evening : steps from dusk on, in order, that one run may reach; morning : the same from dawn back.

    spare_h : how much of the dark the lamps may take; None = no dark is asked.
    wanted_h : how much of it they are to take for a crop that wants a long day; None = no matter.
    burning : lamps burn towards dawn since before the window; they go on to it or end where it begins.
    """

    first: int
    end: int
    evening: tuple[int, ...]
    morning: tuple[int, ...]
    spare_h: float | None
    wanted_h: float | None
    burning: bool


def one_stretch_days(horizon: Horizon) -> Mask:
    """(days,) days on which plants, not only seed, stand on the bench."""
    return np.array([n is not None and n.target is not None for n in horizon.needs])


def darkness_h(horizon: Horizon) -> Array:
    """Dark hours [h] that a lamp on each step takes away; none where only seed stands."""
    dark = (1 - horizon.task.daylight[: len(horizon)]) / STEPS_PER_H
    return np.asarray(dark * one_stretch_days(horizon)[horizon.day])


def daylight_steps(horizon: Horizon) -> Mask:
    """Steps that are all day, and those that stand for it on a day without."""
    return np.asarray((horizon.task.daylight[: len(horizon)] >= WHOLE) | anchors(horizon))


def nights_of(horizon: Horizon) -> tuple[Night, ...]:
    held = one_stretch_days(horizon)[horizon.day]
    light = daylight_steps(horizon)
    return tuple(_night(horizon, first, end, held, light) for first, end in runs(~light))


def near_end(horizon: Horizon) -> int:
    """The step up to which hours are laid out: the window's end, and to dawn where it ends by night."""
    for night in nights_of(horizon):
        if night.first < horizon.stop < night.end:
            return night.end
    return min(horizon.stop, len(horizon))


def anchors(horizon: Horizon) -> Mask:
    """The one step around which lamp time gathers on a day without daylight (polar night, a dark cover)."""
    found = np.zeros(len(horizon), dtype=bool)
    for number in range(horizon.days):
        today = horizon.day == number
        if (horizon.task.daylight[: len(horizon)][today] >= WHOLE).any():
            continue
        usable = runs(today & (horizon.may | horizon.past))
        if usable:
            first, end = max(usable, key=lambda run: run[1] - run[0])
            found[(first + end) // 2] = True
    return found


def _night(horizon: Horizon, first: int, end: int, held: Mask, light: Mask) -> Night:
    start = horizon.start
    reachable = (horizon.may | horizon.must) & held
    lit_until_now = bool(horizon.past[first:start].all()) if first < start else first > 0
    evening = _while(reachable, range(max(first, start), end)) if lit_until_now else ()
    morning = _while(reachable, range(end - 1, max(first, start) - 1, -1)) if end < len(horizon) else ()
    began = first < start < end and bool(horizon.past[start - 1])
    burning = began and not lit_until_now and start in morning
    spare_h = _spare_h(horizon, first, end, light)
    if burning and spare_h is not None:
        spare_h = max(spare_h, float(darkness_h(horizon)[list(morning)].sum()))
    wanted_h = _wanted_h(horizon, first, end, light=light, burning=burning)
    if wanted_h is not None and spare_h is not None:
        wanted_h = min(wanted_h, spare_h)
    return Night(first, end, evening, morning, spare_h, wanted_h, burning)


def _wanted_h(horizon: Horizon, first: int, end: int, *, light: Mask, burning: bool) -> float | None:
    """Of a night that this sheet or one before it can draw in, and that is not broken in its middle."""
    long_day, broken = horizon.task.long_day, horizon.task.night_break
    begins = first > 0 and horizon.start <= first < horizon.stop  # at 0: last evening's sheet had it
    if long_day is None or not (begins or burning) or (broken is not None and broken[first:end].any()):
        return None
    natural, taken = _dark_h(horizon, first, end, light)
    wanted = natural - taken - (DAY_H - long_day.wanted_h)
    return wanted if wanted > 0 else None


def _while(reachable: Mask, steps: Iterable[int]) -> tuple[int, ...]:
    return tuple(takewhile(lambda step: bool(reachable[step]), steps))


def _spare_h(horizon: Horizon, first: int, end: int, light: Mask) -> float | None:
    asked = max(
        (n.dark_h for n in horizon.needs[horizon.day[first] : horizon.day[end - 1] + 1] if n), default=0.0
    )
    broken = horizon.task.night_break is not None and horizon.task.night_break[first:end].any()
    if asked <= 0 or broken:
        return None
    natural, taken = _dark_h(horizon, first, end, light)
    return max(0.0, natural - asked - taken)


def _dark_h(horizon: Horizon, first: int, end: int, light: Mask) -> tuple[float, float]:
    """Hours of a night that are dark by nature, and what of them lamps take whatever is planned."""
    dark = darkness_h(horizon)
    taken = float(dark[first:end][(horizon.past | horizon.must)[first:end]].sum())
    natural = float(dark[first:end].sum())
    if first == 0:
        natural += _before_midnight_h(horizon, dark, light)
    if end == len(horizon):
        natural += _after_end_h(horizon, dark, light)
    return natural, taken


def _before_midnight_h(horizon: Horizon, dark: Array, light: Mask) -> float:
    """Dark of yesterday evening: that of the first day's evening less what yesterday's lamps took."""
    today = np.flatnonzero(horizon.day == 0)
    evening = today[today > max(today[light[today]], default=-1)]
    lit = np.zeros(len(horizon), dtype=bool)
    for on, off in horizon.task.yesterday:
        lit |= (horizon.minute >= on) & (horizon.minute < off)
    return float(dark[evening][~lit[evening]].sum())


def _after_end_h(horizon: Horizon, dark: Array, light: Mask) -> float:
    """Dark of the morning after the horizon: that of its last morning."""
    last = np.flatnonzero(horizon.day == horizon.days - 1)
    lit = last[light[last]]
    return float(dark[last[last < lit[0]]].sum()) if len(lit) else 0.0


def within_reach(horizon: Horizon, day: int, *, dark: bool) -> int:
    """Steps of a day that one stretch with the daylight can reach, at most as many as the dark leaves."""
    today = (horizon.day == day) & horizon.may
    free = daylight_steps(horizon) | ~one_stretch_days(horizon)[horizon.day]
    count = int((today & free).sum() + (horizon.past & (horizon.day == day)).sum())
    darkness = darkness_h(horizon)
    for night in nights_of(horizon):
        reached = np.zeros(len(horizon), dtype=bool)
        reached[[*night.evening, *night.morning]] = True
        steps = np.flatnonzero(reached & today & ~free)
        if dark and night.spare_h is not None and len(steps):
            taken = np.cumsum(np.sort(darkness[steps]))
            count += int((taken <= night.spare_h + 1e-9).sum())
        else:
            count += len(steps)
    return count
