"""The calendar to pin up: what is done on which day, from setting up to the last lighter day."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta

from lightplan.advice.inversion.task import Emergence, Remark, Schedule, Seed, TurnDay, remark

SET_UP_DAYS = 2  # a trial day before sowing: thermometer in the empty medium; judgement
WATCHED_DAYS = 3  # of the first covered days, on which the thermometer is read at uncovering; judgement


def calendar_of(
    seed: Seed,
    sown: date,
    *,
    schedule: Schedule,
    cover: str,
    shade: str | None,
    emergence: Emergence | None,
    back: Sequence[TurnDay],
) -> tuple[Remark, ...]:
    """cover, shade : by name, over it by day and, on the way back, in the sun (None: none)."""
    found = [*_before_sowing(seed, sown, schedule, cover), *_dark_days(seed, sown, schedule)]
    if emergence is not None:
        found += _emergence(seed, emergence, schedule)
    found += _back(back, shade)
    return tuple(found)


def _before_sowing(seed: Seed, sown: date, schedule: Schedule, cover: str) -> Iterator[Remark]:
    yield remark(
        "try-out",
        sown - timedelta(days=SET_UP_DAYS),
        cover=cover,
        on=schedule.cover_on,
        off=schedule.cover_off,
        limit=seed.limit_c,
    )
    yield remark("sow", sown, on=schedule.cover_on, after=schedule.cover_off, requirement=seed.requirement)
    if seed.lit_from_sowing:
        yield remark("lamps-begin", sown, on=schedule.lamps_on, off=schedule.lamps_off)


def _dark_days(seed: Seed, sown: date, schedule: Schedule) -> Iterator[Remark]:
    yield remark("dark-days", sown + timedelta(days=1), on=schedule.cover_on, off=schedule.cover_off)
    yield remark("watch", sown + timedelta(days=WATCHED_DAYS), limit=seed.limit_c)


def _emergence(seed: Seed, emergence: Emergence, schedule: Schedule) -> Iterator[Remark]:
    yield remark("look", emergence.first, on=schedule.cover_on, off=schedule.cover_off, last=emergence.last)
    if not seed.lit_from_sowing:
        yield remark("lamps-at-emergence", emergence.first, on=schedule.lamps_on, off=schedule.lamps_off)
    yield remark("most-up", emergence.most)
    yield remark("last-up", emergence.last)


def _back(back: Sequence[TurnDay], shade: str | None) -> Iterator[Remark]:
    for number, day in enumerate(back, start=1):
        if day.cover is None:
            yield remark("turned-back", day.day)
        else:
            yield remark("turn", day.day, number=number, cover=day.cover, lamps=day.lamps, shade=shade)
