"""What became of an order, by its number on the day's sheet."""

from __future__ import annotations

from datetime import date, datetime

from lightplan.clock import at_local
from lightplan.problems import InputError
from lightplan.records_readings import New, OrderKept, orders_of, readings
from lightplan.site.models import Site


def order_done(
    site: Site, *, day: date, order: int, done: bool, at: datetime | None, now: datetime, first: bool = False
) -> tuple[New, str]:
    """What became of an order, and what it said. first : of the day's first sheet, not of its last.

    Raises InputError for an order that never was, or of which something is kept already. Raises RecordsError.
    """
    sheets = orders_of(site.folder, day, now)
    if not sheets:
        raise InputError(f"No sheet was made for {day}, so it has no order {order}; give the sheet's --date.")
    having = [sheet[order] for sheet in (sheets[:1] if first else sheets) if order in sheet]
    if not having:
        every = [number for sheet in sheets for number in sheet]
        has = f"its orders run from 1 to {max(every)}" if every else "it has none"
        raise InputError(f"The sheet of {day} never had an order number {order}; {has}.")
    kept = having[-1]
    place = (kept.house, kept.bench)
    for row in readings(site.folder):
        of_it = (row.kind, row.detail.get("day"), row.detail.get("order")) == ("done", day.isoformat(), order)
        if of_it and (row.house, row.bench, row.detail.get("action")) == (*place, kept.action):
            was = "done" if row.detail["done"] else "not done"
            raise InputError(
                f"Order {order} of {day} stands as {was} already (reading {row.number}); "
                "strike that one out first if it is wrong."
            )
    detail = {
        "day": day.isoformat(),
        "order": order,
        "done": done,
        "at": at.isoformat() if at else None,
        "action": kept.action,
    }
    new = New("done", at or at_local(day, 720, site.timezone), *place, detail)
    return new, _which(kept, sheets[0].get(order), site)


def _which(kept: OrderKept, of_first: OrderKept | None, site: Site) -> str:
    """What an order said; where the day's first sheet had another under its number, that too."""
    if of_first is None or of_first.what == kept.what:
        return kept.what
    first, last = (one.made_at.astimezone(site.timezone) for one in (of_first, kept))
    return (
        f"{kept.what} (on the sheet made at {last:%H:%M}; the one made at {first:%H:%M} had {of_first.what}: "
        "if you mean that one, strike this out and add --first)"
    )
