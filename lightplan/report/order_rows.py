"""The numbered orders in their three bands, and what stands already set."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import timedelta

from lightplan.changes import SecondLook
from lightplan.clock import at_local
from lightplan.dayplan import Action, BenchDay, Certainty, DayPlan, Order
from lightplan.report.change_words import change_words
from lightplan.report.order_words import house_name, lamps_now, place, verb_and_thing
from lightplan.report.reasons import (
    CERTAINTY,
    RULE_OF_THUMB,
    SUN_SHORT,
    certainty_words,
    reason_words,
    sign_words,
)
from lightplan.report.units import Units, capital, clock, joined, listing, short, span
from lightplan.report.view import AS_BEFORE, AlsoDone, Band, OrderPlace, OrderRow, RoutineRow, SetRow
from lightplan.weather.table import Kind

# Judgement: what the crew does on one walk through after coming and before going
FIRST_WALK = timedelta(minutes=45)
LAST_WALK = timedelta(minutes=60)
QUIET = {Action.LEAVE_ALONE, Action.LEAVE_OFF}  # nothing to do: no box to tick
ROUTINE = {Action.CHECK_WATER, Action.CHECK_EMERGENCE}  # the daily round
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
    for order in (o for o in plan.orders if not is_quiet(o, plan, look)):
        if order.time <= plan.window.start + FIRST_WALK:
            parts[0].append(order)
        elif order.time < crew_end - LAST_WALK:
            parts[1].append(order)
        else:
            parts[2].append(order)
    grouped = len(plan.orders) > GROUP_ABOVE
    return tuple(
        Band(
            title,
            _rows([o for o in orders if o.action not in ROUTINE], plan, units, look, grouped=grouped),
            _routine([o for o in orders if o.action in ROUTINE], plan, look),
        )
        for title, orders in zip(titles, parts, strict=True)
        if orders
    )


def _routine(orders: list[Order], plan: DayPlan, look: SecondLook | None) -> tuple[RoutineRow, ...]:
    """The daily round, those of one time and kind together."""
    alike: dict[tuple[str, str], list[tuple[str, str]]] = {}
    for order in orders:
        change = change_words(order, plan, look)
        told = f" ({change})" if change not in (None, AS_BEFORE) else ""
        key = (clock(order.time, plan.site, plan.day), " ".join(verb_and_thing(order, plan)).strip() + told)
        alike.setdefault(key, []).append((str(order.number), place(plan, order)))
    return tuple(RoutineRow(time, words, tuple(places)) for (time, words), places in alike.items())


def is_quiet(order: Order, plan: DayPlan, look: SecondLook | None) -> bool:
    """Whether it asks for nothing; one that did on the day's first sheet stays among the orders."""
    return order.action in QUIET and change_words(order, plan, look) in (None, AS_BEFORE)


def no_work(plan: DayPlan, units: Units, look: SecondLook | None = None) -> tuple[str, ...]:
    """Benches that are to be left as they are, with their numbers, those for the same cause together."""
    found: dict[str, list[str]] = {}
    for order in plan.orders:
        if is_quiet(order, plan, look):
            cause, item = _let_be(order, units, over=plan.is_over)
            found.setdefault(cause, []).append(f"{order.number} {place(plan, order)}{item}")
    return tuple(f"{cause}: {listing(items)}." for cause, items in found.items())


def _let_be(order: Order, units: Units, *, over: bool) -> tuple[str, str]:
    """The cause, and what stands behind the bench's name."""
    why = order.why
    if why.rule == "no-batch":
        return "Empty", ""
    sure = "" if order.certainty is Certainty.SURE else f", {certainty_words(order.certainty, order.odds)}"
    if why.value is not None and why.limit is not None and why.unit == "mol":
        figures = f" ({short(why.value)} of {short(why.limit)} mol{sure})"
        if why.rule == "enough-light":
            return "Sun is enough", figures
        if why.rule == "dli-short":
            return "Short of sun, and no lamps there", figures
    return "Leave alone", f" ({reason_words(why, units, over=over)}{sure})"


def _rows(
    orders: list[Order], plan: DayPlan, units: Units, look: SecondLook | None, *, grouped: bool
) -> tuple[OrderRow, ...]:
    alike: dict[tuple[object, ...], list[Order]] = {}
    for order in orders:
        key: tuple[object, ...] = (order.number,)
        if grouped:  # what became of it since the first sheet is said once for all of a group
            words = (*verb_and_thing(order, plan), lamps_now(order, plan))
            key = (order.time, *words, change_words(order, plan, look))
        alike.setdefault(key, []).append(order)
    return _joined(_row(group, plan, units, look) for group in alike.values())


def _joined(rows: Iterable[OrderRow]) -> tuple[OrderRow, ...]:
    """What is done at one place in one walk stands on one line, where it needs no reason of its own."""
    found: list[OrderRow] = []
    for row in rows:
        before = found[-1] if found else None
        if before is None or not _follows(row, before):
            found.append(row)
        else:
            also = AlsoDone(row.places[0].number, row.verb, row.thing)
            found[-1] = replace(before, also=(*before.also, also))
    return tuple(found)


def _follows(row: OrderRow, before: OrderRow) -> bool:
    alone = len(row.places) == len(before.places) == 1
    told = row.reason or row.now or row.sure or row.differs or row.change != before.change
    return alone and not told and (row.time, row.places[0].name) == (before.time, before.places[0].name)


