"""Ways to run the lamps through a season: by the sheet each morning, and three to hold it against."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from lightplan.account import account_after
from lightplan.advice.lamps import LampTask, plan_lamps
from lightplan.advice.lamps.horizon import window_steps
from lightplan.advice.lamps.usual_sun import Usual, usual_of
from lightplan.clock import STEP_MIN, STEPS_PER_H, Grid, Window, at_local, day_start, grid_over, window_for
from lightplan.crops.needs import Needs
from lightplan.replay.forecasts import Forecast
from lightplan.replay.lit import PolicyRun, policy_run
from lightplan.replay.season import BenchSeason, Season
from lightplan.site.models import Span

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
Progress = Callable[[int], None]

WEEK_DAYS = 7  # a sheet looks a week ahead
PASSED_DAYS = (
    3  # that tell how much of the light outdoors comes to a bench, as a sheet takes three; judgement
)
FIXED_H = 16
# A morning's search on benches that share a breaker may stop at this gap or time; the sheet itself goes on
# longer. The gap that was left is reported.
GAP, LIMIT_S = 0.005, 2.0


def advice(season: Season, forecast: Forecast, progress: Progress = lambda days: None) -> PolicyRun:
    """Morning by morning with what was known that morning, then the true sun.

    Begins with lamps off and accounts at 0. progress : called with each number of mornings done.
    """
    site, zone = season.site, season.grid.zone
    lit = tuple(np.zeros(len(season.grid), dtype=bool) for _ in season.benches)
    account = [0.0] * len(season.benches)
    gap = short_gap = 0.0
    for number, day in enumerate(season.dates):
        now = day_start(day, zone)
        window = window_for(site, day, now)
        ahead_days = season.looked_ahead(number)
        if window is not None and ahead_days:
            grid = grid_over(day, ahead_days, zone)
            first = season.grid.index(now)
            begin = grid.index(window.start)
            ahead = forecast(number, len(grid.dates))
            tasks = [
                LampTask(
                    bench_id=bench.bench.id,
                    lamps=bench.lamps,
                    sun_ppfd=sun,
                    sun_ppfd_low=sun * ahead.low[grid.day],
                    daylight=bench.daylight[first : first + len(grid)],
                    needs=bench.needs[number : number + len(grid.dates)],
                    allowed=bench.allowed[first : first + len(grid)],
                    already=on[first : first + len(grid)],
                    account_mol=held,
                    yesterday=_lit_before(season, on, first + begin),
                    usual=_usual(season, bench, number),
                )
                for bench, sun, on, held in zip(season.benches, ahead.sun_ppfd, lit, account, strict=True)
            ]
            plan = plan_lamps(
                tasks,
                grid=grid,
                window=window,
                now=now,
                crew=_crew(season, grid),
                power=site.power,
                peak_so_far_kw=_peak_so_far_kw(season, lit, number),
                gap=GAP,
                limit_s=LIMIT_S,
            )
            gap, short_gap = max(gap, plan.solver_gap), max(short_gap, plan.short_gap)
            for on, task, bench_plan in zip(lit, tasks, plan.benches, strict=True):
                begin, end = window_steps(task, grid, window, now)
                on[first + begin : first + end] = bench_plan.on[begin:end]
        account = [
            account_after(held, _dli(season, bench, on, number), bench.needs[number])
            for bench, on, held in zip(season.benches, lit, account, strict=True)
        ]
        progress(number + 1)
    return policy_run(season, "advice", lit, gap, short_gap)


def same_day(season: Season) -> PolicyRun:
    """Each civil day alone to its target, its sun known perfectly and all its hours free; nothing carried."""
    zone = season.grid.zone
    lit = tuple(np.zeros(len(season.grid), dtype=bool) for _ in season.benches)
    gap = short_gap = 0.0
    for number, day in enumerate(season.dates):
        if not season.benches:
            break
        grid = grid_over(day, 1, zone)
        first = season.grid.index(day_start(day, zone))
        steps = slice(first, first + len(grid))
        tasks = [
            LampTask(
                bench_id=bench.bench.id,
                lamps=bench.lamps,
                sun_ppfd=bench.sun_ppfd[steps],
                sun_ppfd_low=bench.sun_ppfd[steps],
                daylight=bench.daylight[steps],
                needs=(_nothing_carried(bench.needs[number]),),
                allowed=bench.allowed[steps],
                already=np.zeros(len(grid), dtype=bool),
                yesterday=_lit_before(season, on, first),
            )
            for bench, on in zip(season.benches, lit, strict=True)
        ]
        midnight = grid.moment(0)
        plan = plan_lamps(
            tasks,
            grid=grid,
            window=Window(midnight, grid.moment(len(grid))),
            now=midnight,
            crew=_crew(season, grid),
            power=season.site.power,
            peak_so_far_kw=_peak_so_far_kw(season, lit, number),
            gap=GAP,
            limit_s=LIMIT_S,
        )
        gap, short_gap = max(gap, plan.solver_gap), max(short_gap, plan.short_gap)
        for on, bench_plan in zip(lit, plan.benches, strict=True):
            on[steps] = bench_plan.on
    return policy_run(season, "same-day", lit, gap, short_gap)


def fixed_16h(season: Season) -> PolicyRun:
    """16 h a day in the middle of the allowed hours, whatever the sun; it knows nothing of the breaker."""
    return policy_run(season, "fixed-16h", tuple(_middle_hours(season, b) for b in season.benches))


def threshold(season: Season) -> PolicyRun:
    """On within the allowed hours whenever the sun at the bench is below `sun_enough_ppfd`."""
    return policy_run(
        season,
        "threshold",
        tuple(_wanted(season, b) & (b.sun_ppfd < b.lamps.sun_enough_ppfd_umol_m2_s) for b in season.benches),
    )


def _wanted(season: Season, bench: BenchSeason) -> Mask:
    """Allowed hours of the days on which a batch stands that lamps may light."""
    days = np.array([needs is not None and needs.lamps_allowed for needs in bench.needs])
    return np.asarray(bench.allowed & days[season.grid.day])


def _middle_hours(season: Season, bench: BenchSeason) -> Mask:
    on = np.zeros(len(season.grid), dtype=bool)
    wanted = _wanted(season, bench)
    for number in range(season.days):
        hours = np.flatnonzero(wanted & (season.grid.day == number))
        spare = max(0, len(hours) - FIXED_H * STEPS_PER_H)
        on[hours[spare // 2 : len(hours) - (spare - spare // 2)]] = True
    return on


def _nothing_carried(needs: Needs | None) -> Needs | None:
    return None if needs is None else replace(needs, most_in_hand=0.0, most_owed=0.0)


def _dli(season: Season, bench: BenchSeason, on: Mask, number: int) -> float:
    first, end = np.searchsorted(season.grid.day, [number, number + 1])
    return float(bench.sun_mol[number]) + float(on[first:end].sum()) * bench.step_mol


def _usual(season: Season, bench: BenchSeason, number: int) -> Usual | None:
    """What is usual at the bench at this time of year, where that is known beforehand.

    How much of the light outdoors comes to the bench is taken from the days before, not from those to come.
    """
    if not season.clearness:
        return None
    days = slice(max(0, number - PASSED_DAYS), max(1, number))
    return usual_of(
        season.clearness[number],
        sun_mol=bench.sun_mol[days],
        outdoor_mol=season.outdoor_mol[days],
        clear_mol=season.clear_mol[number : number + WEEK_DAYS],
    )


def _crew(season: Season, grid: Grid) -> list[tuple[datetime, datetime] | None]:
    hours = [season.site.crew_on(day) for day in grid.dates]
    return [
        None if span is None else (at_local(day, span[0], grid.zone), at_local(day, span[1], grid.zone))
        for day, span in zip(grid.dates, hours, strict=True)
    ]


def _lit_before(season: Season, on: Mask, until: int) -> tuple[Span, ...]:
    """Clock times lit in the 24 h before a step, parted at midnight."""
    first = max(0, until - 24 * STEPS_PER_H)
    clock = season.grid.minute
    spans: list[Span] = []
    for step in range(first, until):
        if not on[step]:
            continue
        begin, end = int(clock[step]), int(clock[step]) + STEP_MIN
        if spans and spans[-1][1] == begin:
            begin, _ = spans.pop()
        spans.append((begin, end))
    return tuple(spans)


def _peak_so_far_kw(season: Season, lit: tuple[Mask, ...], number: int) -> float:
    """Highest power of all lamps together in the month, up to this morning."""
    if season.site.power is None or season.site.power.peak_price_per_kw == 0:
        return 0.0
    month_first = max(0, number - season.dates[number].day + 1)
    first, end = np.searchsorted(season.grid.day, [month_first, number])
    draw = np.zeros(end - first)
    for bench, on in zip(season.benches, lit, strict=True):
        draw += on[first:end] * bench.draw_kw
    return float(draw.max(initial=0.0))
