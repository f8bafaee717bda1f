"""The numbered orders in their three bands, and what stands already set."""

from __future__ import annotations

from datetime import timedelta

from lightplan.clock import at_local
from lightplan.dayplan import Action, BenchDay, DayPlan, Order
from lightplan.report.order_words import house_name, place, verb_and_thing
from lightplan.report.reasons import RULE_OF_THUMB, certainty_words, reason_words
from lightplan.report.units import Units, capital, clock, listing, span
from lightplan.report.view import Band, OrderRow, SetRow

# Judgement: what the crew does on one walk through after coming and before going
FIRST_WALK = timedelta(minutes=45)
LAST_WALK = timedelta(minutes=60)
FOLD_FROM = 3  # this many "leave …" orders alike stand on one line

LEAVE = {Action.LEAVE_ON, Action.LEAVE_OFF, Action.LEAVE_ALONE}
# rules whose limit is the bench's need for light, and those whose limit is one of its limits
NEED_RULES = {"dli-short", "minimum-short", "enough-light", "account-owed"}
LIMIT_RULES = {"ppfd-limit", "dli-limit", "temperature-limit"}
NOT_READ = {"memory", "judgement"}


def bands(plan: DayPlan, units: Units) -> tuple[Band, ...]:
    """Orders in clock order under the part of the day they fall in; parts without orders are left out."""
    if plan.window is None:
        return ()
    crew = plan.site.crew_on(plan.day)
    crew_start = at_local(plan.day, crew[0], plan.site.timezone) if crew else plan.window.start
    crew_end = at_local(plan.day, crew[1], plan.site.timezone) if crew else plan.window.end
    first_title = "When the crew comes" if plan.window.start <= crew_start else "Now"
    titles = (first_title, "Through the day", "Before you leave")
    parts: tuple[list[Order], list[Order], list[Order]] = ([], [], [])
    for order in plan.orders:
        if order.time <= plan.window.start + FIRST_WALK:
            parts[0].append(order)
        elif order.time < crew_end - LAST_WALK:
            parts[1].append(order)
        else:
            parts[2].append(order)
    return tuple(Band(t, _rows(orders, plan, units)) for t, orders in zip(titles, parts, strict=True) if orders)


def _rows(orders: list[Order], plan: DayPlan, units: Units) -> tuple[OrderRow, ...]:
    alike: dict[tuple[object, ...], list[Order]] = {}
    for order in orders:
        key = (order.action, order.time, order.until, order.why.rule) if order.action in LEAVE else (order.number,)
        alike.setdefault(key, []).append(order)
    rows: list[OrderRow] = []
    for group in alike.values():
        if len(group) >= FOLD_FROM:
            rows.append(_folded(group, plan))
        else:
            rows += [_row(order, plan, units) for order in group]
    return tuple(rows)


def _row(order: Order, plan: DayPlan, units: Units) -> OrderRow:
    verb, thing = verb_and_thing(order, plan)
    reason = capital(reason_words(order.why, units))
    if rests_on_rule_of_thumb(order, plan):
        reason += f" ({RULE_OF_THUMB})"
    return OrderRow(
        number=str(order.number),
        time=clock(order.time, plan.site, plan.day),
        place=place(plan, order),
        house=house_name(plan, order.house) if order.bench else None,
        verb=verb,
        thing=thing,
        reason=reason,
        sure=certainty_words(order.certainty, order.odds),
    )


# what can be said of several benches at once, by rule
FOLDED_REASONS = {
    "enough-light": "The sun alone brings each of them its target",
    "no-lamp-need": "Nothing there wants lamp light now",
    "no-batch": "Nothing stands there",
    "already-set": "They run as set before",
    "capacity": "No power is left for them",
}


def _folded(group: list[Order], plan: DayPlan) -> OrderRow:
    first = group[0]
    verb, thing = verb_and_thing(first, plan)
    numbers = [o.number for o in group]
    run = numbers == list(range(numbers[0], numbers[-1] + 1))
    houses = list(dict.fromkeys(house_name(plan, o.house) for o in group))
    surest = min((o.odds for o in group if o.odds is not None), default=None)
    least_sure = max(group, key=lambda o: list(type(o.certainty)).index(o.certainty)).certainty
    return OrderRow(
        number=f"{numbers[0]}–{numbers[-1]}" if run else ", ".join(map(str, numbers)),
        time=clock(first.time, plan.site, plan.day),
        place=listing([place(plan, o) for o in group]),
        house=listing(houses) if len(houses) == 1 else None,
        verb=verb,
        thing=thing,
        reason=FOLDED_REASONS.get(first.why.rule, "See the bench rows"),
        sure=certainty_words(least_sure, surest),
    )


def rests_on_rule_of_thumb(order: Order, plan: DayPlan) -> bool:
    """Whether the limit that the order's reason names was remembered or judged, not read on a page."""
    bench = next((b for b in plan.benches if b.bench.id == order.bench), None)
    if bench is None:
        return False
    if order.why.rule in NEED_RULES:
        return bench.needs is not None and bench.needs.checked in NOT_READ
    return order.why.rule in LIMIT_RULES and bench.limits is not None and bench.limits.mark in NOT_READ


def already_set(plan: DayPlan) -> tuple[SetRow, ...]:
    """Lamp times of this day that an earlier sheet set, alike ones together."""
    alike: dict[str, list[BenchDay]] = {}
    for bench in plan.benches:
        if bench.lamps.earlier:
            times = listing([span(i, plan.site, plan.day) for i in bench.lamps.earlier])
            assumed = any(n.slug == "usual-assumed" for n in bench.notes)
            words = f"lamps on {times}" + (", taken from their usual hours: no record" if assumed else "")
            alike.setdefault(words, []).append(bench)
    return tuple(SetRow(listing([b.bench.name for b in benches]), words) for words, benches in alike.items())
