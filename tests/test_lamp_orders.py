"""From records and lamp hours to the lamp task and the orders."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from lightplan.advice.lamps import BenchLamps, Why
from lightplan.clock import Window, at_local, grid_over
from lightplan.lamp_tasks import already_set
from lightplan.orders import orders_for
from lightplan.records import History, Stretch
from lightplan.report.units import clock
from tests.report.samples import SAMPLES

ZONE = ZoneInfo("America/New_York")
DAY = date(2026, 1, 15)


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
    (order,) = orders_for(
        (day,), {day.bench.id: lamps}, dates=(plan.day,), window=plan.window, spread=plan.weather.spread
    )
    assert clock(order.time, plan.site, plan.day) == time
