"""Lamps that make a day long, or must not: what lamp planning is told of each bench."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from lightplan.advice.lamps.task import LongDay
from lightplan.advice.photoperiod.measure import (
    LONG_DAY_PPFD,
    LongDayTask,
    Measure,
    break_span,
    cyclic_share,
    least_measure,
)
from lightplan.advice.photoperiod.seen import DAY_H, LIGHT_SEEN_PPFD, Spans
from lightplan.advice.photoperiod.spill import spill_ppfd
from lightplan.clock import STEP_S, Grid, Window
from lightplan.crops.day_length import DayKind
from lightplan.crops.needs import BenchNeeds
from lightplan.crops.rows import light_row
from lightplan.day_tasks import BenchDayLength, daylight, mask_spans
from lightplan.lamp_tasks import DayLight, in_spans
from lightplan.light import daily_light_integral
from lightplan.site.models import Bench, Power, Site

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]


def day_lights(
    site: Site,
    seen: Mapping[str, BenchDayLength],
    needs: Mapping[str, BenchNeeds],
    sun: Mapping[str, Array],
    *,
    grid: Grid,
    window: Window | None,
    power: Power | None,
    low: float,
    now: datetime,
) -> dict[str, DayLight]:
    """By bench with lamps: what they see of the day, and the long or short day to be kept.

    sun : (steps,) at each bench. low : factor of the date's 10 % point. now : when the sheet is made.
    power : without that of benches whose lamps go by a plan of their own.
    Broken nights go round the benches in their order while the breaker bears them beside the lamps that seed
    may want by night; the rest is drawn out instead.
    """
    most_kw = power.lamps_kw_at_most if power else None
    left_kw = np.inf if most_kw is None else most_kw
    left_kw -= sum(_draw_kw(b) for b in site.benches if _lights_seed(needs[b.id]))
    found = {}
    for bench in (b for b in site.benches if b.lamps is not None):
        draw_kw = _draw_kw(bench)
        one = _day_light(
            bench,
            seen[bench.id],
            needs[bench.id],
            sun[bench.id],
            grid=grid,
            window=window,
            may_break=draw_kw <= left_kw + 1e-9,
            low=low,
            now=now,
        )
        if one.night_break is not None:
            left_kw -= draw_kw
        found[bench.id] = one
    return found


def _draw_kw(bench: Bench) -> float:
    return 0.0 if bench.lamps is None else bench.lamps.power_kw * bench.lamps.working


def _lights_seed(needs: BenchNeeds) -> bool:
    return needs.needs is not None and needs.needs.germination is not None and needs.needs.lamps_allowed


def _day_light(
    bench: Bench,
    seen: BenchDayLength,
    needs: BenchNeeds,
    sun: Array,
    *,
    grid: Grid,
    window: Window | None,
    may_break: bool,
    low: float,
    now: datetime,
) -> DayLight:
    shares = daylight(seen, grid)
    short_h = [
        DAY_H - aim.wanted_h if aim is not None and aim.kind is DayKind.SHORT else 0.0 for aim in seen.aims
    ]
    plain = DayLight(shares, tuple(short_h))
    aim = seen.aim
    if aim is None or aim.kind is DayKind.SHORT or window is None or bench.lamps is None:
        return plain
    breaks = _breaks(bench, seen, grid=grid, window=window, now=now)
    light_h = _light_h(bench, needs, sun, grid, low)
    one_pair = bench.lamps.pairs < 2 and light_h > 0  # can't both break the night and bring light
    all_night = bench.stray_ppfd_umol_m2_s >= LONG_DAY_PPFD  # of yard light, which is a long day then
    task = LongDayTask(
        natural_h=DAY_H if all_night else seen.natural_h,
        wanted_h=aim.wanted_h,
        light_h=light_h,
        lamps_ppfd=bench.lamps.ppfd_now_umol_m2_s,
        kind=bench.lamps.kind,
        minutes=bench.lamps.switch == "remote",
        by_timer=bench.lamps.switch != "hand",
        night_free=breaks is not None and may_break and not one_pair,
        perennial=_perennial(aim.crop),
    )
    measure = least_measure(task)
    if measure is Measure.NONE:
        return plain
    long_day = LongDay(seen.natural_h, aim.wanted_h, aim.crop)
    if measure is Measure.EXTENSION:
        return DayLight(shares, tuple(short_h), long_day)
    share = cyclic_share(perennial=task.perennial) if measure is Measure.CYCLIC else 1.0
    return DayLight(shares, tuple(short_h), long_day, breaks, share)


def _perennial(crop: str) -> bool:
    row = light_row(crop)
    return row is not None and row["crop_group"] == "perennial"


def _light_h(bench: Bench, needs: BenchNeeds, sun: Array, grid: Grid, low: float) -> float:
    """Lamp hours that the day's target asks for, or its minimum on a poor day."""
    assert bench.lamps is not None
    need, sun_mol = needs.needs, float(daily_light_integral(sun, grid)[0])
    if need is None or need.target is None:
        return 0.0
    lacking = max(need.target - sun_mol, (need.minimum or 0.0) - sun_mol * low)
    return max(0.0, lacking) / (bench.lamps.ppfd_now_umol_m2_s * 3600 / 1e6)


def _breaks(bench: Bench, seen: BenchDayLength, *, grid: Grid, window: Window, now: datetime) -> Mask | None:
    """Steps in which nights are broken while this setting holds; None where lamps may not run in them.

    A timer keeps one clock time, so all nights of a window are broken at the first one's. One that is being
    broken already (a sheet made late, or at midnight) is broken to its end.
    """
    assert bench.lamps is not None
    on, off = (at - 86400.0 for at in break_span(*seen.tonight))
    begin, end = window.start.timestamp(), window.end.timestamp()
    first = grid.moment(0).timestamp()
    if bench.lamps.switch == "remote":
        begin = min(begin, max(first, now.timestamp()))
    mask = np.zeros(len(grid), dtype=bool)
    while off <= end:
        since, until = ((at - first) / STEP_S for at in (max(on, begin), off))
        mask[math.ceil(since - 1e-9) : max(0, round(until))] = True
        on, off = on + 86400.0, off + 86400.0
    allowed = in_spans(grid, bench.lamp_hours)
    return mask if mask.any() and allowed[mask].all() else None


def spilled(site: Site, lit: Mapping[str, Mask], grid: Grid) -> dict[str, Spans]:
    """By bench, when light of other lamps in its house reaches it, where the places of both are known.

    Several lamps that are each too far add up, with the yard's light too.
    """
    ppfd: dict[str, Array] = {}
    for source, beside in neighbours(site):
        thrown = spill_ppfd(source, beside)
        if thrown is not None and source.id in lit:
            ppfd.setdefault(beside.id, np.zeros(len(grid)))
            ppfd[beside.id] += thrown * lit[source.id]
    stray = {bench.id: bench.stray_ppfd_umol_m2_s for bench in site.benches}
    seen = {b: (light > 0) & (light + stray[b] >= LIGHT_SEEN_PPFD) for b, light in ppfd.items()}
    return {bench: mask_spans(mask, grid) for bench, mask in seen.items() if mask.any()}


def neighbours(site: Site) -> Iterable[tuple[Bench, Bench]]:
    """A bench with lamps, and another in its house."""
    for source in (b for b in site.benches if b.lamps is not None):
        for beside in site.benches:
            if beside.id != source.id and beside.house == source.house:
                yield source, beside
