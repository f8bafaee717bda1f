"""What is to be said of a bench's day length: too long, too short, why, and what would put it right."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from lightplan.advice.photoperiod.blackout import blackouts
from lightplan.advice.photoperiod.measure import LONG_DAY_PPFD, SLIGHT_H
from lightplan.advice.photoperiod.seen import LIGHT_SEEN_PPFD, Spans, share_dark
from lightplan.advice.photoperiod.spill import reach_m, spill_ppfd
from lightplan.clock import STEP_S, Grid, Window
from lightplan.crops.day_length import DayAim, DayKind, rule_value
from lightplan.day_tasks import BenchDayLength, mask_spans
from lightplan.dayplan import Note
from lightplan.long_days import neighbours
from lightplan.night_covers import blackout_task
from lightplan.remedies import Remedies
from lightplan.site.models import Bench, Site
from lightplan.standing import Standing

Mask = NDArray[np.bool_]

WARM_NIGHT_C = rule_value("blackout_heat_limit")  # under a cover; flowers are delayed from there on (memory)
LEAK_PPFD = rule_value("blackout_leak", "high")  # what a cover may let through (memory)


@dataclass(frozen=True)
class DaySeen:
    """A bench's day as ordered. hours : that plants see. own, spill : of its own and other lamps.

    dark : what is dark to it with all that.
    """

    hours: float
    own: Spans
    spill: Spans
    dark: Spans


def day_seen_of(
    seen: BenchDayLength, standing: Standing, *, lit: Mask | None, spill: Spans, grid: Grid
) -> DaySeen:
    """lit : (steps,) its own lamps, as set and as ordered. spill : light of others, a rule of thumb: counted
    where it would spoil a short day, and nowhere else.
    """
    spill = spill if seen.aim is not None and seen.aim.kind is DayKind.SHORT else ()
    lamps = seen.bench.lamps
    own = () if lit is None or lamps is None else mask_spans(lit, grid)
    counted = lamps is not None and lamps.ppfd_now_umol_m2_s >= LIGHT_SEEN_PPFD
    in_tent = lamps is not None and lamps.place == "in-tent"
    covered = mask_spans(standing.dark, grid)
    above = (*spill, *(() if in_tent or not counted else own))
    dark = seen.dark(lit=above, covered=covered, under=own if in_tent and counted else ())
    return DaySeen(seen.seen_h(dark), own, spill, dark)


def ordered_on(on: Mask, stop: int) -> Mask:
    """Lamps as this sheet has them: past its window's end what burns then, but nothing that begins later."""
    found = on.copy()
    unlit = np.flatnonzero(~on[max(stop - 1, 0) :])
    if len(unlit):
        found[max(stop, stop - 1 + int(unlit[0])) :] = False
    return found


def days_as_ordered(
    seen: Mapping[str, BenchDayLength],
    remedies: Remedies,
    lit: Mapping[str, Mask],
    spill: Mapping[str, Spans],
    grid: Grid,
) -> dict[str, DaySeen]:
    """By bench. lit : lamps as set and as ordered. spill : when light of others reaches it."""
    return {
        bench: day_seen_of(
            here, remedies.standing(bench), lit=lit.get(bench), spill=spill.get(bench, ()), grid=grid
        )
        for bench, here in seen.items()
    }


def day_notes(
    site: Site,
    seen: BenchDayLength,
    day: DaySeen,
    standing: Standing,
    *,
    lit: Mapping[str, Mask],
    grid: Grid,
    window: Window | None,
) -> Iterator[Note]:
    """lit : lamps of every bench, as set and as ordered."""
    aim = seen.aim
    if aim is None:
        return
    for other in seen.against:
        yield Note("day-contrary", (("crop", aim.crop), ("other", other.crop)))
    if aim.kind is DayKind.SHORT:
        if day.hours > aim.wanted_h + SLIGHT_H:
            yield _too_long(site, seen, day, aim, standing, lit=lit, grid=grid, window=window)
        else:
            yield from _near_lamps(site, seen, day, standing, lit=lit, grid=grid)
        yield from _under_cover(standing)
    elif day.hours < aim.wanted_h - SLIGHT_H and (aim.obligate or seen.bench.lamps is not None):
        # a crop that flowers anyhow, if later, is no word a day where there is nothing to do it with
        values = (("crop", aim.crop), ("hours", day.hours), ("critical", aim.wanted_h))
        yield Note("day-too-short", (*values, ("flowers", aim.flowers), ("because", _too_short(seen))))


