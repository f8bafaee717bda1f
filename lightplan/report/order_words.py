"""An order in words: the place, the verb and the thing."""

from __future__ import annotations

from collections.abc import Callable

from lightplan.dayplan import Action, DayPlan, Order
from lightplan.report.dial import ALL_DAY, dial_pairs
from lightplan.report.names import cover_name, crop_name
from lightplan.report.reasons import sign_words
from lightplan.report.units import Units, clock, dial_time, joined, span

Thing = Callable[[Order, DayPlan], str]


def _until(order: Order, plan: DayPlan) -> str:
    return f"until {clock(order.until, plan.site, plan.day, ends=True)}" if order.until else ""


def _timer_times(order: Order, plan: DayPlan) -> str:
    pairs = dial_pairs(order.intervals, plan.window, plan.site) if plan.window else None
    if pairs is None:
        return ", ".join(span(i, plan.site, plan.day) for i in joined(order.intervals))
    if not pairs:
        return "to stay off"
    if pairs == ALL_DAY:
        return "to stay on day and night"
    return "; ".join(f"on {dial_time(on)}, off {dial_time(off)}" for on, off in pairs) + _turns(order, plan)


def _turns(order: Order, plan: DayPlan) -> str:
    """What is set besides where the night is lit by turns."""
    notes = next((b.notes for b in plan.benches if b.bench.id == order.bench), ())
    turns = next((dict(n.values) for n in notes if n.slug == "lit-by-turns"), None)
    return "" if turns is None else f"; by night {turns['turns']:.0f} min in every {turns['of']}"


def lamps_now(order: Order, plan: DayPlan) -> str:
    """What the lamps of a timer do as it is set, where the dial alone leaves that in doubt; else nothing."""
    if order.action is not Action.SET_TIMER or plan.window is None:
        return ""
    runs = joined(order.intervals)
    if not runs:
        return "They go off now" if order.lit_now else ""
    on, off = runs[0]
    if on > plan.window.start:
        first = clock(on, plan.site, plan.day)
        if order.lit_now:
            return f"They go off now, next on {first}"
        # made in the evening, a clock time that is past by then is tomorrow's
        return f"First on {first}" if plan.is_over and on.date() != plan.day else ""
    if off >= plan.window.end:
        return "" if order.lit_now else "They come on now"
    words = "They burn on" if order.lit_now else "They come on now, "
    return f"{words} until {clock(off, plan.site, plan.day)}".replace(",  ", ", ")


def _cover(order: Order, plan: DayPlan) -> str:
    return f"{cover_name(order.subject or '')} {_until(order, plan)}".strip()


def _tent(order: Order, plan: DayPlan) -> str:
    how = {"propped": "a hand wide", "rolled-back": "all the way"}.get(order.subject or "", "")
    until = _until(order, plan)
    return ", ".join(words for words in (how, until) if words)


def _crop(order: Order, plan: DayPlan) -> str:
    return crop_name(order.subject) if order.subject else ""


TIMER_AS_SET = "Timer as it is:"  # its clock times were ordered before and hold


def _half_up(order: Order, plan: DayPlan) -> str:
    bench = next(b for b in plan.site.benches if b.id == order.bench)
    turned = next((b.notes for b in plan.benches if b.bench.id == order.bench), ())
    if any(note.slug == "day-turned" for note in turned):
        return ""  # its tent is closed under the cover until it is turned back
    return "; half up: tent off" if bench.tent is not None and bench.tent_opens else ""


# action: verb, thing. `subject` is the cover's name (cover, uncover), the crop (check-emergence), and free
# for measure; the others do not use it.
ACTIONS: dict[Action, tuple[str, Thing]] = {
    Action.LAMPS_ON: ("Lamps on", _until),
    Action.LAMPS_OFF: ("Lamps off", _until),
    Action.LEAVE_ON: ("Leave lamps on", _until),
    Action.LEAVE_OFF: ("Leave lamps off", _until),
    Action.SET_TIMER: ("Set timer", _timer_times),
    Action.OPEN_TENT: ("Open the tent", _tent),
    Action.CLOSE_TENT: ("Close the tent", _until),
    Action.VENT: ("Open the vents", _until),
    Action.COVER: ("Lay on", _cover),
    Action.UNCOVER: ("Take off", _cover),
    Action.CHECK_EMERGENCE: (
        "Look for first seedlings",
        lambda o, p: f"of {_crop(o, p)}{_half_up(o, p)}" if o.subject else "",
    ),
    Action.CHECK_WATER: ("Check water", _until),
    Action.MOVE: ("Move the trays", lambda o, p: o.subject or ""),
    Action.MEASURE: ("Measure the light", lambda o, p: o.subject or ""),
    Action.LEAVE_ALONE: ("Leave alone", _until),
}


def verb_and_thing(order: Order, plan: DayPlan) -> tuple[str, str]:
    verb, thing = ACTIONS[order.action]
    return TIMER_AS_SET if order.as_set else verb, thing(order, plan)


def house_name(plan: DayPlan, house_id: str) -> str:
    return plan.site.house(house_id).name


def bench_name(plan: DayPlan, bench_id: str) -> str:
    return next(b.name for b in plan.site.benches if b.id == bench_id)


def place(plan: DayPlan, order: Order) -> str:
    """The bench's name, or the house's for an order that holds for all of it."""
    return house_name(plan, order.house) if order.bench is None else bench_name(plan, order.bench)


def what(plan: DayPlan, order: Order) -> str:
    """The order as one sentence: `Plugs 1, Glasshouse: set timer 16:15–22:00.`, with the sign it hangs on."""
    verb, thing = verb_and_thing(order, plan)
    where = place(plan, order)
    if order.bench is not None:
        where += f", {house_name(plan, order.house)}"
    words = f"{where}: {verb[:1].lower()}{verb[1:]} {thing}".rstrip()
    if order.sign is not None:
        sign = sign_words(order.sign, plan.site, plan.day, Units(us=False, foot_candles=False))
        words = f"{words.rstrip(',')}, {sign}"
    return f"{words}."
