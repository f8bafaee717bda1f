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
    beside: Sequence[Remark],
    vents: bool,
) -> tuple[Remark, ...]:
    """cover, shade : by name, over it by day and, on the way back, in the sun (None: none).

    beside : what neighbours suffer from the first night with lamps on. vents : whether it is hot enough for
    them to stay open by night.
    """
    from_sowing = seed.lit_from_sowing or emergence is None
    found = [
        *_before_sowing(seed, sown, schedule, cover, vents),
        *(_lit(sown, "lamps-begin", schedule, beside) if from_sowing else ()),
        *_dark_days(seed, sown, schedule),
    ]
    if emergence is not None:
        later = () if from_sowing else _lit(emergence.first, "lamps-at-emergence", schedule, beside)
        found += [*_looks(emergence, schedule), *later, *_up(emergence)]
    found += _back(back, shade)
    return tuple(found)


def _before_sowing(seed: Seed, sown: date, schedule: Schedule, cover: str, vents: bool) -> Iterator[Remark]:
    yield remark(
        "try-out",
        sown - timedelta(days=SET_UP_DAYS),
        cover=cover,
        on=schedule.cover_on,
        off=schedule.cover_off,
        limit=seed.limit_c,
        vents=vents,
    )
    yield remark("sow", sown, on=schedule.cover_on, after=schedule.cover_off, requirement=seed.requirement)


def _lit(day: date, slug: str, schedule: Schedule, beside: Sequence[Remark]) -> Iterator[Remark]:
    if beside:
        yield remark("neighbours", day, each=tuple(dict(one.values) for one in beside))
    yield remark(slug, day, on=schedule.lamps_on, off=schedule.lamps_off)


def _dark_days(seed: Seed, sown: date, schedule: Schedule) -> Iterator[Remark]:
    yield remark("dark-days", sown + timedelta(days=1), on=schedule.cover_on, off=schedule.cover_off)
    yield remark("watch", sown + timedelta(days=WATCHED_DAYS), limit=seed.limit_c)


def _looks(emergence: Emergence, schedule: Schedule) -> Iterator[Remark]:
    yield remark("look", emergence.first, on=schedule.cover_on, off=schedule.cover_off, last=emergence.last)


def _up(emergence: Emergence) -> Iterator[Remark]:
    yield remark("most-up", emergence.most, last=emergence.most == emergence.last)
    if emergence.most < emergence.last:
        yield remark("last-up", emergence.last)


def _back(back: Sequence[TurnDay], shade: str | None) -> Iterator[Remark]:
    for number, day in enumerate(back, start=1):
        if day.cover is None:
            yield remark("turned-back", day.day)
        else:
            yield remark("turn", day.day, number=number, cover=day.cover, lamps=day.lamps, shade=shade)
