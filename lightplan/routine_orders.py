"""Orders that follow from what stands on a bench and what is done to it: look for seedlings, check water."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

from lightplan.clock import Window, at_local
from lightplan.crops.needs import emergence_window
from lightplan.dayplan import Action, BenchDay, Order, Reason
from lightplan.new_order import at_bench, new_order
from lightplan.site.models import Site, Stage

LOOK_AGAIN_MIN = 15 * 60  # the second look for seedlings, or an hour before the crew goes; common practice
NOON_MIN = 12 * 60
NOT_READ = ("memory", "judgement")
WATER_AFTER = timedelta(hours=2)  # that a cover is off: the design's own


def routine_orders(day: BenchDay, hands: list[Order], site: Site, window: Window) -> list[Order]:
    """hands : what is opened and laid on at this bench. Only while the crew is there."""
    crew = site.crew_on(window.start.date())
    if crew is None or not day.batches:
        return []
    first, last = (at_local(window.start.date(), minute, site.timezone) for minute in crew)
    found = [*_looks(day, window, last), *_waters(day, hands, window), *_reading(day, hands, window)]
    there = [order for order in found if max(first, window.start) <= order.time <= last]
    return sorted(there, key=lambda order: order.time)


def _looks(day: BenchDay, window: Window, last: datetime) -> Iterator[Order]:
    """Morning and afternoon from the first day on which seedlings may show."""
    date = window.start.date()
    afternoon = at_local(date, LOOK_AGAIN_MIN, window.start.tzinfo)  # type: ignore[arg-type]
    for batch in (b.batch for b in day.batches):
        days = emergence_window(batch)
        if batch.stage is not Stage.GERMINATION or days is None or not days[0] <= date:
            continue
        since = (date - (batch.sown or batch.from_date)).days
        due = (days[0] - (batch.sown or batch.from_date)).days
        why = Reason("emergence-window", float(since), float(due), "d")
        for time in (window.start, min(afternoon, last - timedelta(hours=1))):
            if time >= window.start:
                yield new_order(at_bench(day), time, Action.CHECK_EMERGENCE, why, subject=batch.crop)


def _waters(day: BenchDay, hands: list[Order], window: Window) -> Iterator[Order]:
    off = [o.time for o in hands if o.action is Action.UNCOVER and o.why.rule != "dark-done"]
    if off:
        hours = WATER_AFTER.total_seconds() / 3600
        yield new_order(
            at_bench(day), max(off) + WATER_AFTER, Action.CHECK_WATER, Reason("water", hours, hours, "h")
        )
    if day.lamps.intervals or day.lamps.earlier:
        noon = at_local(window.start.date(), NOON_MIN, window.start.tzinfo)  # type: ignore[arg-type]
        yield new_order(at_bench(day), noon, Action.CHECK_WATER, Reason("lit-trays"))


def _reading(day: BenchDay, hands: list[Order], window: Window) -> Iterator[Order]:
    """A cover against light by a limit that was not read on a page: one meter reading at noon settles it."""
    against = [o.why for o in hands if o.action is Action.COVER and o.why.rule == "ppfd-limit"]
    if against and day.limits is not None and day.limits.mark in NOT_READ:
        noon = at_local(window.start.date(), NOON_MIN, window.start.tzinfo)  # type: ignore[arg-type]
        yield new_order(at_bench(day), noon, Action.MEASURE, against[0])
