"""The clock times of an inverted bench: when it goes dark, when it opens, when its lamps burn.

In order through a day: lamps off and cooled, cover on, dark, cover off, tent open, lamps on. Lamps never
burn under insulation: a closed insulated tent with lamps gains tens of kelvin.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from lightplan.advice.inversion.task import Array, Mask, Place, Schedule, Seed
from lightplan.advice.inversion.ways import (
    LAST_ROUND_MIN,
    down_to_step,
    left_covered_c,
    up_to_step,
)
from lightplan.clock import STEP_MIN, STEP_S
from lightplan.site.models import Cover, Lamps, Minutes, Span

DAY = 1440
NOON = 720
AFTER_SUNRISE_MIN = 120  # a cover lies by then at the latest: the issue's own
TWELVE_H = 12.0  # of dark, and of light: common practice, no source
OPENING_MIN = STEP_MIN  # from cover off to lamps on: insulation off, tent open; judgement
NINE_IN_TEN = 0.9  # of the evenings on which house air has fallen below the bench's
LEAST_DARK_MIN = 60  # a crew that is there for less can't turn a bench round; judgement
LEAST_LIGHT_H = 4.0  # fewer lamp hours than this are no night of light; judgement


class NoNight(ValueError):
    """No lamp hours are left from cover off to cover on. Text: "cooling", "lamp_hours", "crew" or "hand"."""


@dataclass(frozen=True)
class Bounds:
    """What the days ask of the cover. latest_on : by sun and heat. passed : house air below the bench's."""

    latest_on: Minutes
    by_heat: bool
    passed: Minutes | None  # None: not before midnight on one evening in ten


def cooling_min(lamps: Lamps) -> int:
    """From lamps off to cover on: never less than a quarter hour, so that things go in their order."""
    return max(up_to_step(lamps.cooling_min), STEP_MIN)


def latest_cover_on(place: Place, seed: Seed, house_c: Array, dates: Sequence[int]) -> tuple[Minutes, bool]:
    """By when the cover lies on all these dates, and whether house air rather than the sun sets it.

    Of the mornings on which house air passes the limit, the earliest in ten is left to the thermometer.
    """
    by_sun = min(
        (at + AFTER_SUNRISE_MIN for n in dates if (at := place.sunrise_min[n]) is not None), default=NOON
    )
    passes = [_passes_at(place, seed, house_c, n) for n in dates]
    by_heat = float(np.quantile(passes, 1 - NINE_IN_TEN, method="lower"))
    return down_to_step(min(by_sun, by_heat, NOON)), by_heat < by_sun


def _passes_at(place: Place, seed: Seed, house_c: Array, date: int) -> Minutes:
    """When in the morning house air passes the limit; noon where it does not."""
    morning = (place.day == date) & (place.minute < NOON)
    minute, over = place.minute[morning], house_c[morning] > seed.limit_c
    if not over.any() or not over[-1]:
        return NOON
    under = np.flatnonzero(~over)
    return 0 if not len(under) else int(minute[under[-1]]) + STEP_MIN


def house_falls_below(place: Place, house_c: Array, medium_c: Array, dates: Sequence[int]) -> Minutes | None:
    """Clock time by which, on nine evenings in ten, house air has fallen below the covered bench's."""
    found = []
    for date in dates:
        afternoon = (place.day == date) & (place.minute >= NOON)
        minute, hotter = place.minute[afternoon], house_c[afternoon] > medium_c[afternoon]
        still = np.flatnonzero(hotter)
        found.append(NOON if not len(still) else int(minute[still[-1]]) + STEP_MIN)
    at = float(np.quantile(found, NINE_IN_TEN, method="higher"))
    return None if at >= DAY else up_to_step(at)


def sun_gone(place: Place, dates: Sequence[int]) -> Minutes:
    """Clock time by which, on nine evenings in ten, the sun no longer lights seed on the open bench."""
    found = []
    for date in dates:
        lit = (place.day == date) & (place.sun_ppfd >= place.bench.light_for_seed_ppfd_umol_m2_s)
        found.append(int(place.minute[lit].max()) + STEP_MIN if lit.any() else NOON)
    return int(np.quantile(found, NINE_IN_TEN, method="higher"))


def bounds_of(place: Place, seed: Seed, cover: Cover, dates: Sequence[int]) -> Bounds:
    """What the weather of these dates asks, the cover taken to lie from the crew's coming to midnight."""
    house_c, medium_c = left_covered_c(place, (place.crew[0], DAY), cover)
    latest, by_heat = latest_cover_on(place, seed, house_c, dates)
    return Bounds(latest, by_heat, house_falls_below(place, house_c, medium_c, dates))