def _row(group: list[Order], plan: DayPlan, units: Units, look: SecondLook | None) -> OrderRow:
    verb, thing = verb_and_thing(group[0], plan)
    places = tuple(_place(order, plan, units) for order in group)
    reasons = {(p.reason, p.sure) for p in places}
    shared, sure = reasons.pop() if len(reasons) == 1 else (None, "")
    if shared is None and (in_common := _in_common(group)):
        shared, sure = in_common
        figures = [f"{short(o.why.value or 0.0)} of {short(o.why.limit or 0.0)}" for o in group]
        places = tuple(replace(p, figures=f) for p, f in zip(places, figures, strict=True))
    sure = "" if goes_without_saying(group[0], plan) else sure
    bare = all(
        _ends_another(order, plan) or needs_no_reason(order, plan) for order in group
    )  # their reason stands where they began
    if bare or shared is not None:
        places = tuple(replace(p, reason=None) for p in places)
    if bare:
        shared, sure = None, ""
        places = places if len(places) > 1 else (replace(places[0], house=""),)
    return OrderRow(
        time=clock(group[0].time, plan.site, plan.day),
        verb=verb,
        thing=thing,
        now=lamps_now(group[0], plan),
        reason=shared,
        sure=sure,
        change=change_words(group[0], plan, look),
        places=places,
    )


def _in_common(group: list[Order]) -> tuple[str, str] | None:
    """The reason and certainty of places that differ in their figures alone; None where more differs."""
    alike = {(o.why.rule, o.certainty, o.why.day) for o in group}
    if len(alike) > 1 or group[0].why.rule != "dli-short" or group[0].why.day is not None:
        return None
    sure = {certainty_words(o.certainty, o.odds) for o in group}
    return capital(SUN_SHORT), sure.pop() if len(sure) == 1 else CERTAINTY[group[0].certainty]


def needs_no_reason(order: Order, plan: DayPlan) -> bool:
    """Whether it needs no reason: a cover that comes off, or is laid on as the tent is opened."""
    if order.why.rule == "hot-hours-over":
        return True
    return order.action is Action.COVER and any(
        (o.action, o.bench, o.time, o.why) == (Action.OPEN_TENT, order.bench, order.time, order.why)
        for o in plan.orders
    )


def _ends_another(order: Order, plan: DayPlan) -> bool:
    """Whether it only ends what an earlier order on the sheet began, for the same reason."""
    return order.action in ENDS and any(
        o.bench == order.bench and o.until == order.time and o.time < order.time and o.why == order.why
        for o in plan.orders
    )


def goes_without_saying(order: Order, plan: DayPlan) -> bool:
    """On a stand-in for a forecast nothing is sure but what it says of itself at the sheet's head."""
    stand_in = plan.weather.kind in (Kind.TYPICAL_YEAR, Kind.CLEAR_SKY)
    return stand_in and order.certainty is Certainty.SURE


def _place(order: Order, plan: DayPlan, units: Units) -> OrderPlace:
    reason = capital(reason_words(order.why, units, over=plan.is_over))
    if order.sign is not None:
        reason += f"; {sign_words(order.sign, plan.site, plan.day, units)}"
    if rests_on_rule_of_thumb(order, plan) and not all_by_rule_of_thumb(plan):
        reason += f" ({RULE_OF_THUMB})"
    return OrderPlace(
        number=str(order.number),
        name=place(plan, order),
        house=house_name(plan, order.house) if order.bench else "",
        reason=reason,
        sure="" if goes_without_saying(order, plan) else certainty_words(order.certainty, order.odds),
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
    """Lamp times of this day before the window, alike ones together."""
    alike: dict[str, list[BenchDay]] = {}
    for bench in plan.benches:
        if bench.lamps.earlier:
            alike.setdefault(_burnt(bench, plan), []).append(bench)
    return tuple(SetRow(listing([b.bench.name for b in benches]), words) for words, benches in alike.items())


def _burnt(bench: BenchDay, plan: DayPlan) -> str:
    """`on 00:00–04:00`; `on since 00:00` where they burn when the window begins: their end is an order's."""
    *before, last = joined(bench.lamps.earlier)
    times = [span(interval, plan.site, plan.day) for interval in before]
    if plan.window is not None and last[1] >= plan.window.start:
        times.append(f"since {clock(last[0], plan.site, plan.day)}")
    else:
        times.append(span(last, plan.site, plan.day))
    return f"on {', '.join(times)}"


def set_heading(plan: DayPlan) -> str:
    if not any(bench.lamps.earlier for bench in plan.benches):
        return ""
    return "Lamps before you came." if plan.window else "Lamps today."


def set_from(plan: DayPlan) -> str | None:
    """Where those times come from, if not from a record."""
    assumed = [
        b.bench.name
        for b in plan.benches
        if b.lamps.earlier and any(n.slug == "usual-assumed" for n in b.notes)
    ]
    if not assumed:
        return None
    if len(assumed) == sum(bool(b.lamps.earlier) for b in plan.benches):
        return "No sheet of yesterday: these are the site file's usual hours."
    return f"No sheet of yesterday for {listing(assumed)}: the site file's usual hours."
