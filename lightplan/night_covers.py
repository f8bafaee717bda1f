"""Dark covers that make a short day: when they lie, and how a bench stands under them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta

import numpy as np

from lightplan.advice.covers import States
from lightplan.advice.photoperiod.blackout import (
    Blackout,
    BlackoutTask,
    blackouts,
    cover_for_dark,
    least_cost,
)
from lightplan.advice.photoperiod.seen import DAY_H, Spans
from lightplan.clock import STEP_MIN, STEP_S, Grid, Window, at_local
from lightplan.cover_tasks import AirBySun, Array, Mask, climate_of
from lightplan.crops.day_length import DayKind
from lightplan.crops.limits import bench_limits
from lightplan.day_tasks import BenchDayLength, mask_spans
from lightplan.heat.covers import absorbed, is_airy
from lightplan.heat.runs import BenchHeat
from lightplan.heat_day import steps_wanted
from lightplan.remedies import Morning, Remedies
from lightplan.site.models import Bench, Cover, Site
from lightplan.standing import Lying, NightCover, Standing, lamps_out

SLIGHT_H = 0.02  # a minute too much of day is no reason to lay a cover
KILLS_WEIGH = 100.0  # a minute over the second step of the limit beside one over the first; judgement


def with_last_nights(remedies: Remedies, seen: Mapping[str, BenchDayLength], morning: Morning) -> Remedies:
    """Every bench with the dark cover that was laid on it or over its house last evening."""
    benches = {
        bench.id: replace(done, standing=_with_left(done.standing, bench, seen[bench.id], morning))
        for bench in morning.site.benches
        if (done := remedies.benches.get(bench.id)) is not None
    }
    return replace(remedies, benches=benches)


def nights_covered(
    remedies: Remedies, seen: Mapping[str, BenchDayLength], morning: Morning, *, spill: Mapping[str, Spans]
) -> Remedies:
    """Every bench with what is laid on it to make its day short tonight.

    spill : when light of other benches' lamps reaches a bench.
    """
    benches = dict(remedies.benches)
    air = {house: AirBySun(done.ready) for house, done in remedies.houses.items()}
    for bench in (b for b in morning.site.benches if b.id in benches):
        done, here = benches[bench.id], seen[bench.id]
        stands = done.standing
        lit = spill.get(bench.id, ())
        night = night_cover(bench, here, stands, morning, lit=lit, air=air[bench.house], heat=done.heat)
        if night is not None:
            stands = replace(under_cover(stands, bench, night, morning), night=night)
            benches[bench.id] = replace(done, standing=stands)
    return replace(remedies, benches=benches)


def covered_anew(before: Remedies, after: Remedies) -> bool:
    """Whether light of the neighbours' lamps asks for a cover that the sun alone did not."""
    return any(done.standing.night != after.standing(bench).night for bench, done in before.benches.items())


def blackout_task(
    site: Site, seen: BenchDayLength, *, lit: Spans, covered: Spans, grid: Grid, window: Window | None
) -> BlackoutTask | None:
    """The question of a short day tonight; None where none is wanted, or the day is short as it is.

    covered : something dark lies on the bench already.
    """
    aim = seen.aim
    if aim is None or aim.kind is not DayKind.SHORT or window is None or seen.turned:
        return None
    if seen.seen_h(seen.dark(lit=lit, covered=covered)) <= aim.wanted_h + SLIGHT_H:
        return None
    today, zone = grid.dates[0], site.timezone
    hours, after = site.crew_on(today), site.crew_on(today + timedelta(days=1))
    begin = max(window.start.timestamp(), seen.start)
    evening = morning = None
    if hours is not None and (end := at_local(today, hours[1], zone).timestamp()) >= begin:
        evening = (begin, end)
    if after is not None:
        first, last = (at_local(today + timedelta(days=1), minute, zone).timestamp() for minute in after)
        morning = (first, max(first, min(last, seen.end)))
    always = ((seen.start - 86400.0, seen.end + 86400.0),) if seen.stray else ()
    return BlackoutTask(
        night=seen.nights.spans(),
        lit=(*lit, *always),
        start=seen.start,
        end=seen.end,
        wanted_dark_h=DAY_H - aim.wanted_h,
        evening=evening,
        morning=morning,
        covered=covered,
    )


def night_cover(
    bench: Bench,
    seen: BenchDayLength,
    standing: Standing,
    morning: Morning,
    *,
    lit: Spans,
    air: AirBySun,
    heat: BenchHeat | None,
) -> NightCover | None:
    """The cover for tonight; None where none is wanted, at hand, or can be taken off in time."""
    grid = morning.grid
    covered = mask_spans(standing.dark, grid)
    task = blackout_task(morning.site, seen, lit=lit, covered=covered, grid=grid, window=morning.window)
    cover = cover_for_dark(bench.covers)
    if task is None or cover is None:
        return None
    candidates = free_times(blackouts(task), standing.lying, cover, dusk=seen.tonight[0])
    if cover is None or not candidates or seen.aim is None:
        return None
    passes = sum(cover.transmittance) / 2
    drawn = np.array([steps_between(c.on, c.off, grid) for c in candidates])
    lost = (drawn * standing.sun_ppfd).sum(axis=1) * (1 - passes) * STEP_S / 1e6
    over, peaks = np.zeros(len(candidates)), None
    if heat is not None:
        over, peaks = _heat_under(bench, standing, cover, drawn, morning=morning, air=air, heat=heat)
    n = least_cost(candidates, over, lost)
    chosen: Blackout = candidates[n]
    zone = grid.zone
    return NightCover(
        cover=cover,
        on=datetime.fromtimestamp(chosen.on, zone),
        off=datetime.fromtimestamp(chosen.off, zone),
        dark_h=chosen.dark_h,
        day_h=seen.seen_h(seen.dark(lit=lit, covered=())),
        wanted_h=seen.aim.wanted_h,
        peak_c=None if peaks is None else float(peaks[n]),
        leak_ppfd=float((standing.sun_ppfd * (drawn[n] > 0)).max()) * cover.transmittance[1],
    )


