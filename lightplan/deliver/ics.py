"""The day's orders as a calendar file (RFC 5545): an entry with an alarm for each order that asks for hands.

An entry's UID is site, date, place, kind of order and its ordinal among those alike, so that a later look at
the same day moves the entries of the first and takes back those that are ordered no more.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from urllib.parse import quote

from icalendar import Alarm, Calendar, Component, Event

import lightplan
from lightplan.clock import at_local
from lightplan.dayplan import Action, Certainty, DayPlan, Order
from lightplan.deliver.zone import vtimezone
from lightplan.report.order_words import house_name, place, what
from lightplan.report.reasons import certainty_words, reason_words
from lightplan.report.units import capital, units_of

AHEAD = timedelta(minutes=5)  # of the alarm: the time to walk there; judgement
YEAR = timedelta(days=366)
LENGTH = timedelta(minutes=15)  # of an entry: the step that orders are planned on
NO_HANDS = {Action.LEAVE_ALONE, Action.LEAVE_OFF, Action.LEAVE_ON}
CANCELLED = "CANCELLED"
PRODUCT = f"-//lightplan//lightplan {lightplan.__version__}//EN"


@dataclass(frozen=True)
class Entry:
    """One order as the calendar holds it. sequence : RFC 5545's count of changes, here minutes of the day."""

    uid: str
    time: datetime
    summary: str
    detail: str
    where: str
    status: str  # CONFIRMED, TENTATIVE (stand by for it) or CANCELLED (ordered no more)
    sequence: int
    stamp: datetime

    def same_as(self, other: Entry) -> bool:
        return replace(self, sequence=0, stamp=other.stamp) == replace(other, sequence=0)


def calendar(plan: DayPlan, earlier: bytes | None = None) -> bytes:
    """The plan's calendar file.

    earlier : the file of an earlier look at the same day. What it held for times now past stays, what is
    ordered no more is cancelled, what is ordered still keeps its UID. Raises ValueError where `earlier` is no
    calendar.
    """
    of_day = _entries(plan, {} if earlier is None else _read(earlier))
    found = Calendar()
    found.add("version", "2.0")
    found.add("prodid", PRODUCT)
    found.add("x-wr-calname", f"Greenhouse: {plan.site.name}")
    found.add_component(vtimezone(plan.site.timezone, plan.day - YEAR, plan.day + YEAR))
    for entry in sorted(of_day, key=lambda entry: (entry.time.timestamp(), entry.uid)):
        found.add_component(_event(entry))
    return bytes(found.to_ical())


def asks_for_hands(order: Order) -> bool:
    """Whether somebody has to go there: not for what stays as it is, nor for a timer set so already."""
    return order.action not in NO_HANDS and not order.as_set


def _entries(plan: DayPlan, earlier: Mapping[str, Entry]) -> list[Entry]:
    """Entries of this plan, and what becomes of those of an earlier look."""
    from_now_on = (plan.window.start if plan.window else plan.generated_at).timestamp()
    past = [e for e in earlier.values() if e.time.timestamp() < from_now_on and e.status != CANCELLED]
    spare = {e.uid: e for e in earlier.values() if e not in past}
    taken = set(earlier)
    found = list(past)
    orders = [order for order in plan.orders if asks_for_hands(order)]
    # those whose time is as it was go first, so that they keep their entries
    stay = [o for o in orders if any(e.time == o.time and _kin(e.uid, plan, o) for e in spare.values())]
    for order in [*stay, *(o for o in orders if o not in stay)]:
        alike = [entry for entry in spare.values() if _kin(entry.uid, plan, order)]
        before = min(alike, key=lambda e: abs(e.time.timestamp() - order.time.timestamp()), default=None)
        uid = before.uid if before else _free(plan, order, taken)
        taken.add(uid)
        entry = _entry(plan, order, uid)
        if before is not None:
            del spare[before.uid]
            entry = before if entry.same_as(before) else _changed(entry, before)
        found.append(entry)
    found += [_cancelled(entry, plan) for entry in spare.values()]
    return found


def _stem(plan: DayPlan, order: Order) -> str:
    where = f"house.{order.house}" if order.bench is None else order.bench
    parts = (plan.site.id, plan.day.isoformat(), where, order.action.value)
    return ".".join(quote(part, safe="") for part in parts)


