"""Dark covers over a whole house for short days: where they suit all that stands in it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime

import numpy as np

from lightplan.advice.photoperiod.blackout import BlackoutTask, blackouts, cover_for_dark, least_cost, shared
from lightplan.advice.photoperiod.seen import DAY_H
from lightplan.clock import STEP_MIN, STEP_S
from lightplan.cover_tasks import Array, Mask
from lightplan.crops.day_length import DayKind
from lightplan.crops.limits import bench_limits
from lightplan.day_tasks import BenchDayLength, mask_spans
from lightplan.heat.runs import HouseHeat
from lightplan.heat_day import steps_wanted
from lightplan.house_covers import under
from lightplan.light import daily_light_integral
from lightplan.night_covers import KILLS_WEIGH, blackout_task, steps_between, under_cover
from lightplan.remedies import BenchDone, HouseDone, Morning, Remedies
from lightplan.site.models import Bench, Cover, House
from lightplan.standing import KeptOpen, NightCover

Seen = Mapping[str, BenchDayLength]
Done = Mapping[str, BenchDone]


def houses_covered(
    remedies: Remedies, seen: Seen, morning: Morning, *, lit: Mapping[str, Mask] | None
) -> Remedies:
    """Every house with the dark cover that is drawn over it tonight, or was last evening.

    lit : lamps as they would burn without; None = not known yet, so nothing is drawn. A house is covered
    where a bench wants a short day and has no cover of its own for it, and no bench is harmed.
    """
    houses, benches = dict(remedies.houses), dict(remedies.benches)
    for house in (h for h in morning.site.houses if h.id in houses):
        planted = [b for b in morning.site.benches if b.house == house.id and morning.needs[b.id].batches]
        nights = left = _left(planted, benches, seen)
        if lit is not None and (wanting := _wanting(planted, benches, seen, morning)):
            night = _tonight(house, houses[house.id], planted, wanting, benches, seen, morning, lit)
            if isinstance(night, NightCover):
                nights = (*left, night)
                for bench in planted:
                    own = _told(night, seen[bench.id], first=bench is wanting[0])
                    stands = under_cover(benches[bench.id].standing, bench, own, morning)
                    benches[bench.id] = replace(benches[bench.id], standing=replace(stands, night=own))
            elif night is not None:
                for bench in wanting:
                    stands = replace(benches[bench.id].standing, kept_open=night)
                    benches[bench.id] = replace(benches[bench.id], standing=stands)
        if nights:
            ready = _under_all(houses[house.id].ready, nights, morning)
            tonight = nights[-1] if len(nights) > len(left) else None
            houses[house.id] = replace(houses[house.id], ready=ready, night=tonight, left=left)
    return replace(remedies, houses=houses, benches=benches)


def _left(planted: Sequence[Bench], benches: Done, seen: Seen) -> tuple[NightCover, ...]:
    """What was drawn over the house last evening, as the bench has it that wants the shortest day."""
    strictest_last = sorted(planted, key=lambda b: -_wanted_h(seen[b.id]))
    each = [n for bench in strictest_last for n in benches[bench.id].standing.left if n.over_house]
    return tuple({(n.cover.name, n.on): n for n in each}.values())


def _wanting(planted: Sequence[Bench], benches: Done, seen: Seen, morning: Morning) -> list[Bench]:
    """Benches whose day is too long as they stand, by the sun or the yard's light; none where each of them
    has a cover of its own.
    """
    found = [bench for bench in planted if _task(bench, benches, seen, morning) is not None]
    return found if any(cover_for_dark(bench.covers) is None for bench in found) else []


def _task(bench: Bench, benches: Done, seen: Seen, morning: Morning) -> BlackoutTask | None:
    grid = morning.grid
    covered = mask_spans(benches[bench.id].standing.dark, grid)
    return blackout_task(
        morning.site, seen[bench.id], lit=(), covered=covered, grid=grid, window=morning.window
    )


def _tonight(
    house: House,
    done: HouseDone,
    planted: Sequence[Bench],
    wanting: Sequence[Bench],
    benches: Done,
    seen: Seen,
    morning: Morning,
    lit: Mapping[str, Mask],
) -> NightCover | KeptOpen | None:
    """The cover and its times, or whom it would harm; None where none is at hand or nobody is there."""
    names = {cover.name for bench in planted for cover in bench.covers}
    cover = cover_for_dark(tuple(c for c in house.covers if c.name not in names), where="house")
    if cover is None:
        return None
    tasks = [_task(bench, benches, seen, morning) for bench in wanting]
    candidates = shared([blackouts(task) for task in tasks if task is not None])
    if done.cover is not None and done.cover.what == cover.name:  # it may not be drawn twice at once
        candidates = tuple(c for c in candidates if c.on >= done.cover.off.timestamp())
    if not candidates:
        return None
    grid = morning.grid
    drawn = np.array([steps_between(c.on, c.off, grid) for c in candidates])
    left_open = _harmed(planted, wanting, benches, seen, morning, lit, drawn, cover)
    if isinstance(left_open, KeptOpen):
        return left_open
    candidates, drawn = tuple(c for c, ok in zip(candidates, left_open, strict=True) if ok), drawn[left_open]
    passes = sum(cover.transmittance) / 2
    suns = np.array([benches[b.id].standing.sun_ppfd for b in planted])
    lost = (drawn @ suns.T).sum(axis=1) * (1 - passes) * STEP_S / 1e6
    over, peaks = _heat_under(planted, done, benches, morning, cover, drawn)
    n = least_cost(candidates, over, lost)
    chosen = candidates[n]
    worst = max(wanting, key=lambda b: _too_much(seen[b.id]))
    return NightCover(
        cover=cover,
        on=datetime.fromtimestamp(chosen.on, grid.zone),
        off=datetime.fromtimestamp(chosen.off, grid.zone),
        dark_h=chosen.dark_h,
        day_h=_day_h(seen[worst.id]),
        wanted_h=_wanted_h(seen[worst.id]),
        peak_c=float(peaks[n]),
        leak_ppfd=float((suns * (drawn[n] > 0)).max()) * cover.transmittance[1],
        over_house=True,
    )


def _harmed(
    planted: Sequence[Bench],
    wanting: Sequence[Bench],
    benches: Done,
    seen: Seen,
    morning: Morning,
    lit: Mapping[str, Mask],
    drawn: Array,
    cover: Cover,
) -> Mask | KeptOpen:
    """(ways,) that harm no bench, or what stands in the way of all: a crop that wants a long day, lamps that
    burn under it, light that a bench then lacks of its minimum on a poor day.
    """
    others = [bench for bench in planted if bench not in wanting]
    for bench in others:
        aim = seen[bench.id].aim
        if seen[bench.id].turned:
            return KeptOpen("turned", bench.name)
        if aim is not None and aim.kind is DayKind.LONG:
            return KeptOpen("long-day", bench.name)
    good = np.ones(len(drawn), dtype=bool)
    low, passes = float(morning.spread.low[0]), sum(cover.transmittance) / 2
    for bench in others:
        burns = lit.get(bench.id, np.zeros(len(morning.grid), dtype=bool))
        good &= ~((drawn > 0) & burns).any(axis=1)
        if not good.any():
            return KeptOpen("lit", bench.name)
        need, sun = morning.needs[bench.id].needs, benches[bench.id].standing.sun_ppfd
        if need is None or need.minimum is None or bench.lamps is not None:
            continue
        now = float(daily_light_integral(sun, morning.grid)[0]) * low
        then = [
            float(daily_light_integral(sun * (1 - d * (1 - passes)), morning.grid)[0]) * low for d in drawn
        ]
        good &= (np.array(then) >= need.minimum) | (now < need.minimum)
        if not good.any():
            return KeptOpen("light", bench.name)
    return good


def _heat_under(
    planted: Sequence[Bench], done: HouseDone, benches: Done, morning: Morning, cover: Cover, drawn: Array
) -> tuple[Array, Array]:
    """(ways,) minutes over the limits of all benches under the cover, and the highest peak after sunset."""
    steps = len(done.ready.outdoor_c)
    over_it, passes = (drawn[:, :steps] > 0).T, sum(cover.transmittance) / 2
    air = under(done.ready, cover, over_it, passes).air_c()
    over, peaks = np.zeros(len(drawn)), np.full(len(drawn), -np.inf)
    for bench in planted:
        heat, limits = (
            benches[bench.id].heat,
            bench_limits(bench, morning.grid.dates[0], morning.site.own_needs),
        )
        if heat is None or limits is None:
            continue
        states = benches[bench.id].standing.states
        passed = 1.0 if states is None else states.passed.T
        felt = heat.felt_c(
            air, lit=np.zeros(steps, dtype=bool), passes=np.where(over_it, passes, 1.0) * passed
        )
        for limit, weight in ((limits.temperature_upper_c, KILLS_WEIGH), (limits.temperature_c, 1.0)):
            if limit is not None:
                over += ((felt > limit) & over_it).sum(axis=0) * STEP_MIN * weight
        night = over_it & (benches[bench.id].standing.sun_ppfd[:steps] <= 0)[:, None]
        peaks = np.maximum(peaks, np.where(night, felt, -np.inf).max(axis=0))
    return over, peaks


def _under_all(ready: HouseHeat, nights: Sequence[NightCover], morning: Morning) -> HouseHeat:
    """The house's heat with each of them over it."""
    grid, steps = morning.grid, steps_wanted(morning.grid, morning.window)
    for night in nights:
        lies = steps_between(night.on.timestamp(), night.off.timestamp(), grid)[:steps] > 0
        ready = under(ready, night.cover, lies, sum(night.cover.transmittance) / 2)
    return ready


def _told(night: NightCover, seen: BenchDayLength, *, first: bool) -> NightCover:
    """The house's cover as one bench has it: its own day without it. Heat and leaks are told of the first."""
    told = replace(night, day_h=_day_h(seen))
    return told if first else replace(told, peak_c=None, leak_ppfd=0.0)


def _day_h(seen: BenchDayLength) -> float:
    return seen.seen_h(seen.dark(lit=(), covered=()))


def _wanted_h(seen: BenchDayLength) -> float:
    """At most; 24 where no short day is wanted."""
    return seen.aim.wanted_h if seen.aim is not None and seen.aim.kind is DayKind.SHORT else DAY_H


def _too_much(seen: BenchDayLength) -> float:
    return _day_h(seen) - _wanted_h(seen)
