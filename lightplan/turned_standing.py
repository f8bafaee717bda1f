"""How a bench stands whose day is turned round, when its lamps burn, and what its own day comes to."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime

import numpy as np
from numpy.typing import NDArray

from lightplan.account import SLIGHT_MOL, account_after
from lightplan.advice.covers import States, Tent
from lightplan.advice.inversion.weeks import LONG_MIN
from lightplan.clock import STEPS_PER_H, Grid, at_local
from lightplan.dayplan import BenchDay, CoverTime, Dli, Note, Reason
from lightplan.heat.covers import absorbed, is_airy
from lightplan.light import BenchLight
from lightplan.site.models import Cover, Site
from lightplan.standing import Standing
from lightplan.turned_benches import TurnedBench
from lightplan.weather.table import Spread

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

DARK_BY_DAY = Reason("inverted-dark")
SHADE_BEFORE_DARK = Reason("inverted-shade")


@dataclass(frozen=True)
class Laid:
    """A cover over the bench from one instant to another."""

    cover: Cover
    on: datetime
    off: datetime
    reason: Reason


def laid_on(turned: TurnedBench, day: date, site: Site) -> tuple[Laid, ...]:
    """What lies over the bench on a date, in the order in which it is laid; the dark cover is the last."""
    asked = turned.on(day)
    if asked is None:
        return ()
    on, off = (at_local(day, minute, site.timezone) for minute in asked.cover)
    crew, cool = site.crew_on(day), turned.cool_by
    found = []
    if asked.shade is not None:
        # it stays on under the dark cover: nothing is taken off seedlings by day
        comes = (crew or turned.plan.place.crew)[0]
        found.append(Laid(asked.shade, min(at_local(day, comes, site.timezone), on), off, SHADE_BEFORE_DARK))
    found.append(Laid(turned.plan.cover, on, off, DARK_BY_DAY))
    if cool is None or cool.date() != day:
        return tuple(found)
    return tuple(replace(one, on=min(max(one.on, cool), off)) for one in found)


def standing_of(turned: TurnedBench, light: BenchLight, *, site: Site, grid: Grid, steps: int) -> Standing:
    """The bench through the grid: its tent closed under the dark cover, open else."""
    opened = int(Tent.ROLLED_BACK if turned.bench.tent_opens else Tent.CLOSED)
    free = light.untented if turned.bench.tent_opens else light.open
    sun, dark = free.copy(), np.zeros(len(grid), dtype=bool)
    tent = np.full(len(grid), opened, dtype=np.int64)
    passed, taken, r, airy = (np.full(len(grid), value) for value in (1.0, 0.0, 0.0, 0.0))
    for day in grid.dates:
        for one in laid_on(turned, day, site):
            lies = slice(grid.index(one.on), grid.index(one.off))
            middle = sum(one.cover.transmittance) / 2
            under = light.open if one.reason is DARK_BY_DAY else free
            sun[lies] = under[lies] * middle
            passed[lies], taken[lies] = middle, absorbed(one.cover, middle)
            r[lies], airy[lies] = one.cover.r_m2k_w, float(is_airy(one.cover))
            if one.reason is DARK_BY_DAY:
                dark[lies], tent[lies] = True, int(Tent.CLOSED)
    shares = (values[None, :steps] for values in (passed, taken, r, airy))
    states = States(tent[None, :steps], *shares)
    return Standing(None, sun, dark, np.zeros(len(grid), dtype=bool), states)


def own_day(grid: Grid, site: Site, turned: TurnedBench) -> slice:
    """Steps of the 24 h from the date's lamps on."""
    schedule = turned.plan.schedule
    on = schedule.lamps_on if schedule.lamps_on >= schedule.cover_off else schedule.lamps_on + 1440
    starts = (at_local(day, on, site.timezone) for day in grid.dates[:2])
    first, last = (grid.index(moment) for moment in starts)
    return slice(first, last)


