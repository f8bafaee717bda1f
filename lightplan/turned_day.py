"""Where benches whose day is turned round enter the morning's recipe: remedies, power, lamps."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from lightplan.advice.lamps import BenchLamps, LampPlan
from lightplan.clock import Grid, Window
from lightplan.crops.needs import BenchNeeds
from lightplan.dayplan import BenchDay, DayPlan, Note
from lightplan.heat_day import bench_ready, steps_wanted
from lightplan.lamp_tasks import AlreadySet
from lightplan.light import BenchLight
from lightplan.remedies import BenchDone, Morning, Remedies
from lightplan.site.models import CONTINUOUS_SHARE, Power, Site
from lightplan.turned_benches import TurnedBench
from lightplan.turned_lamps import lamps_of
from lightplan.turned_standing import standing_of, turned_bench_day
from lightplan.weather.table import Spread

Turned = Mapping[str, TurnedBench]


def with_turned(remedies: Remedies, turned: Turned, morning: Morning) -> Remedies:
    """Turned benches stand as their plan has them, whatever a remedy of the day would be."""
    site, grid, light = morning.site, morning.grid, morning.light
    steps = steps_wanted(grid, morning.window)
    benches = dict(remedies.benches)
    for bench_id, one in turned.items():
        ready = bench_ready(one.bench, light[bench_id], morning.sky, grid=grid, steps=steps)
        assert ready is not None  # its batch is there
        standing = standing_of(one, light[bench_id], site=site, grid=grid, steps=steps)
        benches[bench_id] = BenchDone(ready, ready, standing)
    return replace(remedies, benches=benches)


def turned_lamps(
    turned: Turned,
    *,
    site: Site,
    grid: Grid,
    window: Window | None,
    set_before: Mapping[str, AlreadySet],
    needs: Mapping[str, BenchNeeds],
    account: Mapping[str, float],
) -> dict[str, BenchLamps]:
    """Lamps of the turned benches as their plans have them, in the site's order for as long as the breaker
    bears them: a bench whose lamps would pass it stays unlit."""
    found: dict[str, BenchLamps] = {}
    used_kw = np.zeros(len(grid))
    for bench_id, one in turned.items():
        found[bench_id] = lamps_of(
            one,
            site=site,
            grid=grid,
            window=window,
            set_before=set_before[bench_id],
            needs=needs[bench_id],
            account=account[bench_id],
            used_kw=used_kw,
        )
        used_kw = used_kw + found[bench_id].on * _draw_kw(one)
    return found


def with_turned_days(
    benches: tuple[BenchDay, ...],
    turned: Turned,
    light: Mapping[str, BenchLight],
    *,
    site: Site,
    grid: Grid,
    spread: Spread,
) -> tuple[BenchDay, ...]:
    """All benches, those that are turned with the light of their own day."""
    return tuple(
        turned_bench_day(
            found,
            turned[found.bench.id],
            light[found.bench.id],
            site=site,
            grid=grid,
            spread=spread,
        )
        if found.bench.id in turned
        else found
        for found in benches
    )


def not_turned(plan: DayPlan, in_vain: Mapping[str, str]) -> DayPlan:
    """The plan, with what keeps a bench from being turned round said on it. in_vain : by bench."""
    return replace(
        plan,
        benches=tuple(
            replace(day, notes=(Note("not-turned", (("why", in_vain[day.bench.id]),)), *day.notes))
            if day.bench.id in in_vain
            else day
            for day in plan.benches
        ),
    )


def power_beside(power: Power | None, turned: Turned) -> Power | None:
    """What is left for the other lamps: a turned bench's own are counted as if they always burnt."""
    if power is None or power.capacity_kw is None or not turned:
        return power
    drawn = sum(_draw_kw(one) for one in turned.values())
    return replace(power, other_kw=min(power.other_kw + drawn / CONTINUOUS_SHARE, power.capacity_kw))


def _draw_kw(one: TurnedBench) -> float:
    lamps = one.bench.lamps
    return 0.0 if lamps is None else lamps.power_kw * lamps.working


def with_turned_lamps(
    planned: LampPlan, turned: Turned, lamps: Mapping[str, BenchLamps], power: Power | None
) -> LampPlan:
    """The plan of all benches: the others' as planned, the turned ones' as their plans have them."""
    if not turned:
        return planned
    draw = planned.power_kw + sum(
        np.asarray(lamps[bench_id].on * _draw_kw(one)) for bench_id, one in turned.items()
    )
    return replace(
        planned,
        benches=(*planned.benches, *lamps.values()),
        power_kw=draw,
        most_kw=power.lamps_kw_at_most if power else None,
    )
