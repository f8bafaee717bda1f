"""Lamps that make a day long, or must not: what lamp planning is told of each bench."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

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
from lightplan.site.models import Bench, Site

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
) -> dict[str, DayLight]:
    """By bench with lamps: what they see of the day, and the long or short day to be kept.

    sun : (steps,) at each bench. Broken nights go round the benches in their order while the breaker bears
    them; the rest is drawn out instead.
    """
    most_kw = site.power.lamps_kw_at_most if site.power else None
    left_kw = np.inf if most_kw is None else most_kw
    found = {}
    for bench in (b for b in site.benches if b.lamps is not None):
        assert bench.lamps is not None
        draw_kw = bench.lamps.power_kw * bench.lamps.working
        one = _day_light(
            bench,
            seen[bench.id],
            needs[bench.id],
            sun[bench.id],
            grid=grid,
            window=window,
            may_break=draw_kw <= left_kw + 1e-9,
        )
        if one.night_break is not None:
            left_kw -= draw_kw
        found[bench.id] = one
    return found


def _day_light(
    bench: Bench,
    seen: BenchDayLength,
    needs: BenchNeeds,
    sun: Array,
    *,
    grid: Grid,
    window: Window | None,
    may_break: bool,
) -> DayLight:
    shares = daylight(seen, grid)
    short_h = [
        DAY_H - aim.wanted_h if aim is not None and aim.kind is DayKind.SHORT else 0.0 for aim in seen.aims
    ]
    plain = DayLight(shares, tuple(short_h))
    aim = seen.aim
    if aim is None or aim.kind is DayKind.SHORT or window is None or bench.lamps is None:
        return plain
    breaks = _breaks(bench, seen, grid, window)
    all_night = bench.stray_ppfd_umol_m2_s >= LONG_DAY_PPFD  # of yard light, which is a long day then
    task = LongDayTask(
        natural_h=DAY_H if all_night else seen.natural_h,
        wanted_h=aim.wanted_h,
        light_h=_light_h(bench, needs, sun, grid),
        lamps_ppfd=bench.lamps.ppfd_now_umol_m2_s,
        kind=bench.lamps.kind,
        minutes=bench.lamps.switch == "remote",
        by_timer=bench.lamps.switch != "hand",
        night_free=breaks is not None and may_break,
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


def _light_h(bench: Bench, needs: BenchNeeds, sun: Array, grid: Grid) -> float:
    """Lamp hours that the day's target asks for."""
    assert bench.lamps is not None
    if needs.needs is None or needs.needs.target is None:
        return 0.0
    lacking = needs.needs.target - float(daily_light_integral(sun, grid)[0])
    return max(0.0, lacking) / (bench.lamps.ppfd_now_umol_m2_s * 3600 / 1e6)


def _breaks(bench: Bench, seen: BenchDayLength, grid: Grid, window: Window) -> Mask | None:
    """Steps of the broken nights that begin in the window; None where lamps may not run in them.

    A timer keeps one clock time, so all nights of a window are broken at the first one's.
    """
    on, off = break_span(*seen.tonight)
    begin, end = window.start.timestamp(), window.end.timestamp()
    first = grid.moment(0).timestamp()
    mask = np.zeros(len(grid), dtype=bool)
    while off <= end:
        if on >= begin:
            mask[round((on - first) / STEP_S) : round((off - first) / STEP_S)] = True
        on, off = on + 86400.0, off + 86400.0
    allowed = in_spans(grid, bench.lamp_hours)
    return mask if mask.any() and allowed[mask].all() else None


def spilled(site: Site, lit: Mapping[str, Mask], grid: Grid) -> dict[str, Spans]:
    """By bench, when light of other lamps in its house reaches it, where the places of both are known."""
    found: dict[str, list[tuple[float, float]]] = {}
    for source, beside in neighbours(site):
        ppfd = spill_ppfd(source, beside)
        if ppfd is not None and ppfd >= LIGHT_SEEN_PPFD and source.id in lit:
            found.setdefault(beside.id, []).extend(mask_spans(lit[source.id], grid))
    return {bench: tuple(spans) for bench, spans in found.items()}


def neighbours(site: Site) -> Iterable[tuple[Bench, Bench]]:
    """A bench with lamps, and another in its house."""
    for source in (b for b in site.benches if b.lamps is not None):
        for beside in site.benches:
            if beside.id != source.id and beside.house == source.house:
                yield source, beside
