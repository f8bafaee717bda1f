"""Orders of a bench whose day is turned round: all of them come from its plan."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime

from lightplan.clock import Window, at_local
from lightplan.dayplan import Action, BenchDay, Certainty, Order, Reason
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
        yield _order(day, at, Action.MOVE, why, "to a cool room for the day")


def _of_date(day: BenchDay, turned: TurnedBench, date: date, site: Site, window: Window) -> Iterator[Order]:
    asked = turned.on(date)
    if asked is None:
        return
    tent = turned.bench.tent is not None and turned.bench.tent_opens
    laid = laid_on(turned, date, site)
    for one in laid:
        if one.off < window.start:
            continue
        on = max(one.on, window.start)
        dark, late = one.reason is DARK_BY_DAY, on > one.on
        why = _why(on, site)
        if dark and asked.looked_at and not late:  # later in the day it may lie there already
            yield _order(day, on, Action.CHECK_EMERGENCE, _since(turned, date), turned.batch.crop)
        if on < one.off:
            if dark and tent:
                yield _order(day, on, Action.CLOSE_TENT, why or DARK_BY_DAY)
            yield _order(day, on, Action.COVER, why or one.reason, one.cover.name, until=one.off)
    for one in reversed(laid):  # what was laid last comes off first
        if one.off < window.start:
            continue
        yield _order(day, one.off, Action.UNCOVER, _why(one.off, site) or one.reason, one.cover.name)
        if one.reason is DARK_BY_DAY and tent:
            yield _order(day, one.off, Action.OPEN_TENT, OPEN_BY_NIGHT, "rolled-back")
    off = laid[-1].off
    if off < window.start:
        return
    yield _order(day, off, Action.CHECK_WATER, Reason("inverted-water"))
    if asked.looked_at:
        yield _order(day, off, Action.CHECK_EMERGENCE, _since(turned, date), turned.batch.crop)


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


def _order(
    day: BenchDay,
    time: datetime,
    action: Action,
    why: Reason,
    subject: str | None = None,
    *,
    until: datetime | None = None,
) -> Order:
    return Order(
        number=0,
        time=time,
        until=until,
        house=day.bench.house,
        bench=day.bench.id,
        action=action,
        why=why,
        certainty=Certainty.SURE,
        odds=None,
        subject=subject,
    )