def _too_long(
    site: Site,
    seen: BenchDayLength,
    day: DaySeen,
    aim: DayAim,
    standing: Standing,
    *,
    lit: Mapping[str, Mask],
    grid: Grid,
    window: Window | None,
) -> Note:
    """What makes the day too long besides the sun, and what would help."""
    covered = mask_spans(standing.dark, grid)
    without_spill = seen.seen_h(seen.dark(lit=day.own, covered=covered))
    cause, by = "sun", ""
    if seen.stray:
        cause, by = "stray", f"{seen.bench.stray_ppfd_umol_m2_s:g}"
    elif without_spill < day.hours - SLIGHT_H:
        down = share_dark(seen.nights.spans(), grid.moment(0).timestamp(), float(STEP_S), len(grid)) > 0
        by_night = {bench: on & down for bench, on in lit.items()}
        cause, by = "spill", _brightest(site, seen.bench, by_night)
    elif seen.natural_h < day.hours - SLIGHT_H:
        cause = "lamps"
    at_hand = any(c.dark and c.night and c.where == "bench" for c in seen.bench.covers)
    task = blackout_task(site, seen, lit=day.spill, covered=covered, grid=grid, window=window)
    would_do = blackouts(task) if task is not None else ()
    values: tuple[tuple[str, object], ...] = (
        ("crop", aim.crop),
        ("flowers", aim.flowers),
        ("hours", day.hours),
        ("critical", aim.wanted_h),
        ("cause", cause),
        ("by", by),
        ("natural", seen.natural_h),
        ("help", "nobody" if not would_do else "at-hand" if at_hand else "cover"),
        ("kept_open", standing.kept_open.reason if standing.kept_open else ""),
        ("for_bench", standing.kept_open.bench if standing.kept_open else ""),
    )
    if would_do:
        times = would_do[-1]
        values += (("on", _at(times.on, grid)), ("off", _at(times.off, grid)))
    return Note("day-too-long", values)


def _at(moment_s: float, grid: Grid) -> datetime:
    return datetime.fromtimestamp(moment_s, grid.zone)


def _brightest(site: Site, bench: Bench, lit: Mapping[str, Mask]) -> str:
    """Name of the lit neighbour whose lamps throw most on it."""
    found = [
        (ppfd, source.name)
        for source, beside in neighbours(site)
        if beside.id == bench.id and source.id in lit and lit[source.id].any()
        if (ppfd := spill_ppfd(source, beside)) is not None
    ]
    return max(found)[1] if found else ""


def _near_lamps(
    site: Site,
    seen: BenchDayLength,
    day: DaySeen,
    standing: Standing,
    *,
    lit: Mapping[str, Mask],
    grid: Grid,
) -> Iterator[Note]:
    """Neighbours lit in the bench's dark, under no cover of its own, that stand nobody knows how far away."""
    first, steps = grid.moment(0).timestamp(), len(grid)
    within = tuple((max(a, seen.start), min(b, seen.end)) for a, b in day.dark)
    open_to = (share_dark(within, first, float(STEP_S), steps) > 0) & ~standing.dark
    names, reach = [], 0.0
    for source, beside in neighbours(site):
        burns = source.id in lit and bool((lit[source.id] & open_to).any())
        if beside.id != seen.bench.id or not burns or spill_ppfd(source, beside) is not None:
            continue
        assert source.lamps is not None
        names.append(source.name)
        reach = max(reach, reach_m(source, source.lamps, LIGHT_SEEN_PPFD))
    if names:
        yield Note("spill-unknown", (("by", tuple(names)), ("reach", reach)))


def _under_cover(standing: Standing) -> Iterator[Note]:
    night = standing.night
    if night is None:
        return
    if night.peak_c is not None and night.peak_c > WARM_NIGHT_C:
        yield Note("blackout-warm", (("peak", night.peak_c), ("limit", WARM_NIGHT_C)))
    if round(night.leak_ppfd, 1) > LEAK_PPFD:
        yield Note("blackout-leaks", (("leak", night.leak_ppfd), ("limit", LEAK_PPFD)))


def _too_short(seen: BenchDayLength) -> str:
    lamps = seen.bench.lamps
    if lamps is None:
        return "no-lamps"
    if lamps.ppfd_now_umol_m2_s < LONG_DAY_PPFD:
        return "lamp-light"
    if lamps.switch == "hand":
        return "switching"
    return "lamp-hours" if seen.bench.lamp_hours != ((0, 1440),) else "capacity"
