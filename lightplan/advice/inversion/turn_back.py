"""When seedlings show, and the way back from dark days to light ones."""

from __future__ import annotations

from datetime import date, timedelta

from lightplan.advice.inversion.task import Emergence, Schedule, Seed, TurnDay
from lightplan.advice.inversion.ways import down_to_step
from lightplan.crops.emergence import days_to_emerge
from lightplan.site.models import Minutes, Span

TURN_DAYS = 5  # from the first lighter day to the first without a cover; judgement
DARK_H = 6.0  # unbroken, on each of them: the design's own default
WITHOUT_DAYS = 14  # to the turn-back where no days to emerge are known; judgement
DAY = 1440


def emergence_of(seed: Seed, sown: date, medium_c: float) -> Emergence | None:
    """First and last from the crop's table; most where its days are printed by temperature, else between.

    Days printed for a temperature outside the crop's usual ones make the first earlier or the last later.
    """
    if seed.days is None:
        return None
    low, high = seed.days
    printed = days_to_emerge(seed.crop, medium_c)
    most = (low + high) / 2 if printed is None else printed
    days = (min(low, most), most, max(high, most))
    return Emergence(*(sown + timedelta(days=round(n)) for n in days))


def turn_back(
    schedule: Schedule, start: date, sunrise_min: Minutes | None, *, by_hand: bool = False
) -> tuple[TurnDay, ...]:
    """The cover goes on later each morning, never off earlier; lamps stop earlier each night.

    So light grows from the dawn on, and the noon sun reaches only leaves that have had the morning's.
    Taking the cover off at noon would put them from the dark into it. sunrise_min : for the night's dark.
    by_hand : nobody is there to stop lamps by night: they burn through it while the day is dark enough.
    """
    found = []
    for n in range(1, TURN_DAYS + 1):
        part = n / TURN_DAYS
        on = down_to_step(schedule.cover_on + part * (schedule.cover_off - schedule.cover_on))
        cover = (on, schedule.cover_off) if n < TURN_DAYS else None
        lamps = _lamps(schedule, part, cover, sunrise_min) if n < TURN_DAYS else None
        if by_hand:
            lamps = (schedule.lamps_on, schedule.lamps_off) if _dark_enough(cover) else None
        found.append(TurnDay(start + timedelta(days=n - 1), cover, lamps))
    return tuple(found)


def _dark_enough(cover: Span | None) -> bool:
    return cover is not None and (cover[1] - cover[0]) / 60 >= DARK_H


def _lamps(schedule: Schedule, part: float, cover: Span | None, sunrise_min: Minutes | None) -> Span | None:
    """A night's lamps, shortened at their end; more where the day's dark no longer makes six hours."""
    hours = schedule.light_h * (1 - part)
    if not _dark_enough(cover):
        dawn = DAY + (schedule.cover_on if sunrise_min is None else sunrise_min)
        on = schedule.lamps_on if schedule.lamps_on >= schedule.cover_off else schedule.lamps_on + DAY
        hours = min(hours, (dawn - on) / 60 - DARK_H)
    end = down_to_step(hours * 60)
    return (schedule.lamps_on, (schedule.lamps_on + end) % DAY) if end > 0 else None