def free_times(
    candidates: tuple[Blackout, ...], lying: Sequence[Lying], cover: Cover, *, dusk: float
) -> tuple[Blackout, ...]:
    """Those at which the cover is not in use for something else; where it can be, after all that lies by day.

    dusk : UTC seconds; what is off again before it lies by day.
    """
    used = [(one.on.timestamp(), one.off.timestamp()) for one in lying if one.what == cover.name]
    free = tuple(c for c in candidates if not any(on < c.off and c.on < off for on, off in used))
    busy = max((off for one in lying if (off := one.off.timestamp()) < dusk), default=0.0)
    return tuple(c for c in free if c.on >= busy) or free


def steps_between(on_s: float, off_s: float, grid: Grid) -> Array:
    edge = grid.moment(0).timestamp() + STEP_S * np.arange(len(grid) + 1)
    return np.asarray(np.clip(np.minimum(off_s, edge[1:]) - np.maximum(on_s, edge[:-1]), 0.0, None) / STEP_S)


def _heat_under(
    bench: Bench,
    standing: Standing,
    cover: Cover,
    drawn: Array,
    *,
    morning: Morning,
    air: AirBySun,
    heat: BenchHeat,
) -> tuple[Array, Array]:
    """(candidates,) minutes over the limits under the cover, and its peak once the sun is down."""
    steps = len(air.house.outdoor_c)
    limits = bench_limits(bench, morning.grid.dates[0], morning.site.own_needs)
    over_it = drawn[:, :steps] > 0
    states = _states_under(standing.states, over_it, cover, steps)
    felt = climate_of(air, heat, np.zeros(steps, dtype=bool))(states, np.ones(len(drawn)))
    over = np.zeros(len(drawn))
    if limits is not None:
        for limit, weight in ((limits.temperature_upper_c, KILLS_WEIGH), (limits.temperature_c, 1.0)):
            if limit is not None:
                over += ((felt > limit) & over_it).sum(axis=1) * STEP_MIN * weight
    by_night = over_it & (standing.sun_ppfd[:steps] <= 0)
    return over, np.where(by_night, felt, -np.inf).max(axis=1)


def _states_under(states: States | None, over_it: Mask, cover: Cover, steps: int) -> States:
    """How the bench stands, with the cover over it besides. over_it : (ways, steps).

    Of one over the whole house it feels the shade alone; what that makes of the air is the house's.
    """
    still, here = np.zeros((1, steps)), cover.where == "bench"
    base = states or States(np.zeros((1, steps), dtype=np.int64), still + 1.0, still, still, still)
    passes = sum(cover.transmittance) / 2
    return States(
        tent=base.tent,
        passed=np.where(over_it, base.passed * passes, base.passed),
        absorbed=np.where(over_it & here, absorbed(cover, passes), base.absorbed),
        r_m2k_w=np.where(over_it & here, base.r_m2k_w + cover.r_m2k_w, base.r_m2k_w),
        airy=np.where(over_it & here, float(is_airy(cover)), base.airy),
    )


def under_cover(standing: Standing, bench: Bench, night: NightCover, morning: Morning) -> Standing:
    """The bench with the cover over it: less sun, dark, lamps kept off, its heat held back."""
    grid, steps = morning.grid, steps_wanted(morning.grid, morning.window)
    lies = steps_between(night.on.timestamp(), night.off.timestamp(), grid)
    cover = night.cover
    passes = sum(cover.transmittance) / 2
    lamps_off = standing.lamps_off | (lies > 0)
    if lies.any():
        under = np.flatnonzero(lies)
        lamps_off |= lamps_out(bench.lamps, (cover,), int(under[0]), int(under[-1]) + 1, len(grid))
    return replace(
        standing,
        sun_ppfd=standing.sun_ppfd * (1 - lies * (1 - passes)),
        dark=standing.dark | ((lies >= 1) & cover.dark),
        lamps_off=lamps_off,
        states=_states_under(standing.states, (lies > 0)[None, :steps], cover, steps),
    )


def _with_left(standing: Standing, bench: Bench, seen: BenchDayLength, morning: Morning) -> Standing:
    """What was laid on last evening lies until this morning; what was this evening, until the next."""
    found, zone, window = [], morning.grid.zone, morning.window
    for on in morning.history.night_covers.get(bench.id, ()):
        known = (*bench.covers, *morning.site.house(bench.house).covers)
        cover = next((c for c in known if c.name == on.cover), None)
        if cover is None or (window is not None and on.on >= window.start):  # the latter is planned anew
            continue
        dark_h = (on.off.timestamp() - on.on.timestamp()) / 3600
        wanted_h = DAY_H - dark_h if seen.aim is None else seen.aim.wanted_h
        night = NightCover(
            cover=cover,
            on=on.on.astimezone(zone),
            off=on.off.astimezone(zone),
            dark_h=dark_h,
            day_h=seen.natural_h,
            wanted_h=wanted_h,
            is_off=window is not None and on.off < window.start,
            over_house=cover.where == "house",
        )
        found.append(night)
        standing = under_cover(standing, bench, night, morning)
    return replace(standing, left=tuple(found))
