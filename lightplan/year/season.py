"""Dates of the season: the first and the last week in which lamps, covers and a fixed shade are needed."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from lightplan.crops.day_length import DayKind
from lightplan.site.models import Bench
from lightplan.year.lamps import SLIGHT_MOL
from lightplan.year.shade import FixedShade, fixed_shade
from lightplan.year.site_year import BenchYear, SiteYear
from lightplan.year.stretches import means

Mask = NDArray[np.bool_]


@dataclass(frozen=True)
class Need:
    """Weeks in which something is needed. weeks : (weeks,). first, last : of the season, which may begin in
    one year and end in the next; None where it is never needed.
    """

    weeks: Mask
    first: date | None
    last: date | None

    @property
    def all_year(self) -> bool:
        return bool(self.weeks.all())


@dataclass(frozen=True)
class BenchSeason:
    """When a bench needs what.

    lamps : they burn to hold a target. seed_lamps : they burn for seed. dull : the sun alone leaves it under
    its minimum. remedy : a limit is passed with the house's vents open: its tent has to be opened, or a
    cover laid on.
    """

    bench_id: str
    tented: bool
    lamps: Need
    seed_lamps: Need
    dull: Need
    remedy: Need


@dataclass(frozen=True)
class Crossing:
    """A crop's critical day length, and the dates on which the natural day passes it.

    needed : (days,) of the year, the day is to be made longer for a long-day crop, shorter for a short-day
    one. first, last : of that season, None where it never is. shortest_h, longest_h : of the year's days.
    """

    crop: str
    critical_h: float
    dates: tuple[date, ...]
    kind: DayKind
    needed: Mask
    first: date | None
    last: date | None
    shortest_h: float
    longest_h: float


@dataclass(frozen=True)
class TurnedSeason:
    """A bench on which seed stands in the year, and when some of it wants its day turned round.

    crops : those that do. lacks_lamps, lacks_dark : what the bench has not and would need for it.
    """

    bench: Bench
    need: Need
    crops: tuple[str, ...]
    lacks_lamps: bool
    lacks_dark: bool


@dataclass(frozen=True)
class SeasonDates:
    """The site's seasons: of any bench. tents : a tented bench needs a remedy. covers : another one does.

    crossings : of crops that flower by day length (`day_length.crossings_of`). turned : benches with seed
    (`turned.turned_seasons`).
    """

    benches: tuple[BenchSeason, ...]
    lamps: Need
    seed_lamps: Need
    tents: Need
    covers: Need
    shades: tuple[FixedShade, ...]
    crossings: tuple[Crossing, ...] = ()
    turned: tuple[TurnedSeason, ...] = ()


def season_dates(
    year: SiteYear, crossings: tuple[Crossing, ...] = (), turned: tuple[TurnedSeason, ...] = ()
) -> SeasonDates:
    benches = tuple(_bench(year, one) for one in year.benches)

    def of_any(needs: Iterable[Need]) -> Need:
        none = np.zeros(len(year.weeks), dtype=bool)
        return need_of(year, np.any([none, *(need.weeks for need in needs)], axis=0))

    return SeasonDates(
        benches=benches,
        lamps=of_any(one.lamps for one in benches),
        seed_lamps=of_any(one.seed_lamps for one in benches),
        tents=of_any(one.remedy for one in benches if one.tented),
        covers=of_any(one.remedy for one in benches if not one.tented),
        shades=tuple(found for house in year.houses if (found := fixed_shade(year, house)) is not None),
        crossings=crossings,
        turned=turned,
    )


def _bench(year: SiteYear, one: BenchYear) -> BenchSeason:
    lit = np.zeros(len(year.grid.dates)) if one.lamps is None else one.lamps.mol
    minimum = np.array([0.0 if n is None or n.minimum is None else n.minimum for n in one.needs])
    targeted = np.array([n is not None and n.target is not None for n in one.needs])
    sun = means(one.light.inside_mol, year.weeks)
    return BenchSeason(
        bench_id=one.bench.id,
        tented=one.bench.tent is not None,
        lamps=need_of(year, means(np.where(targeted, lit, 0.0), year.weeks) > SLIGHT_MOL),
        seed_lamps=need_of(year, means(np.where(targeted, 0.0, lit), year.weeks) > SLIGHT_MOL),
        dull=need_of(year, sun < means(minimum, year.weeks)),
        remedy=need_of(year, means(one.heat.remedy.astype(float), year.weeks) > 0),
    )


def need_of(year: SiteYear, weeks: Mask) -> Need:
    bounds = season_of(weeks)
    if bounds is None:
        return Need(weeks, None, None)
    return Need(weeks, year.weeks[bounds[0]].first, year.weeks[bounds[1]].last)


def season_of(needed: Sequence[bool] | Mask) -> tuple[int, int] | None:
    """First and last week of the season of need: the year, taken as a ring, without its longest free time.

    Weeks of winter lamps thus begin in autumn and end in spring, in both hemispheres.
    """
    flags = np.asarray(needed, dtype=bool)
    count = len(flags)
    if not flags.any():
        return None
    if flags.all():
        return 0, count - 1
    at = np.flatnonzero(flags)
    gaps = np.diff(np.concatenate([at, [at[0] + count]]))
    widest = int(gaps.argmax())
    return int(at[(widest + 1) % len(at)]), int(at[widest])
