"""One way to write an order; numbers are given once all of a sheet's are known."""

from __future__ import annotations

from datetime import datetime

from lightplan.advice.certainty import LIKELY, SURE
from lightplan.dayplan import Action, BenchDay, Certainty, Order, Reason, Sign

Where = tuple[str, str | None]  # house, and bench where it is not for all of the house


def new_order(
    where: Where,
    time: datetime,
    action: Action,
    why: Reason,
    *,
    until: datetime | None = None,
    odds: float | None = None,
    subject: str | None = None,
    sign: Sign | None = None,
) -> Order:
    """odds : None = it hangs on nothing, and is sure."""
    house, bench = where
    return Order(
        number=0,
        time=time,
        until=until,
        house=house,
        bench=bench,
        action=action,
        why=why,
        certainty=certainty(odds),
        odds=odds,
        subject=subject,
        sign=sign,
    )


def at_bench(day: BenchDay) -> Where:
    return day.bench.house, day.bench.id


def certainty(odds: float | None) -> Certainty:
    if odds is None or odds >= SURE:
        return Certainty.SURE
    return Certainty.LIKELY if odds >= LIKELY else Certainty.STAND_BY
