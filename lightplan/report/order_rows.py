"""The numbered orders in their three bands, and what stands already set."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

from lightplan.changes import SecondLook
from lightplan.clock import at_local
from lightplan.dayplan import Action, BenchDay, DayPlan, Order
from lightplan.report.change_words import change_words
from lightplan.report.order_words import house_name, place, verb_and_thing
from lightplan.report.reasons import RULE_OF_THUMB, certainty_words, reason_words
from lightplan.report.units import Units, capital, clock, joined, listing, span
from lightplan.report.view import Band, OrderPlace, OrderRow, SetRow

# Judgement: what the crew does on one walk through after coming and before going
FIRST_WALK = timedelta(minutes=45)
LAST_WALK = timedelta(minutes=60)
ENDS = {Action.LAMPS_OFF, Action.UNCOVER, Action.CLOSE_TENT}
GROUP_ABOVE = 6  # orders; a sheet with more puts places with the same order at the same time under one line

# rules whose limit is the bench's need for light, and those whose limit is one of its limits
NEED_RULES = {
    "dli-short",
    "dli-short-ahead",
    "minimum-short",
    "minimum-short-ahead",
    "enough-light",
    "bright-ahead",
    "account-owed",
    "account-carries",
    "owed-for-now",
}
LIMIT_RULES = {"ppfd-limit", "dli-limit", "temperature-limit"}
NOT_READ = {"memory", "judgement"}


def bands(plan: DayPlan, units: Units, look: SecondLook | None = None) -> tuple[Band, ...]:
    """Orders in clock order under the part of the day they fall in; parts without orders are left out."""
    if plan.window is None:
        return ()
    crew = plan.site.crew_on(plan.day)
    crew_start = at_local(plan.day, crew[0], plan.site.timezone) if crew else plan.window.start
    crew_end = at_local(plan.day, crew[1], plan.site.timezone) if crew else plan.window.end
    first_title = "When the crew comes" if plan.window.start <= crew_start else "Now"
    titles = (first_title, "Through the day", "Before you leave")
    parts: tuple[list[Order], list[Order], list[Order]] = ([], [], [])
    for order in (o for o in plan.orders if not is_empty_bench(o)):
        if order.time <= plan.window.start + FIRST_WALK:
            parts[0].append(order)
        elif order.time < crew_end - LAST_WALK:
            parts[1].append(order)
        else:
            parts[2].append(order)
    grouped = len(plan.orders) > GROUP_ABOVE
    return tuple(
        Band(title, _rows(orders, plan, units, look, grouped=grouped))
        for title, orders in zip(titles, parts, strict=True)
        if orders
    )


def is_empty_bench(order: Order) -> bool:
    """A bench with nothing on it has one line, with its number, and that stands with the benches."""
    return order.action is Action.LEAVE_ALONE and order.why.rule == "no-batch"


def _rows(
    orders: list[Order], plan: DayPlan, units: Units, look: SecondLook | None, *, grouped: bool
) -> tuple[OrderRow, ...]:
    alike: dict[tuple[object, ...], list[Order]] = {}
    for order in orders:
        key: tuple[object, ...] = (order.number,)
        if grouped:  # what became of it since the first sheet is said once for all of a group
            key = (order.time, *verb_and_thing(order, plan), change_words(order, plan, look))
        alike.setdefault(key, []).append(order)
    return tuple(_row(group, plan, units, look) for group in alike.values())


def _row(group: list[Order], plan: DayPlan, units: Units, look: SecondLook | None) -> OrderRow:
    verb, thing = verb_and_thing(group[0], plan)
    places = tuple(_place(order, plan, units) for order in group)
    reasons = {(p.reason, p.sure) for p in places}
    shared, sure = reasons.pop() if len(reasons) == 1 else (None, "")
    bare = all(_ends_another(order, plan) for order in group)  # their reason stands where they began
    if bare or shared is not None:
        places = tuple(replace(p, reason=None) for p in places)
    if bare:
        shared, sure = None, ""
        places = places if len(places) > 1 else (replace(places[0], house=""),)
    return OrderRow(
        time=clock(group[0].time, plan.site, plan.day),
        verb=verb,
        thing=thing,
        reason=shared,
        sure=sure,
        change=change_words(group[0], plan, look),
        places=places,
    )


def _ends_another(order: Order, plan: DayPlan) -> bool:
    """Whether it only ends what an earlier order on the sheet began."""
    return order.action in ENDS and any(
        o.bench == order.bench and o.until == order.time and o.time < order.time for o in plan.orders
    )


def _place(order: Order, plan: DayPlan, units: Units) -> OrderPlace:
    reason = capital(reason_words(order.why, units))
    if rests_on_rule_of_thumb(order, plan) and not all_by_rule_of_thumb(plan):
        reason += f" ({RULE_OF_THUMB})"
    return OrderPlace(
        number=str(order.number),
        name=place(plan, order),
        house=house_name(plan, order.house) if order.bench else "",
        reason=reason,
        sure=certainty_words(order.certainty, order.odds),
    )


def rests_on_rule_of_thumb(order: Order, plan: DayPlan) -> bool:
    """Whether the limit that the order's reason names was remembered or judged, not read on a page."""
    bench = next((b for b in plan.benches if b.bench.id == order.bench), None)
    if bench is None:
        return False
    if order.why.rule in NEED_RULES:
        return bench.needs is not None and bench.needs.checked in NOT_READ
    return order.why.rule in LIMIT_RULES and bench.limits is not None and bench.limits.mark in NOT_READ


def all_by_rule_of_thumb(plan: DayPlan) -> bool:
    """Whether every order that could rest on a rule of thumb does: then it is said once, not at each."""
    rules = NEED_RULES | LIMIT_RULES
    could = [o for o in plan.orders if o.why.rule in rules and o.bench]
    return bool(could) and all(rests_on_rule_of_thumb(o, plan) for o in could)


def already_set(plan: DayPlan) -> tuple[SetRow, ...]:
    """Lamp times of this day that an earlier sheet set, alike ones together."""
    alike: dict[str, list[BenchDay]] = {}
    for bench in plan.benches:
        if bench.lamps.earlier:
            times = ", ".join(span(i, plan.site, plan.day) for i in joined(bench.lamps.earlier))
            alike.setdefault(f"lamps on {times}", []).append(bench)
    return tuple(SetRow(listing([b.bench.name for b in benches]), words) for words, benches in alike.items())


def set_from(plan: DayPlan) -> str | None:
    """Where the times already set come from, if not from a record."""
    assumed = [b.bench.name for b in plan.benches if any(n.slug == "usual-assumed" for n in b.notes)]
    if not assumed:
        return None
    if len(assumed) == sum(bool(b.lamps.earlier) for b in plan.benches):
        return "No record of yesterday: these are the lamps' usual hours."
    return f"No record of yesterday for {listing(assumed)}: usual hours are taken."
