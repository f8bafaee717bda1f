"""A fixed shade over a house: which, from which week to which, where heat asks for it and light allows it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

import numpy as np
from numpy.typing import NDArray

from lightplan.light import BenchLight
from lightplan.site.cover_names import known_cover
from lightplan.site.models import Cover
from lightplan.year.heat import bench_heat_year, day_limits, shaded_house
from lightplan.year.site_year import BenchYear, HouseYear, SiteYear
from lightplan.year.stretches import Stretch, means

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

TRIED = ("shade-cloth-30", "shade-cloth-50", "shade-cloth-70")  # light to heavy; middles of their ranges
HOT_DAYS_A_WEEK = 2  # fewer are met by the day, with covers; judgement
WORTH_DAYS = 5  # a fixed shade spares at least so many a year; judgement
NEARLY_AS_GOOD = 0.8  # of the days that the best one spares: a lighter one that does this is taken; judgement


@dataclass(frozen=True)
class FixedShade:
    """cover : None where light forbids any: every one would take benches under target in the hot weeks.

    passed_days, left : days of the year that pass a limit, as the house stands and with the shade up.
    lost_mol : light that it takes from the floor while it is up [mol m⁻² d⁻¹].
    """

    house_id: str
    cover: Cover | None
    first: date | None
    last: date | None
    weeks: Mask
    passed_days: int
    left: int
    lost_mol: float


def fixed_shade(year: SiteYear, house: HouseYear) -> FixedShade | None:
    """The lightest shade that does nearly all that a fixed one can; None where few days pass a limit.

    Benches in a tent are left out: a tent that is opened does more for them than a shade over the house.
    """
    benches = [one for one in year.benches if one.bench.house == house.house.id and one.bench.tent is None]
    bare = _remedy_days(benches)
    if bare is None or bare.sum() < WORTH_DAYS:
        return None
    hot = _per_week(bare, year.weeks) >= HOT_DAYS_A_WEEK
    tries = [_tried(year, house, benches, known_cover(name), bare, hot) for name in TRIED]
    best = max(bare.sum() - one.left for one in tries)
    none = np.zeros(len(year.weeks), dtype=bool)
    if best < WORTH_DAYS:
        total = int(bare.sum())
        return FixedShade(house.house.id, None, None, None, none, total, total, 0.0)
    return next(one for one in tries if bare.sum() - one.left >= NEARLY_AS_GOOD * best)


def _tried(
    year: SiteYear, house: HouseYear, benches: list[BenchYear], cover: Cover, bare: Array, hot: Mask
) -> FixedShade:
    share = sum(cover.transmittance) / 2
    shaded = _shaded_days(year, house, benches, share)
    enough = np.all([_enough(one, share, year.weeks) for one in benches], axis=0)
    spared = np.maximum(_per_week(bare - shaded, year.weeks), 0.0)
    weeks = _longest(spared, hot & enough, enough, start=_darkest(year))
    days = np.zeros(len(bare), dtype=bool)
    for flag, week in zip(weeks, year.weeks, strict=True):
        days[week.days] = flag
    taken = (1 - share) * house.light.inside_mol
    ring = _ring(len(weeks), _darkest(year))
    up = [n for n in ring if weeks[n]]
    return FixedShade(
        house_id=house.house.id,
        cover=cover,
        first=year.weeks[up[0]].first if up else None,
        last=year.weeks[up[-1]].last if up else None,
        weeks=weeks,
        passed_days=int(bare.sum()),
        left=int(np.where(days, shaded, bare).sum()),
        lost_mol=float(taken[days].mean()) if days.any() else 0.0,
    )


def _remedy_days(benches: list[BenchYear]) -> Array | None:
    """(days,) 1 where any bench passes a limit."""
    if not benches:
        return None
    return np.asarray(np.any([one.heat.remedy for one in benches], axis=0), dtype=float)


def _shaded_days(year: SiteYear, house: HouseYear, benches: list[BenchYear], share: float) -> Array:
    air = shaded_house(house.heat, share)
    passed = [
        bench_heat_year(
            year.site,
            one.bench,
            _dimmed(one.sun, share),
            year.sky,
            grid=year.grid,
            air_c=air,
            lit=None if one.lamps is None else one.lamps.lit,
            limits=day_limits(year.site, one.bench, year.grid),
        ).remedy
        for one in benches
    ]
    return np.asarray(np.any(passed, axis=0), dtype=float)


def _dimmed(light: BenchLight, share: float) -> BenchLight:
    return replace(light, losses=replace(light.losses, shade=light.losses.shade * share))


def _enough(one: BenchYear, share: float, weeks: tuple[Stretch, ...]) -> Mask:
    """(weeks,) whether the sun under the shade still brings the week's mean target."""
    target = np.array([0.0 if n is None or n.target is None else n.target for n in one.needs])
    return np.asarray(means(one.light.inside_mol * share, weeks) >= means(target, weeks))


def _per_week(days: Array, weeks: tuple[Stretch, ...]) -> Array:
    return np.array([days[week.days].sum() for week in weeks])


def _darkest(year: SiteYear) -> int:
    """Number of the darkest week outdoors: summer never runs across it."""
    return int(means(year.houses[0].light.outdoor_mol, year.weeks).argmin())


def _ring(count: int, start: int) -> list[int]:
    return [(start + n) % count for n in range(count)]


def _longest(spared: Array, wanted: Mask, allowed: Mask, *, start: int) -> Mask:
    """The weeks from a wanted one to a wanted one, with light enough all along, that spare the most days."""
    best, kept = 0.0, np.zeros(len(spared), dtype=bool)
    run: list[int] = []
    for week in [*_ring(len(spared), start), None]:
        if week is not None and allowed[week]:
            run.append(week)
            continue
        inside = [n for n, number in enumerate(run) if wanted[number]]
        if inside:
            stretch = run[inside[0] : inside[-1] + 1]
            sum_spared = float(spared[stretch].sum())
            if sum_spared > best:
                best, kept = sum_spared, np.isin(np.arange(len(spared)), stretch)
        run = []
    return kept
