"""The day turned round: dark and insulated by day, open and lit by night, for seed that heat would stop.

`plan_inversion` is the whole of it: weather at one bench in, verdict, schedule, calendar out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from lightplan.advice.inversion import schedule as clock_times
from lightplan.advice.inversion.alternatives import alternatives_for, days_in_medium, first_that_works
from lightplan.advice.inversion.calendar import calendar_of
from lightplan.advice.inversion.conflicts import POOR_DAYS, Asked, conflicts_of, neighbours_lit
from lightplan.advice.inversion.schedule import Bounds, NoNight
from lightplan.advice.inversion.task import (
    Advice,
    Alternative,
    Array,
    Emergence,
    Place,
    Remark,
    Schedule,
    TurnDay,
    Verdict,
    Week,
    remark,
)
from lightplan.advice.inversion.turn_back import TURN_DAYS, WITHOUT_DAYS, emergence_of, turn_back
from lightplan.advice.inversion.ways import dark_covers_of, inverted_medium_c, shades_of
from lightplan.advice.inversion.weeks import (
    WEEK,
    Unturned,
    hotness,
    too_often,
    unturned,
    verdict_on,
    way_of,
    weeks_of,
)
from lightplan.crops.emergence import Seed
from lightplan.heat.covers import is_airy
from lightplan.site.models import Cover, Site

__all__ = ["Advice", "Inversion", "NoNight", "Place", "Schedule", "plan_inversion", "unturned"]


@dataclass(frozen=True)
class Inversion:
    """The plan of one bench. night_mol : of the lamps; sun_mol : what the sun adds on a poor day.

    sown : the sowing that the calendar tells, the first asked about that stays cool enough turned round; the
    first asked about where none does (works false). shade : over seedlings on the way back.
    house_peak_c : vents open.
    """

    place: Place
    seed: Seed
    asked: tuple[date, date]
    verdict: Verdict
    weeks: tuple[Week, ...]
    cover: Cover
    shade: Cover | None
    schedule: Schedule
    night_mol: float
    sun_mol: float
    night_kwh: float
    night_cost: float | None
    sown: date
    works: bool
    emergence: Emergence | None
    calendar: tuple[Remark, ...]
    back: tuple[TurnDay, ...]
    alternatives: tuple[Alternative, ...]
    conflicts: tuple[Remark, ...]
    house_peak_c: float


@dataclass(frozen=True)
class _Turned:
    """The bench turned round under one cover."""

    cover: Cover
    bounds: Bounds
    schedule: Schedule
    medium_c: Array


def plan_inversion(
    site: Site,
    place: Place,
    seed: Seed,
    *,
    first: int,
    last: int,
    wanted_mol: tuple[float, float] | None,
    others: Sequence[tuple[Place, Unturned, bool]] = (),
    heating_c: float | None = None,
    guessed: bool = False,
) -> Inversion:
    """first, last : numbers of the first and last sowing date asked about. wanted_mol : minimum and target
    of the seedlings. The bench must have lamps and a dark cover; raises NoNight where no night is left."""
    starts = range(first, last + 1, WEEK)
    until = starts[-1] + WEEK - 1
    kept = unturned(place, seed)
    lying = range(first, min(max(until, last + days_in_medium(seed)) + 1, len(place.dates)))
    turned = _best_turned(place, seed, range(first, until + 1), lying, wanted_mol)
    weeks = weeks_of(place, seed, kept, turned.medium_c, starts)
    verdict = verdict_on(weeks)
    works = first_that_works(place, seed, turned.medium_c, first)
    sow = first if works is None or works > last else works
    sown = place.dates[sow]
    emergence = emergence_of(seed, sown, _mean_while_in(place, seed, turned.medium_c, sow))
    ends = sown + timedelta(days=WITHOUT_DAYS) if emergence is None else emergence.last
    begins = min(sow + (ends - sown).days + 1, len(place.dates) - 1)
    lamps = place.bench.lamps
    assert lamps is not None
    back = turn_back(
        turned.schedule,
        ends + timedelta(days=1),
        place.sunrise_min[begins],
        by_hand=lamps.switch == "hand",
    )
    kwh, cost = clock_times.night_cost(place, turned.schedule, (first, until))
    span = (turned.schedule.cover_on, turned.schedule.cover_off)
    asked = Asked(
        crop=seed.crop,
        first=first,
        last=until,
        from_date=place.dates[first],
        until=place.dates[last] + timedelta(days=days_in_medium(seed) + TURN_DAYS),
    )
    conflicts = conflicts_of(
        site,
        place,
        seed,
        asked,
        schedule=turned.schedule,
        bounds=turned.bounds,
        cover=turned.cover,
        weeks=weeks,
        wanted_mol=wanted_mol,
        heating_c=heating_c,
        guessed=guessed,
    )
    dark = np.zeros(len(place.minute), dtype=bool)
    shade = _shade_after(place)
    return Inversion(
        place=place,
        seed=seed,
        asked=(place.dates[first], place.dates[last]),
        verdict=verdict,
        weeks=weeks,
        cover=turned.cover,
        shade=shade,
        schedule=turned.schedule,
        night_mol=clock_times.night_mol(turned.schedule, lamps),
        sun_mol=clock_times.sun_outside_mol(place, span, asked.dates, POOR_DAYS),
        night_kwh=kwh,
        night_cost=cost,
        sown=sown,
        works=works is not None and works <= last,
        emergence=emergence,
        calendar=calendar_of(
            seed,
            sown,
            schedule=turned.schedule,
            cover=turned.cover.name,
            shade=None if shade is None else shade.name,
            emergence=emergence,
            back=back,
            beside=tuple(neighbours_lit(site, place, asked)),
            vents=verdict.advice is not Advice.NOT_NEEDED,
        ),
        back=back,
        alternatives=alternatives_for(
            place,
            seed,
            verdict.advice,
            kept=kept,
            inverted_c=turned.medium_c,
            shaded_too=_shaded_too(place, turned, verdict),
            first=first,
            last=until,
            others=others,
        ),
        conflicts=(*conflicts, *_after_the_span(place, seed, kept, verdict, last, until)),
        house_peak_c=float(place.house_air(dark, None, dark)[place.of_days(first, until)].max()),
    )


def _best_turned(
    place: Place, seed: Seed, dates: range, lying: range, wanted_mol: tuple[float, float] | None
) -> _Turned:
    """Under the dark cover that keeps the medium coolest over all the dates asked about.

    lying : until the last sowing is up; covers go on and come off as all of these days ask.
    """
    found = []
    for cover in dark_covers_of(place):
        bounds = clock_times.bounds_of(place, seed, cover, lying)
        schedule = clock_times.schedule_of(
            place,
            bounds,
            wanted_mol=None if wanted_mol is None else wanted_mol[1],
            sun_mol=lambda span: clock_times.sun_outside_mol(place, span, dates, POOR_DAYS),
            dusk=lambda start: clock_times.dusk_after(place, start, dates),
        )
        medium = inverted_medium_c(place, schedule, cover)
        found.append(_Turned(cover, bounds, schedule, medium))
    return min(found, key=lambda one: hotness(way_of(place, seed, one.medium_c, dates[0], dates[-1])))


def _shade_after(place: Place) -> Cover | None:
    """The densest shade that may lie over seedlings on the way back: one that lets air through."""
    over_bench = [shade for shade in shades_of(place) if shade.where == "bench" and is_airy(shade)]
    return min(over_bench, key=lambda shade: shade.transmittance[1], default=None)


def _shaded_too(place: Place, turned: _Turned, verdict: Verdict) -> tuple[tuple[str, Array], ...]:
    """Turned round under each shade that can be drawn over the house as well."""
    if not verdict.needed:
        return ()
    return tuple(
        (shade.name, inverted_medium_c(place, turned.schedule, turned.cover, over_house=shade))
        for shade in place.house_covers
        if not shade.dark
    )


def _mean_while_in(place: Place, seed: Seed, medium_c: Array, sow: int) -> float:
    last = min(sow + days_in_medium(seed), len(place.dates)) - 1
    return float(medium_c[place.of_days(sow, last)].mean())


def _after_the_span(
    place: Place, seed: Seed, kept: Unturned, verdict: Verdict, last: int, until: int
) -> tuple[Remark, ...]:
    """Seed of the last sowing lies in the medium past the weeks told: said where those days are too hot."""
    end = last + days_in_medium(seed) - 1
    if verdict.needed or end <= until or end >= len(place.dates):
        return ()
    if not all(too_often(way_of(place, seed, medium, last, end)) for medium in kept.media_c):
        return ()
    return (remark("hot-later", sown=place.dates[last], up=place.dates[end]),)
