"""Orders of a bench whose day is turned round: all of them come from its plan."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime

from lightplan.clock import Window, at_local
from lightplan.dayplan import Action, BenchDay, Order, Reason
from lightplan.new_order import at_bench, new_order
from lightplan.site.models import Site
from lightplan.turned_benches import TurnedBench
from lightplan.turned_standing import DARK_BY_DAY, laid_on

OPEN_BY_NIGHT = Reason("inverted-night")


def turned_orders(
    day: BenchDay, turned: TurnedBench, *, site: Site, dates: tuple[date, ...], window: Window
) -> list[Order]:
    """What hands do in the window: tent, covers, looks and water. Lamps are ordered as on any bench.

    A date with a crew has its own sheet; those without one are told here.
    """
    found: list[Order] = []
    for number, one in enumerate(dates):
        if number and (site.crew_on(one) is not None or at_local(one, 0, site.timezone) >= window.end):
            continue
        found += _of_date(day, turned, one, site, window)
    return [*found, *_moved(day, turned, dates[0], site, window)]


def _moved(day: BenchDay, turned: TurnedBench, date: date, site: Site, window: Window) -> Iterator[Order]:
    """Where even the dark bench passes what kills, the trays leave it before it is covered."""
    laid = laid_on(turned, date, site)
    kills = None if day.limits is None else day.limits.temperature_upper_c
    told = [dict(note.values) for note in day.notes if note.slug == "temperature-over-limit"]
    if not laid or kills is None or day.temperature is None or kills not in [one["limit"] for one in told]:
        return
    why = Reason("temperature-limit", day.temperature.peak_after, kills, "c")
    at = max(laid[-1].on, window.start)
    if at < laid[-1].off:
        yield new_order(at_bench(day), at, Action.MOVE, why, subject="to a cool room for the day")


def _of_date(day: BenchDay, turned: TurnedBench, date: date, site: Site, window: Window) -> Iterator[Order]:
    asked = turned.on(date)
    if asked is None:
        return
    tent = turned.bench.tent is not None and turned.bench.tent_opens
    here = at_bench(day)

    def look(time: datetime) -> Order:
        since, crop = _since(turned, date), turned.batch.crop
        return new_order(here, time, Action.CHECK_EMERGENCE, since, subject=crop)

    laid = laid_on(turned, date, site)
    for one in laid:
        if one.off < window.start:
            continue
        on = max(one.on, window.start)
        dark, late = one.reason is DARK_BY_DAY, on > one.on
        why, name = _why(on, site), one.cover.name
        if dark and asked.looked_at and not late:  # later in the day it may lie there already
            yield look(on)
        if on < one.off:
            if dark and tent:
                yield new_order(here, on, Action.CLOSE_TENT, why or DARK_BY_DAY)
            yield new_order(here, on, Action.COVER, why or one.reason, until=one.off, subject=name)
    for one in reversed(laid):  # what was laid last comes off first
        if one.off < window.start:
            continue
        why_off, name = _why(one.off, site) or one.reason, one.cover.name
        yield new_order(here, one.off, Action.UNCOVER, why_off, subject=name)
        if one.reason is DARK_BY_DAY and tent:
            yield new_order(here, one.off, Action.OPEN_TENT, OPEN_BY_NIGHT, subject="rolled-back")
    off = laid[-1].off
    if off < window.start:
        return
    yield new_order(here, off, Action.CHECK_WATER, Reason("inverted-water"))
    if asked.looked_at:
        yield look(off)


def _why(moment: datetime, site: Site) -> Reason | None:
    """Why somebody has to come when nobody is there; None where somebody is."""
    crew = site.crew_on(moment.date())
    minute = moment.hour * 60 + moment.minute
    return None if crew is not None and crew[0] <= minute <= crew[1] else Reason("inverted-come")


def _since(turned: TurnedBench, date: date) -> Reason:
    assert turned.plan.emergence is not None or turned.plan.back
    since = (date - turned.plan.sown).days
    first = turned.plan.emergence.first if turned.plan.emergence else turned.plan.back[0].day
    return Reason("emergence-window", float(since), float((first - turned.plan.sown).days), "d")
