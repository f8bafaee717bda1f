"""From records and lamp hours to the lamp task and the orders."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from lightplan.advice.lamps import BenchLamps, Why
from lightplan.clock import Window, at_local, grid_over
from lightplan.dayplan import Action
from lightplan.lamp_tasks import AlreadySet, already_set
from lightplan.orders import orders_for
from lightplan.records import History, Stretch
from lightplan.report.order_words import lamps_now, verb_and_thing
from lightplan.report.units import clock
from lightplan.standing import Standing
from tests.report.samples import SAMPLES

ZONE = ZoneInfo("America/New_York")
DAY = date(2026, 1, 15)
DAILY_ROUND = {Action.CHECK_WATER, Action.CHECK_EMERGENCE}


def _at(day: date, hour: int, minute: int = 0) -> datetime:
    return at_local(day, hour * 60 + minute, ZONE)


def test_yesterdays_clock_times_come_from_the_records() -> None:
    bench = next(b.bench for b in SAMPLES["dull"]().benches if b.bench.lamps)
    before = DAY - timedelta(days=1)
    stretch = Stretch(
        (_at(before, 6, 30), _at(DAY, 6, 30)),
        ((_at(before, 16), _at(before, 18)), (_at(before, 23), _at(DAY, 1)), (_at(DAY, 5), _at(DAY, 6, 30))),
    )
    grid = grid_over(DAY, 3, ZONE)
    window = Window(_at(DAY, 6, 30), _at(DAY + timedelta(days=1), 6, 30))
    found = already_set(bench, History({bench.id: (stretch,)}, {}), grid=grid, window=window)
    assert found.yesterday == ((960, 1080), (1380, 1440), (0, 60), (300, 390))
    assert np.flatnonzero(found.lit).tolist() == [*range(4), *range(20, 26)]
    without = already_set(bench, History({}, {}), grid=grid, window=window)
    assert without.yesterday == ()
    assert without.assumed == "usual-assumed"


@pytest.mark.parametrize(("hour", "time"), [(4, "04:00"), (17, "06:30")])
def test_lamps_switched_from_afar_are_ordered_before_they_burn(hour: int, time: str) -> None:
    plan = SAMPLES["dull"]()
    assert plan.window is not None
    day = next(b for b in plan.benches if b.bench.lamps and b.batches)
    on = at_local(plan.day, hour * 60, plan.site.timezone)
    lamps = BenchLamps(
        bench_id=day.bench.id,
        on=np.zeros(96, dtype=bool),
        intervals=((on, on + timedelta(hours=2)),),
        earlier=(),
        hours=2.0,
        mol=0.7,
        kwh=1.0,
        cost=None,
        account_mol=0.0,
        sun_mol=(4.0,),
        target_mol=(12.0,),
        why=Why("dli-short", 4.0, 12.0, "mol"),
    )
    never = np.zeros(len(plan.grid), dtype=bool)
    order, *round_of_the_day = orders_for(
        plan.site,
        (day,),
        {day.bench.id: lamps},
        set_before={day.bench.id: AlreadySet(never, None)},
        standing={day.bench.id: Standing(None, day.series.sun_ppfd, never, never, None)},
        of_houses=(),
        grid=plan.grid,
        window=plan.window,
        spread=plan.weather.spread,
    )
    assert clock(order.time, plan.site, plan.day) == time
    assert {o.action for o in round_of_the_day} <= DAILY_ROUND


def _ordered(lamps: BenchLamps, *, yesterday: tuple[tuple[int, int], ...] = (), by_hand: bool = False):
    plan = SAMPLES["dull"]()
    assert plan.window is not None
    day = next(b for b in plan.benches if b.bench.id == lamps.bench_id)
    assert day.bench.lamps is not None
    if by_hand:
        switched = replace(day.bench.lamps, switch="hand")
        day = replace(day, bench=replace(day.bench, lamps=switched))
    never = np.zeros(len(plan.grid), dtype=bool)
    found = orders_for(
        plan.site,
        (day,),
        {day.bench.id: lamps},
        set_before={day.bench.id: AlreadySet(np.zeros(96, dtype=bool), None, yesterday)},
        standing={day.bench.id: Standing(None, day.series.sun_ppfd, never, never, None)},
        of_houses=(),
        grid=plan.grid,
        window=plan.window,
        spread=plan.weather.spread,
    )
    return plan, tuple(order for order in found if order.action not in DAILY_ROUND)


def _lamps(*runs: tuple[float, float], earlier: tuple[tuple[float, float], ...] = ()) -> BenchLamps:
    plan = SAMPLES["dull"]()
    day = next(b for b in plan.benches if b.bench.lamps and b.batches)

    def at(hours: float) -> datetime:
        return at_local(plan.day, round(hours * 60), plan.site.timezone)

    return BenchLamps(
        bench_id=day.bench.id,
        on=np.zeros(96, dtype=bool),
        intervals=tuple((at(a), at(b)) for a, b in runs),
        earlier=tuple((at(a), at(b)) for a, b in earlier),
        hours=sum(b - a for a, b in runs),
        mol=2.0,
        kwh=1.0,
        cost=None,
        account_mol=0.0,
        sun_mol=(4.0,),
        target_mol=(12.0,),
        why=Why("dli-short", 4.0, 12.0, "mol"),
    )


@pytest.mark.parametrize(
    ("runs", "earlier", "words"),
    [
        (((6.5, 11.0), (27.0, 30.5)), ((3.0, 6.5),), "They burn on until 11:00"),
        (((6.5, 11.0),), (), "They come on now, until 11:00"),
        (((16.0, 20.0),), ((3.0, 6.5),), "They go off now, next on 16:00"),
        (((16.0, 20.0),), ((3.0, 5.0),), ""),
        ((), ((3.0, 6.5),), "They go off now"),
    ],
)
def test_a_timer_says_what_the_lamps_do_as_it_is_set(runs, earlier, words) -> None:
    plan, (order,) = _ordered(_lamps(*runs, earlier=earlier))
    assert order.action is Action.SET_TIMER
    assert lamps_now(order, plan) == words


def test_a_timer_that_runs_these_times_already_is_not_to_be_set_again() -> None:
    lamps = _lamps((16.0, 20.0), (29.0, 30.5), earlier=((5.0, 6.5),))
    plan, (order,) = _ordered(lamps, yesterday=((300, 390), (960, 1200)))
    assert order.as_set
    assert verb_and_thing(order, plan) == ("Timer as it is:", "on 05:00, off 06:30; on 16:00, off 20:00")
    for yesterday in ((), ((960, 1200),), ((300, 390), (960, 1215)), ((300, 405), (960, 1200))):
        _, (other,) = _ordered(lamps, yesterday=yesterday)
        assert not other.as_set


def test_lamps_that_go_off_by_hand_say_why() -> None:
    lamps = _lamps((6.5, 9.5), (16.0, 18.0))
    plan, orders = _ordered(lamps, by_hand=True)
    ends = [o for o in orders if o.action is Action.LAMPS_OFF]
    assert [o.why.rule for o in ends] == ["lamps-enough", "nobody-later"]
    assert ends[0].why.value == pytest.approx(1.2)  # 3 of 5 hours, 2 mol together
    assert clock(ends[1].time, plan.site, plan.day) == "18:00"