def _kin(uid: str, plan: DayPlan, order: Order) -> bool:
    return uid.rpartition("@")[0].rpartition(".")[0] == _stem(plan, order)


def _free(plan: DayPlan, order: Order, taken: Iterable[str]) -> str:
    """The first ordinal among orders alike that has no entry yet."""
    ordinal = 1
    while (uid := f"{_stem(plan, order)}.{ordinal}@lightplan") in set(taken):
        ordinal += 1
    return uid


def _entry(plan: DayPlan, order: Order, uid: str) -> Entry:
    units = units_of(plan.site)
    sure = certainty_words(order.certainty, order.odds)
    where = place(plan, order)
    why = capital(reason_words(order.why, units, over=plan.is_over))
    return Entry(
        uid=uid,
        time=order.time,
        summary=what(plan, order),
        detail=f"Order {order.number}. {why}. {capital(sure)}.",
        where=where if order.bench is None else f"{where}, {house_name(plan, order.house)}",
        status="TENTATIVE" if order.certainty is Certainty.STAND_BY else "CONFIRMED",
        sequence=_minutes_of_day(plan),
        stamp=plan.generated_at.astimezone(UTC),
    )


def _minutes_of_day(plan: DayPlan) -> int:
    """Grows from look to look, even where the earlier file is lost."""
    midnight = at_local(plan.day, 0, plan.site.timezone).timestamp()
    return max(0, int(plan.generated_at.timestamp() - midnight) // 60)


def _changed(entry: Entry, before: Entry) -> Entry:
    """Two looks may fall into one minute: a calendar heeds a change by its higher sequence alone."""
    return replace(entry, sequence=max(before.sequence + 1, entry.sequence))


def _cancelled(entry: Entry, plan: DayPlan) -> Entry:
    if entry.status == CANCELLED:
        return entry
    now = plan.generated_at.astimezone(UTC)
    taken_back = replace(entry, status=CANCELLED, stamp=now, sequence=_minutes_of_day(plan))
    return _changed(taken_back, entry)


def _event(entry: Entry) -> Event:
    event = Event()
    event.add("uid", entry.uid)
    event.add("dtstamp", entry.stamp)
    event.add("sequence", entry.sequence)
    event.add("dtstart", _sayable(entry.time))
    event.add("dtend", _sayable(_later(entry.time, LENGTH)))
    event.add("summary", entry.summary)
    event.add("description", entry.detail)
    event.add("location", entry.where)
    event.add("status", entry.status)
    event.add("transp", "TRANSPARENT")
    if entry.status != CANCELLED:
        alarm = Alarm()
        alarm.add("action", "DISPLAY")
        alarm.add("description", entry.summary)
        alarm.add("trigger", -AHEAD)
        event.add_component(alarm)
    return event


def _later(moment: datetime, span: timedelta) -> datetime:
    return (moment.astimezone(UTC) + span).astimezone(moment.tzinfo)


def _sayable(moment: datetime) -> datetime:
    """Local time with its zone, but UTC for an hour that comes twice when it comes the second time.

    A local time in a calendar file means the first of the two (RFC 5545, 3.3.5, form 3).
    """
    twice = moment.replace(fold=0).utcoffset() != moment.replace(fold=1).utcoffset()
    return moment.astimezone(UTC) if twice and moment.fold else moment


def _read(content: bytes) -> dict[str, Entry]:
    """Entries by UID. Raises ValueError where the content is no calendar of ours."""
    try:
        found = [_entry_of(event) for event in Calendar.from_ical(content).walk("VEVENT")]
    except (ValueError, LookupError, TypeError, AttributeError) as error:
        raise ValueError(f"not a calendar file of lightplan ({error})") from error
    return {entry.uid: entry for entry in found}


def _entry_of(event: Component) -> Entry:
    return Entry(
        uid=str(event["uid"]),
        time=_moment(event, "dtstart"),
        summary=str(event["summary"]),
        detail=str(event["description"]),
        where=str(event["location"]),
        status=str(event["status"]),
        sequence=int(str(event["sequence"])),
        stamp=_moment(event, "dtstamp"),
    )


def _moment(event: Component, name: str) -> datetime:
    found = event.decoded(name)
    if not isinstance(found, datetime) or found.tzinfo is None:
        raise ValueError(f"{name} is no moment")
    return found
