"""Which lamps, from when to when, at least cost: light in and crop needs in, lamp hours and figures out."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

import numpy as np

from lightplan.advice.lamps.figures import bench_lamps
from lightplan.advice.lamps.horizon import Horizon, horizon_of
from lightplan.advice.lamps.prices import prices
from lightplan.advice.lamps.program import NoPlan
from lightplan.advice.lamps.shared_rows import Shared
from lightplan.advice.lamps.solve import draw_kw, least_cost
from lightplan.advice.lamps.task import (
    Array,
    BenchLamps,
    Interval,
    LampPlan,
    LampTask,
    NoonCut,
    Unmet,
    Why,
)
from lightplan.clock import Grid, Window, day_start
from lightplan.site.models import Power

__all__ = ["BenchLamps", "LampPlan", "LampTask", "NoonCut", "Unmet", "Why", "plan_lamps"]

GAP = 0.005  # a plan this near the least cost is good enough to print
LIMIT_S = 8.0  # how long benches that share a breaker may be searched for a better one


def plan_lamps(
    tasks: Sequence[LampTask],
    *,
    grid: Grid,
    window: Window | None,
    now: datetime,
    crew: Sequence[Interval | None],
    power: Power | None,
    peak_so_far_kw: float = 0.0,
    gap: float = GAP,
    limit_s: float = LIMIT_S,
) -> LampPlan:
    """Lamp hours of every bench for the window, looking three days ahead, for the whole site at once.

    grid : from the sheet's midnight over at least three civil days and past the window's end.
    window : None when nobody comes: only what is already set is counted.
    now : when the sheet is made; lamps switched from afar can be set from then on.
    crew : crew hours of each civil day of the grid as instants; lamps switched by hand change only then.
    peak_so_far_kw : highest power of the lamps in this month, where a peak is charged.
    """
    seen = window or _closed(grid)
    price = prices(power, grid)
    shared = Shared(
        most_kw=power.lamps_kw_at_most if power else None,
        peak_price_per_kw=power.peak_price_per_kw if power else 0.0,
        peak_so_far_kw=peak_so_far_kw,
    )
    each_step = np.ones(len(grid)) if price is None else price
    try:
        horizons = _horizons(tasks, grid, seen, now, crew, keep_young=True)
        answer = least_cost(horizons, each_step, shared, gap=gap, limit_s=limit_s)
    except NoPlan:  # what burns already can't burn its least time by every other rule
        horizons = _horizons(tasks, grid, seen, now, crew, keep_young=False)
        answer = least_cost(horizons, each_step, shared, gap=gap, limit_s=limit_s)
    benches = tuple(
        bench_lamps(
            horizon,
            answer.lit.on[n],
            grid=grid,
            price=price,
            short=answer.lit.short[n],
            short_alone=answer.alone[n].short[0],
        )
        for n, horizon in enumerate(horizons)
    )
    draw = np.zeros(len(grid))
    lit_kw = draw_kw(horizons, answer.lit.on)
    draw[: len(lit_kw)] = lit_kw
    return LampPlan(
        benches=benches,
        power_kw=draw,
        most_kw=shared.most_kw,
        peak_cost=_peak_cost(horizons, draw, shared) if power else None,
        solver_gap=answer.lit.gap,
        needed_first=_needed_first(horizons),
        short_gap=answer.lit.short_gap,
    )


def _horizons(
    tasks: Sequence[LampTask],
    grid: Grid,
    window: Window,
    now: datetime,
    crew: Sequence[Interval | None],
    *,
    keep_young: bool,
) -> list[Horizon]:
    return [
        horizon_of(task, grid=grid, window=window, now=now, crew=crew, keep_young=keep_young)
        for task in tasks
    ]


def _closed(grid: Grid) -> Window:
    """A window of no length at the end of the sheet's date: nothing of that day can be set any more."""
    midnight = day_start(grid.dates[1], grid.zone)
    return Window(midnight, midnight)


def _peak_cost(horizons: Sequence[Horizon], draw: Array, shared: Shared) -> float:
    inside = slice(min((h.start for h in horizons), default=0), max((h.stop for h in horizons), default=0))
    peak = float(draw[inside].max(initial=0.0))
    return shared.peak_price_per_kw * max(0.0, peak - shared.peak_so_far_kw)


def _needed_first(horizons: Sequence[Horizon]) -> tuple[tuple[str, float], ...]:
    lacks = [
        (h.task.bench_id, h.needs[0].minimum - float(h.low_mol[0]))
        for h in horizons
        if h.needs[0] is not None and h.needs[0].minimum is not None and h.needs[0].lamps_allowed
    ]
    return tuple(sorted((lack for lack in lacks if lack[1] > 0), key=lambda lack: -lack[1]))
