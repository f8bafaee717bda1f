"""What an inverted bench's plan asks of one date: its dark by day, and the lamps of the night after it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from lightplan.advice.inversion import Inversion
from lightplan.site.models import Cover, Span

DAY = 1440


@dataclass(frozen=True)
class TurnedDay:
    """One date. Minutes after its midnight, past 1440 on the next date.

    cover : the dark cover's span. shade : what lies over seedlings from the morning until the dark cover,
    on the way back; None: none. lamps : of the night that follows, None: none.
    looked_at : whether seedlings may show. back : number of the day on the way back, 0 before it.
    """

    cover: Span
    shade: Cover | None
    lamps: Span | None
    looked_at: bool
    back: int


def day_of(plan: Inversion, day: date) -> TurnedDay | None:
    """None before the sowing, and from the date on that is turned back."""
    if day < plan.sown or day >= plan.back[-1].day:
        return None
    schedule, emergence = plan.schedule, plan.emergence
    for number, turn in enumerate(plan.back, start=1):
        if turn.day == day:
            assert turn.cover is not None
            return TurnedDay(turn.cover, plan.shade, _night(turn.lamps, turn.cover), False, number)
    first = None if emergence is None else emergence.first
    lit = plan.seed.lit_from_sowing or (first is not None and day >= first)
    cover = (schedule.cover_on, schedule.cover_off)
    lamps = _night((schedule.lamps_on, schedule.lamps_off), cover) if lit else None
    return TurnedDay(cover, None, lamps, first is not None and day >= first, 0)


def _night(lamps: Span | None, cover: Span) -> Span | None:
    """Clock times of lamps as a span of the date whose cover came off before them."""
    if lamps is None:
        return None
    on = lamps[0] if lamps[0] >= cover[1] else lamps[0] + DAY
    return on, on + (lamps[1] - lamps[0]) % DAY