def schedule_of(
    place: Place,
    bounds: Bounds,
    *,
    wanted_mol: float | None,
    sun_mol: Callable[[Span], float],
    dusk: Callable[[Minutes], Minutes],
) -> Schedule:
    """One schedule for all the dates.

    wanted_mol : DLI that the seedlings are to have. sun_mol : what the sun adds on a poor day outside a
    covered span. dusk : when, from a clock time on, the sun no longer lights the seed on the earliest day.
    Raises NoNight where too few lamp hours are left.
    """
    lamps = place.bench.lamps
    assert lamps is not None
    on, off = cover_times(place.crew, bounds, lamps)
    last_off = on - cooling_min(lamps)
    by_hand = lamps.switch == "hand"
    # by themselves before the crew comes: one pair on the dial, and none burns as the day begins
    last_off = max(last_off, place.crew[0]) if by_hand else min(last_off, place.crew[0])
    first_on = off + OPENING_MIN
    start, end = _longest_allowed(place.bench.lamp_hours, first_on, last_off + DAY)
    if off - on < LEAST_DARK_MIN:
        raise NoNight("crew")
    if end - start < LEAST_LIGHT_H * 60:
        raise NoNight("lamp_hours" if last_off + DAY - first_on >= LEAST_LIGHT_H * 60 else "cooling")
    if by_hand:  # somebody has to be there to switch
        if start > place.crew[1] or end % DAY < place.crew[0]:
            raise NoNight("hand")
        return Schedule(on, off, start % DAY, end % DAY)
    hours = TWELVE_H
    if wanted_mol is not None:
        lacking = max(0.0, wanted_mol - sun_mol((on, off)))
        hours = max(hours, lacking * 1e6 / 3600 / lamps.ppfd_now_umol_m2_s)
    by_light = down_to_step(end - hours * 60)
    begin = max(start, min(by_light, max(start, dusk(off))))
    return Schedule(on, off, begin % DAY, end % DAY)


def cover_times(crew: Span, bounds: Bounds, lamps: Lamps) -> Span:
    """Cover on and off, by hand in crew hours: twelve hours of dark where they allow it."""
    last = crew[1] - LAST_ROUND_MIN
    earliest = crew[0] + (cooling_min(lamps) if lamps.switch == "hand" else 0)
    twelve = int(TWELVE_H * 60)
    on = max(earliest, down_to_step(min(bounds.latest_on, last - twelve)))
    passed = DAY if bounds.passed is None else bounds.passed
    return on, down_to_step(min(last, max(on + twelve, passed)))


def _longest_allowed(spans: Sequence[Span], first: Minutes, last: Minutes) -> Span:
    """The longest stretch of lamp hours between two moments of a night (minutes, running past midnight)."""
    steps = np.arange(first, last, STEP_MIN)
    allowed: Mask = np.zeros(len(steps), dtype=bool)
    for start, end in spans:
        allowed |= (steps % DAY >= start) & (steps % DAY < end)
    best, run = (first, first), None
    for at, lit in [*zip(steps.tolist(), allowed.tolist(), strict=True), (last, False)]:
        if lit and run is None:
            run = at
        if not lit and run is not None:
            best = max(best, (run, at), key=lambda span: span[1] - span[0])
            run = None
    return best


def night_mol(schedule: Schedule, lamps: Lamps) -> float:
    """Light of one night's lamps [mol m⁻²]."""
    return schedule.light_h * 3600 * lamps.ppfd_now_umol_m2_s / 1e6


def night_cost(place: Place, schedule: Schedule, dates: tuple[int, int]) -> tuple[float, float | None]:
    """Energy of a night's lamps [kWh], and its mean cost over the dates; None without rates."""
    lamps = place.bench.lamps
    assert lamps is not None
    draw = lamps.power_kw * lamps.working
    kwh = draw * schedule.light_h
    if place.price is None:
        return kwh, None
    steps = place.of_days(*dates) & schedule.lit(place.minute)
    return kwh, kwh * float(np.mean(place.price[steps]))


def sun_outside_mol(place: Place, span: Span, dates: Sequence[int], share: float) -> float:
    """Sun at the bench outside a covered span, the point of the dates below which `share` of them lie."""
    free = ~((place.minute >= span[0]) & (place.minute < span[1]))
    sums = np.bincount(place.day, weights=place.sun_ppfd * free, minlength=len(place.dates)) * STEP_S / 1e6
    return float(np.quantile(sums[list(dates)], share))


def dusk_after(place: Place, start: Minutes, dates: Sequence[int]) -> Minutes:
    """When, on the dullest of the dates, the sun first stops lighting seed after a clock time."""
    seed_ppfd = place.bench.light_for_seed_ppfd_umol_m2_s
    on_dates = np.isin(place.day, list(dates)) & (place.minute >= start)
    dark = on_dates & (place.sun_ppfd < seed_ppfd)
    return int(place.minute[dark].min()) if dark.any() else DAY
