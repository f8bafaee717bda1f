"""What stands in the way of an inverted bench, and what it costs: told beside the plan, never hidden."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from lightplan.advice.inversion.schedule import OPENING_MIN, Bounds, night_mol, sun_gone, sun_outside_mol
from lightplan.advice.inversion.task import Place, Remark, Schedule, Seed, Week, remark
from lightplan.advice.inversion.ways import inverted_medium_c, shades_of
from lightplan.advice.inversion.weeks import way_of
from lightplan.crops.limits import upper_ppfd
from lightplan.crops.needs import LIGHT_FROM_SOWING
from lightplan.crops.rows import light_row
from lightplan.site.models import Cover, Site

LITTLE_K = 0.5  # a cost below this is not worth a line; judgement
POOR_DAYS, BRIGHT_DAYS = 0.1, 0.9


@dataclass(frozen=True)
class Asked:
    """first, last : numbers of the dates that the weeks span; until : the date when all is turned back."""

    crop: str
    first: int
    last: int
    from_date: date
    until: date

    @property
    def dates(self) -> range:
        return range(self.first, self.last + 1)


def conflicts_of(
    site: Site,
    place: Place,
    seed: Seed,
    asked: Asked,
    *,
    schedule: Schedule,
    bounds: Bounds,
    cover: Cover,
    weeks: Sequence[Week],
    wanted_mol: tuple[float, float] | None,
    heating_c: float | None,
    guessed: bool,
) -> tuple[Remark, ...]:
    """wanted_mol : minimum and target of the seedlings. heating_c : what the bench is heated to, where that
    is too warm for the seed. guessed : whether air temperature is no more than a guess."""
    return (
        *_taken(place, asked),
        *_of_cover(place, seed, asked, schedule, bounds, cover),
        *_of_crew(site, place, asked),
        *_of_light(place, seed, asked, schedule, wanted_mol),
        *neighbours_lit(site, place, asked),
        *_of_power(site, place, schedule),
        *_of_tent(place),
        *_of_seed(place, seed, weeks, heating_c, guessed),
    )


def _taken(place: Place, asked: Asked) -> Iterator[Remark]:
    for batch in place.bench.batches:
        if batch.from_date <= asked.until and batch.to_date >= asked.from_date:
            yield remark(
                "batch-there",
                crop=batch.crop,
                stage=batch.stage,
                first=batch.from_date,
                last=batch.to_date,
            )


def _of_cover(
    place: Place, seed: Seed, asked: Asked, schedule: Schedule, bounds: Bounds, cover: Cover
) -> Iterator[Remark]:
    if schedule.cover_on > bounds.latest_on:
        yield remark("covered-late", on=schedule.cover_on, latest=bounds.latest_on, by_heat=bounds.by_heat)
    passed = bounds.passed if bounds.passed is not None else 1440
    best = max(passed, sun_gone(place, asked.dates))
    if best > schedule.cover_off:
        now, then = (
            way_of(place, seed, inverted_medium_c(place, one, cover), asked.first, asked.last)
            for one in (schedule, _kept_till(schedule, best))
        )
        if now.peak_c - then.peak_c >= LITTLE_K or now.days_over > then.days_over:
            yield remark(
                "uncovered-early",
                off=schedule.cover_off,
                passed=bounds.passed,
                until=best,
                peak_c=now.peak_c,
                then_c=then.peak_c,
                days_over=now.days_over,
                then_days=then.days_over,
                days=now.days,
            )
    if cover.life_h is not None and cover.life_h < schedule.dark_h:
        yield remark("cover-life", cover=cover.name, life_h=cover.life_h, dark_h=schedule.dark_h)


def _kept_till(schedule: Schedule, passed: int) -> Schedule:
    """The same day with the cover left on until the sun is off a bench that the house cools, then lamps."""
    night = min(passed, 1440 - OPENING_MIN)
    evening = schedule.lamps_on > schedule.cover_on
    begins = max(schedule.lamps_on, night + OPENING_MIN) if evening else schedule.lamps_on
    return Schedule(schedule.cover_on, night, begins % 1440, schedule.lamps_off)


def _of_crew(site: Site, place: Place, asked: Asked) -> Iterator[Remark]:
    """Days of the week, and single days off, on which nobody is there at the usual hours."""
    dates = [day for day in place.dates if asked.from_date <= day <= asked.until]
    weekdays = sorted({day.weekday() for day in dates})
    for weekday in weekdays:
        hours = site.crew[weekday]
        if hours is None or hours[0] > place.crew[0] or hours[1] < place.crew[1]:
            yield remark("crew-away", weekday=weekday, hours=hours, usual=place.crew)
    off = tuple(day for day in dates if day in site.days_off)
    if off:
        yield remark("days-off", dates=off)


def _of_light(
    place: Place, seed: Seed, asked: Asked, schedule: Schedule, wanted_mol: tuple[float, float] | None
) -> Iterator[Remark]:
    lamps = place.bench.lamps
    assert lamps is not None
    span = (schedule.cover_on, schedule.cover_off)
    mol = night_mol(schedule, lamps)
    sun = sun_outside_mol(place, span, asked.dates, POOR_DAYS)
    if wanted_mol is not None and mol + sun < wanted_mol[0]:
        yield remark("light-short", mol=mol, sun=sun, minimum=wanted_mol[0])
    weak, wanted = lamps.ppfd_now_umol_m2_s, place.bench.light_for_seed_ppfd_umol_m2_s
    if seed.requirement in LIGHT_FROM_SOWING and weak < wanted:
        yield remark("weak-for-seed", ppfd=weak, wanted=wanted)
    limit = upper_ppfd(asked.crop, "stage_2")
    opened = (
        (place.minute >= schedule.cover_off)
        & (place.minute < schedule.cover_off + 60)
        & place.of_days(asked.first, asked.last)
    )
    bright = float(np.quantile(place.sun_ppfd[opened], BRIGHT_DAYS)) if opened.any() else 0.0
    if limit is not None and bright > limit:
        yield remark("evening-sun", ppfd=bright, limit=limit, off=schedule.cover_off)


def neighbours_lit(site: Site, place: Place, asked: Asked) -> Iterator[Remark]:
    """Night light on short-day crops under the same roof."""
    for bench in site.benches:
        if bench.id == place.bench.id or bench.house != place.bench.house:
            continue
        crops = {
            batch.crop
            for batch in bench.batches
            if batch.from_date <= asked.until and batch.to_date >= asked.from_date
        }
        for crop in sorted(crops):
            row = light_row(crop)
            if row is not None and "short_day" in row["photoperiod_class"]:
                yield remark("night-light", bench=bench.name, crop=crop)


def _of_power(site: Site, place: Place, schedule: Schedule) -> Iterator[Remark]:
    most = None if site.power is None else site.power.lamps_kw_at_most
    lamps = place.bench.lamps
    assert lamps is not None
    if most is None:
        return
    draw = lamps.power_kw * lamps.working
    others = [b for b in site.benches if b.id != place.bench.id and b.lamps is not None]
    beside = sum(b.lamps.power_kw * b.lamps.working for b in others if b.lamps)
    if draw > most:
        yield remark("over-capacity", draw=draw, most=most)
    elif draw + beside > most:
        yield remark("shared-capacity", draw=draw, beside=beside, most=most, on=schedule.lamps_on)


def _of_tent(place: Place) -> Iterator[Remark]:
    if place.bench.tent is not None and not place.bench.tent_opens:
        yield remark("tent-fixed")


def _of_seed(
    place: Place, seed: Seed, weeks: Sequence[Week], heating_c: float | None, guessed: bool
) -> Iterator[Remark]:
    if heating_c is not None:
        yield remark("heating-too-warm", heat_to=heating_c, limit=seed.limit_c)
    if seed.optimum_c is None and seed.mark != "site file":
        yield remark("limit-unknown", limit=seed.limit_c)
    if not shades_of(place):
        yield remark("no-shade")
    if guessed:
        yield remark("weather-guessed")