def turned_bench_day(
    found: BenchDay,
    turned: TurnedBench,
    light: BenchLight,
    *,
    site: Site,
    grid: Grid,
    spread: Spread,
) -> BenchDay:
    """The bench's record with light of its own day, from lamps on to lamps on, and what lies over it."""
    own, sun, lamp = own_day(grid, site, turned), found.series.sun_ppfd, found.series.lamp_ppfd
    sun_mol, open_mol, lamp_mol = (_mol(ppfd[own]) for ppfd in (sun, light.open, lamp))
    in_doubt = [_mol(sun[own] * factor[grid.day[own]]) + lamp_mol for factor in (spread.low, spread.high)]
    need = found.needs
    dli = replace(
        found.dli,
        sun_open=open_mol,
        sun=sun_mol,
        lamps=lamp_mol,
        total=sun_mol + lamp_mol,
        low=in_doubt[0],
        high=in_doubt[1],
    )
    wanted = turned.bench.light_for_seed_ppfd_umol_m2_s
    account = found.account_before
    today = grid.dates[0]
    covers = laid_on(turned, today, site)
    unsaid = OF_CIVIL_DAY | OF_SEED if turned.plan.sown == today else OF_CIVIL_DAY
    light_hours = None
    if found.light_hours is not None:
        light_hours = float((sun[own] + lamp[own] >= wanted).sum()) / STEPS_PER_H
    return replace(
        found,
        dli=dli,
        account_after=None if account is None else account_after(account, dli.total, need),
        light_hours=light_hours,
        covers=tuple(CoverTime(one.cover.name, one.on, one.off, one.reason, None) for one in covers),
        notes=(
            *_notes(site, turned, covers, today, dli, light_hours, _long_over(found.notes)),
            *(n for n in found.notes if n.slug not in unsaid),
        ),
    )


# said of midnight to midnight, of a bench left alone, or of a day length that its plan sets
OF_CIVIL_DAY = {"dli-over-limit", "heat-saved", "day-too-long", "day-too-short", "day-contrary"}
OF_SEED = {"temperature-over-limit"}  # there is none on the bench until the evening of its first day


def _clock_min(moment: datetime) -> int:
    return moment.hour * 60 + moment.minute


def _mol(ppfd: Array) -> float:
    return float(ppfd.sum()) * 3600 / STEPS_PER_H / 1e6


def _long_over(notes: tuple[Note, ...]) -> bool:
    minutes = (dict(note.values)["minutes"] for note in notes if note.slug in OF_SEED)
    return any(isinstance(one, int) and one > LONG_MIN for one in minutes)


def _notes(
    site: Site,
    turned: TurnedBench,
    covers: tuple[Laid, ...],
    today: date,
    dli: Dli,
    light_hours: float | None,
    too_hot: bool,
) -> tuple[Note, ...]:
    asked = turned.on(today)
    if asked is None:
        return ()
    lasts = (turned.plan.back[-1].day - turned.plan.back[0].day).days
    cover = (_clock_min(covers[-1].on), _clock_min(covers[-1].off))
    said = [Note("day-turned", (("cover", cover), ("back", asked.back), ("of", lasts)))]
    if turned.plan.sown == today:
        said.append(Note("sow-turned", (("after", cover[1]), ("crop", turned.batch.crop))))
    if not asked.back and turned.plan.sown < today and too_hot:
        said.append(Note("turned-too-hot"))
    if asked.back and asked.shade is None:
        said.append(Note("shade-wanted"))
    if asked.back == lasts:
        said.append(Note("turned-back-tomorrow"))
    heat_to = next(b for b in site.benches if b.id == turned.bench.id).heat_to_c
    if heat_to is not None and heat_to != turned.bench.heat_to_c:
        said.append(Note("heat-turned-down", (("heat_to", heat_to), ("limit", turned.plan.seed.limit_c))))
    if turned.batch.to_date == today and today < turned.plan.back[-1].day:
        said.append(Note("leaves-turned", (("crop", turned.batch.crop),)))
    wanted_h = 0.0 if asked.lamps is None else (asked.lamps[1] - asked.lamps[0]) / 60
    if light_hours is not None and light_hours < wanted_h:
        hours = (("hours", light_hours), ("wanted", wanted_h))
        said.append(Note("seed-light-missed", (*hours, ("because", "capacity"))))
    if dli.minimum is not None and dli.total < dli.minimum - SLIGHT_MOL:
        values = (("total", dli.total), ("minimum", dli.minimum), ("because", "turned"))
        said.append(Note("minimum-missed", values))
    return tuple(said)
