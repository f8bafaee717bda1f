"""Vents, tents and covers into orders, the times they lie, and what is to be said of them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from lightplan.advice.covers import CoverPlan, Tent
from lightplan.clock import Grid
from lightplan.cover_tasks import Standing
from lightplan.dayplan import Action, BenchDay, Certainty, CoverTime, Note, Order, Reason
from lightplan.remedies import VentTime
from lightplan.site.models import Site

# How sure an order is, by its odds (the design's own steps; judgement)
SURE, LIKELY = 0.8, 0.5

RULES = {"heat-kills": "temperature-limit", "heat": "temperature-limit", "light": "ppfd-limit"}
OVER = Reason("hot-hours-over")


def certainty(odds: float | None) -> Certainty:
    if odds is None or odds >= SURE:
        return Certainty.SURE
    return Certainty.LIKELY if odds >= LIKELY else Certainty.STAND_BY


def vent_orders(vents: Mapping[str, VentTime], site: Site, grid: Grid) -> tuple[Order, ...]:
    """One order a house: its vents stand open from one moment to another."""
    found = []
    for house_id, times in vents.items():
        why = Reason("vent-limit", times.shut_c, site.house(house_id).vent_at_c, "c")
        found.append(
            Order(
                number=0,
                time=grid.moment(times.on),
                until=grid.moment(times.off),
                house=house_id,
                bench=None,
                action=Action.VENT,
                why=why,
                certainty=Certainty.SURE,
                odds=None,
            )
        )
    return tuple(found)


def remedy_orders(day: BenchDay, standing: Standing, grid: Grid) -> list[Order]:
    """What hands do at a bench: open and close its tent, lay covers on and take them off."""
    plan = standing.plan
    if plan is None or plan.remedy is None:
        return []
    why = _why(plan)
    steps: list[tuple[int, int | None, Action, str | None, Reason]] = []
    if plan.remedy.tent is not Tent.CLOSED:
        how = "propped" if plan.remedy.tent is Tent.PROPPED else "rolled-back"
        steps.append((plan.on, plan.off, Action.OPEN_TENT, how, why))
    steps += [(plan.on, plan.off, Action.COVER, cover.name, why) for cover in plan.remedy.covers]
    steps += [(plan.off, None, Action.UNCOVER, cover.name, OVER) for cover in plan.remedy.covers]
    if plan.remedy.tent is not Tent.CLOSED:
        steps.append((plan.off, None, Action.CLOSE_TENT, None, OVER))
    return [
        Order(
            number=0,
            time=grid.moment(at),
            until=None if until is None else grid.moment(until),
            house=day.bench.house,
            bench=day.bench.id,
            action=action,
            why=reason,
            certainty=certainty(plan.odds),
            odds=plan.odds,
            subject=subject,
        )
        for at, until, action, subject, reason in steps
    ]


def cover_times(standing: Standing, grid: Grid) -> tuple[CoverTime, ...]:
    plan = standing.plan
    if plan is None or plan.remedy is None:
        return ()
    on, off = grid.moment(plan.on), grid.moment(plan.off)
    return tuple(CoverTime(cover.name, on, off, _why(plan), plan.odds) for cover in plan.remedy.covers)


def cover_notes(standing: Standing) -> Iterator[Note]:
    """What a cover costs, and what even the best remedy leaves undone."""
    plan = standing.plan
    if plan is None:
        return
    if plan.remedy is not None and plan.cost_mol > 0 and plan.remedy.covers:
        yield Note("cover-costs", (("cost", plan.cost_mol),))
    if plan.under_minimum_mol > 0:
        yield Note("cover-under-minimum", (("short", plan.under_minimum_mol),))
    if plan.unheld_minutes > 0:
        yield Note("limit-not-held")


def _why(plan: CoverPlan) -> Reason:
    assert plan.rule is not None
    return Reason(RULES[plan.rule], plan.value, plan.limit, plan.unit)
