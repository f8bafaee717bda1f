"""From the site, the light and what earlier sheets set: what lamp planning is asked."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from lightplan.advice.lamps import LampTask
from lightplan.advice.lamps.horizon import HORIZON_DAYS
from lightplan.advice.lamps.task import LongDay
from lightplan.advice.lamps.usual_sun import usual_of
from lightplan.advice.photoperiod.seen import DAY_SEEN_DEG, DAY_SEEN_SHORT_DAY_DEG
from lightplan.clock import Grid, Window, at_local, day_start
from lightplan.crops.needs import Needs, bench_needs
from lightplan.light import daily_light_integral
from lightplan.records import History
from lightplan.site.models import Bench, Lamps, Site, Span
from lightplan.sky import Sky

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
Interval = tuple[datetime, datetime]

NOON_MIN = 12 * 60


@dataclass(frozen=True)
class AlreadySet:
    """What the lamps of a bench do before this window, and whether that is known."""

    lit: Mask
    assumed: str | None  # slug of the note when there is no record of it
    yesterday: tuple[Span, ...] = ()  # clock times of the 24 h before this window, where they are recorded


def already_set(bench: Bench, history: History, *, grid: Grid, window: Window | None) -> AlreadySet:
    """From midnight to the window: as earlier sheets set it, else the lamps' usual hours, else off."""
    lit = np.zeros(len(grid), dtype=bool)
    if bench.lamps is None or bench.lamps.working == 0:
        return AlreadySet(lit, None)
    midnight = grid.moment(0)
    until = window.start if window else day_start(grid.dates[0] + timedelta(days=1), grid.zone)
    since, times = history.set_since(bench.id, midnight, until)
    assumed = None
    if since > midnight:
        times = (*_usual(bench.lamps, grid, since), *times)
        assumed = "usual-assumed" if bench.lamps.usual else "usual-unknown"
    for on, off in times:
        lit[grid.index(on) : grid.index(off)] = True
    return AlreadySet(lit, assumed, _yesterday(bench.id, history, until, grid))


def set_ahead(bench_id: str, history: History, *, grid: Grid) -> Mask:
    """Past the midnight of a date on which nobody comes, what earlier sheets set for the night."""
    lit = np.zeros(len(grid), dtype=bool)
    midnight = day_start(grid.dates[0] + timedelta(days=1), grid.zone)
    noon = at_local(grid.dates[0], NOON_MIN + 1440, grid.zone)
    until = min(noon, max((s.window[1] for s in history.lamps.get(bench_id, ())), default=midnight))
    for on, off in history.set_before(bench_id, midnight, until) or ():
        lit[grid.index(on) : grid.index(off)] = True
    return lit


def _yesterday(bench: str, history: History, until: datetime, grid: Grid) -> tuple[Span, ...]:
    """Lamp times of the 24 h before the window as spans of the clock, parted at midnight."""
    spans: list[Span] = []
    for on, off in history.set_before(bench, until - timedelta(hours=24), until) or ():
        first, last = (_clock_min(moment, grid) for moment in (on, off))
        spans += [(first, last)] if first < last else [(first, 1440), (0, last)]
    return tuple(span for span in spans if span[0] < span[1])


def _clock_min(moment: datetime, grid: Grid) -> int:
    local = moment.astimezone(grid.zone)
    return local.hour * 60 + local.minute


def _usual(lamps: Lamps, grid: Grid, until: datetime) -> tuple[Interval, ...]:
    day = grid.dates[0]
    spans = [(at_local(day, on, grid.zone), at_local(day, off, grid.zone)) for on, off in lamps.usual]
    return tuple((on, min(off, until)) for on, off in spans if on < until)


def in_spans(grid: Grid, spans: tuple[Span, ...]) -> Mask:
    """Steps whose wall-clock start lies in any of the spans."""
    within = np.zeros(len(grid), dtype=bool)
    for start, end in spans:
        within |= (grid.minute >= start) & (grid.minute < end)
    return within


def day_seen(sky: Sky, needs: tuple[Needs | None, ...], grid: Grid) -> Array:
    """Share of each step in which plants see day, from the sun in its middle: for a year or a season."""
    short_day = np.array([n is not None and "short_day" in (n.photoperiod_class or "") for n in needs])
    angle = np.where(short_day[grid.day], DAY_SEEN_SHORT_DAY_DEG, DAY_SEEN_DEG)
    return (sky.elevation_deg > angle).astype(float)


@dataclass(frozen=True)
class DayLight:
    """Day length as lamps are planned by it. daylight : (steps,) 0..1. dark_h : by date, the least unbroken
    dark besides the crop's own need. long_day, night_break, break_share : see `LampTask`.
    """

    daylight: Array
    dark_h: tuple[float, ...]
    long_day: LongDay | None = None
    night_break: Mask | None = None
    break_share: float = 1.0


def _with_dark(needs: Needs | None, dark_h: float) -> Needs | None:
    return needs if needs is None or needs.dark_h >= dark_h else replace(needs, dark_h=dark_h)


def lamp_task(
    site: Site,
    bench: Bench,
    sky: Sky,
    *,
    grid: Grid,
    sun: Array,
    low: Array,
    set_before: AlreadySet,
    account: float,
    clearness: Sequence[float] = (),
    keep_off: Mask | None = None,
    dark: Mask | None = None,
    day: DayLight | None = None,
) -> LampTask:
    """The question put to lamp planning for a bench with lamps.

    sun : (steps,) sun at the bench. low : (days,) factor of each day's 10 % point.
    clearness : of days at this time of year, light over a clear sky's; none where that is not known.
    keep_off : (steps,) when heat or a cover forbids the lamps. dark : (steps,) under a dark cover.
    day : what the plants see of the day, and a long or short day that is to be; None = by the sun alone.
    """
    assert bench.lamps is not None
    needs = tuple(bench_needs(bench, day, site.own_needs).needs for day in grid.dates)
    allowed = in_spans(grid, bench.lamp_hours)
    seen = day_seen(sky, needs, grid) if day is None else day.daylight
    if day is not None:
        needs = tuple(_with_dark(n, dark_h) for n, dark_h in zip(needs, day.dark_h, strict=True))
    return LampTask(
        bench_id=bench.id,
        lamps=bench.lamps,
        sun_ppfd=sun,
        sun_ppfd_low=sun * low[grid.day],
        daylight=seen if dark is None else seen * ~dark,
        needs=needs,
        allowed=allowed if keep_off is None else allowed & ~keep_off,
        already=set_before.lit,
        account_mol=account,
        yesterday=set_before.yesterday,
        night_break=None if day is None else day.night_break,
        break_share=1.0 if day is None else day.break_share,
        long_day=None if day is None else day.long_day,
        usual=usual_of(
            clearness,
            sun_mol=daily_light_integral(sun, grid)[:HORIZON_DAYS],
            outdoor_mol=daily_light_integral(sky.ppfd_umol_m2_s, grid)[:HORIZON_DAYS],
            clear_mol=daily_light_integral(sky.clear_ppfd_umol_m2_s, grid),
        ),
    )
