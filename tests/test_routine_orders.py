"""What is looked after without being asked: seedlings in their window, water after covers and under lamps."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from lightplan.clock import Window, at_local
from lightplan.dayplan import Action, BatchDay, Certainty, LampDay, Order, Reason
from lightplan.routine_orders import routine_orders
from tests.report.samples import SAMPLES

NO_LAMPS = LampDay((), (), 0.0, 0.0, 0.0, 0.0)


def standing(days_since_sowing: int, lamps: LampDay = NO_LAMPS):
    """The one-bench sample: petunia, 7 to 10 days to come up (crops_germination.csv, merged row)."""
    plan = SAMPLES["one-bench"]()
    (bench,) = plan.benches
    batch = replace(bench.batches[0].batch, sown=plan.day - timedelta(days=days_since_sowing))
    return plan, replace(bench, batches=(BatchDay(batch, True),), lamps=lamps)


def clock(plan, order: Order) -> str:
    return f"{order.time.astimezone(plan.site.timezone):%H:%M}"


@pytest.mark.parametrize(("days", "looks"), [(6, []), (7, ["06:30", "15:00"]), (12, ["06:30", "15:00"])])
def test_seedlings_are_looked_for_twice_a_day_from_their_first_day(days: int, looks: list[str]) -> None:
    plan, bench = standing(days)
    found = routine_orders(bench, [], plan.site, plan.window)
    assert [clock(plan, o) for o in found if o.action is Action.CHECK_EMERGENCE] == looks
    assert all((o.why.value, o.why.limit) == (days, 7) for o in found)


def uncovered(plan, bench, minute: int) -> Order:
    at = at_local(plan.day, minute, plan.site.timezone)
    why = Reason("hot-hours-over")
    return Order(0, at, None, bench.bench.house, bench.bench.id, Action.UNCOVER, why, Certainty.SURE, None)


def test_water_two_hours_after_the_last_cover_and_at_noon_under_lamps() -> None:
    plan, bench = standing(0)
    hands = [uncovered(plan, bench, 13 * 60), uncovered(plan, bench, 14 * 60)]
    (order,) = routine_orders(bench, hands, plan.site, plan.window)
    assert (order.action, clock(plan, order)) == (Action.CHECK_WATER, "16:00")
    night = (at_local(plan.day, 60, plan.site.timezone), at_local(plan.day, 300, plan.site.timezone))
    _, lit = standing(0, replace(NO_LAMPS, earlier=(night,)))
    (order,) = routine_orders(lit, [], plan.site, plan.window)
    assert (order.action, clock(plan, order), order.why.rule) == (Action.CHECK_WATER, "12:00", "lit-trays")


def test_nothing_is_looked_after_when_nobody_is_there() -> None:
    plan, bench = standing(8)
    hands = [uncovered(plan, bench, 17 * 60)]  # two hours on, the crew has gone
    found = routine_orders(bench, hands, plan.site, plan.window)
    assert [o.action for o in found] == [Action.CHECK_EMERGENCE] * 2
    late = Window(at_local(plan.day, 13 * 60, plan.site.timezone), plan.window.end)
    assert [clock(plan, o) for o in routine_orders(bench, [], plan.site, late)] == ["13:00", "15:00"]
    off = replace(plan.site, days_off=frozenset({plan.day}))
    assert routine_orders(bench, hands, off, plan.window) == []


def test_an_empty_bench_has_no_round() -> None:
    plan, bench = standing(8)
    assert routine_orders(replace(bench, batches=()), [], plan.site, plan.window) == []
