"""A second look in words: what became of each order since the day's first sheet."""

from __future__ import annotations

from lightplan.changes import Change, Mark, SecondLook
from lightplan.dayplan import DayPlan, Order
from lightplan.report.dial import ALL_DAY, dial_pairs
from lightplan.report.reasons import CERTAINTY_WORDS
from lightplan.report.units import clock, dial_time, joined, span
from lightplan.report.view import AS_BEFORE


def change_words(order: Order, plan: DayPlan, look: SecondLook | None) -> str | None:
    """What stands beside an order: `Changed: was 16:15–22:00`; None on a day's first sheet."""
    if look is None:
        return None
    mark = look.marks[order.number]
    if mark.change is Change.SAME:
        return AS_BEFORE
    if mark.change is Change.NEW:
        return "New"
    if mark.change is Change.CHANGED:
        return f"Changed: was {_was(mark, plan)}"
    word = "Surer now" if mark.change is Change.SURER else "Less sure now"
    return f"{word}: was {CERTAINTY_WORDS[mark.certainty or '']}"


def _was(mark: Mark, plan: DayPlan) -> str:
    if mark.times is not None:
        return _times(mark, plan)
    time = clock(mark.time, plan.site, plan.day) if mark.time else ""
    return f"{time} until {clock(mark.until, plan.site, plan.day, ends=True)}" if mark.until else time


def _times(mark: Mark, plan: DayPlan) -> str:
    """Lamp times as they would stand on the dial now, so that both can be told apart at a glance."""
    times = joined(mark.times or ())
    if not times:
        return "off"
    pairs = dial_pairs(times, plan.window, plan.site) if plan.window else None
    if pairs is None:
        return ", ".join(span(i, plan.site, plan.day) for i in times)
    if pairs == ALL_DAY:
        return "on day and night"
    return ", ".join(f"{dial_time(on)}–{dial_time(off)}" for on, off in pairs)


def look_words(plan: DayPlan, look: SecondLook | None) -> str | None:
    """The line that heads a second look: since when, and how much."""
    if look is None:
        return None
    changed = look.count(Change.CHANGED, Change.LESS_SURE, Change.SURER)
    parts = [
        (look.count(Change.NEW), "new"),
        (changed, "changed"),
        (len(look.dropped), "dropped"),
        (look.count(Change.SAME), "as before"),
    ]
    said = ", ".join(f"{number} {word}" for number, word in parts if number)
    since = clock(look.first_made, plan.site, plan.day)
    return f"Second look, beside the sheet of {since}: {said or 'nothing ordered then or now'}."


def dropped_words(plan: DayPlan, look: SecondLook | None) -> tuple[str, ...]:
    """Orders of the first sheet that hold no more, as sentences."""
    if look is None:
        return ()
    return tuple(f"{clock(d.time, plan.site, plan.day)} {d.what}" for d in look.dropped)
