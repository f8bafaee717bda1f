"""A later look at the same day: what changed since the day's first plan, order by order.

The first plan comes from the records as its `morning` JSON; what it ordered for times now past is done or
not, and no longer compared.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import Enum
from typing import Any

from lightplan.dayplan import Action, DayPlan, Interval, Order

BY_LAMP_TIMES = {Action.SET_TIMER, Action.LEAVE_ON, Action.LEAVE_OFF, Action.LEAVE_ALONE}
SWITCHING = {Action.LAMPS_ON, Action.LAMPS_OFF}
LAMP_WORDS = {a.value for a in BY_LAMP_TIMES | SWITCHING}


class Change(Enum):
    SAME = "same"
    NEW = "new"
    CHANGED = "changed"
    LESS_SURE = "less-sure"
    SURER = "surer"


@dataclass(frozen=True)
class Mark:
    """What became of one order. times : of lamps, as the first plan had them from now on.

    time, until : as the first plan had them. certainty : the first plan's word.
    """

    change: Change
    times: tuple[Interval, ...] | None = None
    time: datetime | None = None
    until: datetime | None = None
    certainty: str | None = None


@dataclass(frozen=True)
class Dropped:
    """An order of the first plan for a time still to come that is ordered no more."""

    time: datetime
    what: str


@dataclass(frozen=True)
class SecondLook:
    """marks : by number of the order, for every order of this plan."""

    first_made: datetime
    marks: Mapping[int, Mark]
    dropped: tuple[Dropped, ...]

    def count(self, *changes: Change) -> int:
        return sum(mark.change in changes for mark in self.marks.values())


def second_look(plan: DayPlan, first: Mapping[str, Any]) -> SecondLook | None:
    """The plan beside the day's first one; None where there is nothing to compare.

    first : `morning` JSON of the same date. A plan that can't be read is none.
    """
    if plan.window is None:
        return None
    try:
        return _compared(plan, _First(first, plan))
    except (KeyError, TypeError, ValueError):
        return None


class _First:
    """What the first plan says of the time from this plan's window on."""

    def __init__(self, first: Mapping[str, Any], plan: DayPlan) -> None:
        assert plan.window is not None
        start, end = plan.window.start, plan.window.end
        self.made = datetime.fromisoformat(first["generated_at"])
        self.lamps: dict[str, tuple[Interval, ...]] = {}
        for bench in first["benches"]:
            spans = [(_moment(on), _moment(off)) for on, off in bench["lamps"]["intervals"]]
            cut = [(max(on, start), min(off, end)) for on, off in spans]
            self.lamps[bench["id"]] = tuple((on, off) for on, off in cut if on < off)
        self.orders = [o for o in first["orders"] if isinstance(o, dict)]
        self.ahead = [o for o in self.orders if _moment(o["time"]) >= start]

    def last_certainty(self, order: Order) -> str | None:
        of_lamps = [o for o in self.orders if o["bench"] == order.bench and o["action"] in LAMP_WORDS]
        words = [str(o["certainty"]) for o in of_lamps]
        return words[-1] if words else None


def _compared(plan: DayPlan, first: _First) -> SecondLook:
    lamps = {b.bench.id: b.lamps.intervals for b in plan.benches}
    marks: dict[int, Mark] = {}
    spare = [o for o in first.ahead if o["action"] not in LAMP_WORDS]
    for order in plan.orders:
        if order.bench is not None and order.action in BY_LAMP_TIMES:
            marks[order.number] = _times_mark(order, lamps[order.bench], first)
        elif order.bench is not None and order.action in SWITCHING:
            marks[order.number] = _switch_mark(order, first)
        else:
            marks[order.number] = _other_mark(order, spare)
    dropped = [Dropped(_moment(o["time"]), str(o["what"])) for o in spare]
    for old in first.ahead:
        if old["action"] != Action.LAMPS_ON.value:
            continue
        on, off = _moment(old["time"]), _moment(old["until"])
        if not any(a < off and on < b for a, b in lamps.get(old["bench"], ())):
            dropped.append(Dropped(on, str(old["what"])))
    return SecondLook(first.made, marks, tuple(sorted(dropped, key=lambda each: each.time)))


def _times_mark(order: Order, times: tuple[Interval, ...], first: _First) -> Mark:
    """An order about all lamp times of a bench: changed where they differ from now on."""
    before = first.lamps.get(order.bench or "")
    if before is None:
        return Mark(Change.NEW)
    if not _alike(before, times):
        return Mark(Change.CHANGED, times=before)
    return _sure_mark(order, first.last_certainty(order))


def _switch_mark(order: Order, first: _First) -> Mark:
    """Lamps switched by hand: an order is known by the run that it begins or ends."""
    begins = order.action is Action.LAMPS_ON
    for on, off in first.lamps.get(order.bench or "", ()):
        if begins and order.until is not None and on < order.until and order.time < off:
            if on == order.time and off == order.until:
                return _sure_mark(order, first.last_certainty(order))
            return Mark(Change.CHANGED, time=on, until=off)
        if not begins and off == order.time:
            return _sure_mark(order, first.last_certainty(order))
    later = [off for on, off in first.lamps.get(order.bench or "", ()) if on < order.time < off]
    earlier = [off for on, off in first.lamps.get(order.bench or "", ()) if off < order.time]
    if not begins and (later or earlier):
        return Mark(Change.CHANGED, time=later[0] if later else earlier[-1])
    return Mark(Change.NEW)


def _other_mark(order: Order, spare: list[dict[str, Any]]) -> Mark:
    """Any other order is known by its action and place; of several alike the nearest in time is meant."""
    alike = [
        o
        for o in spare
        if (o["action"], o["house"], o["bench"]) == (order.action.value, order.house, order.bench)
    ]
    if not alike:
        return Mark(Change.NEW)
    old = min(alike, key=lambda o: abs((_moment(o["time"]) - order.time).total_seconds()))
    spare.remove(old)
    time, until = _moment(old["time"]), _moment(old["until"]) if old["until"] else None
    if (time, until) != (order.time, order.until):
        return Mark(Change.CHANGED, time=time, until=until)
    return _sure_mark(order, old["certainty"])


RANK = {"stand-by": 0, "likely": 1, "sure": 2}


def _sure_mark(order: Order, before: str | None) -> Mark:
    if before is None or before == order.certainty.value:
        return Mark(Change.SAME)
    change = Change.SURER if RANK[order.certainty.value] > RANK[before] else Change.LESS_SURE
    return Mark(change, certainty=before)


def _alike(one: tuple[Interval, ...], other: tuple[Interval, ...]) -> bool:
    return _joined(one) == _joined(other)


def _joined(intervals: tuple[Interval, ...]) -> list[tuple[float, float]]:
    """As instants, runs that touch made one."""
    found: list[tuple[float, float]] = []
    for on, off in sorted((on.timestamp(), off.timestamp()) for on, off in intervals):
        if found and found[-1][1] >= on:
            found[-1] = (found[-1][0], max(off, found[-1][1]))
        else:
            found.append((on, off))
    return found


def _moment(text: object) -> datetime:
    return datetime.fromisoformat(str(text))
