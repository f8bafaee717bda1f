"""Crops against houses, week by week: short of light, on target, over; the best house, and moves by gain.

Sun alone counts, over a house's whole floor as it stands: lamps are what a better house would save.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date
from enum import Enum

import numpy as np
from numpy.typing import NDArray

from lightplan.crops.needs import Needs, bench_needs
from lightplan.site.models import Batch, Bench, Stage
from lightplan.year.site_year import SiteYear

Array = NDArray[np.float64]

WORTH_A_MOVE_MOL = 0.5  # a day, over the batch's stay: less is lost in the light's own spread; judgement
TOO_COLD_C = 4.0  # air by which no batch is sent to a house: as for hardening off, near frost; judgement
ASKED_STAGES = (Stage.SEEDLING, Stage.FINISHING)
NO_DLI = (Stage.GERMINATION,)  # seed has no need of a day's light


class Mark(Enum):
    UNDER_MINIMUM = "under-minimum"
    SHORT = "short"
    ON_TARGET = "on-target"
    OVER = "over"


@dataclass(frozen=True)
class HouseFit:
    """A crop in one house: a mark a week, None when it isn't there.

    short_mol, over_mol : light missing to the target and beyond the limit, summed over its days [mol m⁻²].
    """

    house_id: str
    marks: tuple[Mark | None, ...]
    short_mol: float
    over_mol: float

    @property
    def gap_mol(self) -> float:
        return self.short_mol + self.over_mol

    def count(self, mark: Mark) -> int:
        return self.marks.count(mark)


@dataclass(frozen=True)
class CropFit:
    """One crop at one stage against every house. bench : where the books have it; None = asked."""

    crop: str
    stage: Stage
    bench: Bench | None
    from_date: date
    to_date: date
    houses: tuple[HouseFit, ...]

    @property
    def best(self) -> HouseFit:
        """The house with the least light missing or too much; of equals its own, then the first."""
        own = None if self.bench is None else self.bench.house
        return min(self.houses, key=lambda fit: (round(fit.gap_mol, 1), fit.house_id != own))

    @property
    def days(self) -> int:
        return (self.to_date - self.from_date).days + 1

    def house(self, house_id: str) -> HouseFit:
        return next(fit for fit in self.houses if fit.house_id == house_id)


@dataclass(frozen=True)
class Move:
    """A batch that another house would suit better.

    warmer_k : mean air there over the own house's while it stays. coldest_c : lowest air there meanwhile.
    """

    fit: CropFit
    to: HouseFit
    gain_mol: float
    warmer_k: float
    coldest_c: float


def crop_fits(year: SiteYear, asked: Iterable[tuple[str, Stage | None]] = ()) -> tuple[CropFit, ...]:
    """Every batch on the books of the year in the benches' order, then what was asked, all year round."""
    first, last = year.grid.dates[0], year.grid.dates[-1]
    found = []
    for one in year.benches:
        for batch in sorted(one.bench.batches, key=lambda batch: batch.from_date):
            if batch.stage not in NO_DLI and batch.from_date <= last and batch.to_date >= first:
                found.append(_fit(year, one.bench, batch, on_books=True))
    for crop, stage in asked:
        for each in ASKED_STAGES if stage is None else (stage,):
            batch = Batch(crop, each, first, last, None, None, False)
            found.append(_fit(year, _nowhere(year), batch, on_books=False))
    return tuple(fit for fit in found if fit is not None)


def moves(fits: Iterable[CropFit], year: SiteYear) -> tuple[Move, ...]:
    """Batches on the books that are better off in another house, the greatest gain first.

    Nothing is sent where frost comes near and where its own house keeps it from that.
    """
    found = []
    for fit in fits:
        if fit.bench is None:
            continue
        own = fit.house(fit.bench.house)
        air = {one.house_id: _air(year, one.house_id, fit) for one in fit.houses}
        least = min(TOO_COLD_C, air[own.house_id].min())
        best = min(
            (one for one in fit.houses if air[one.house_id].min() >= least), key=lambda one: one.gap_mol
        )
        gain = own.gap_mol - best.gap_mol
        if gain < WORTH_A_MOVE_MOL * fit.days:
            continue
        there = air[best.house_id]
        warmer = float(there.mean() - air[own.house_id].mean())
        found.append(Move(fit, best, gain, warmer, float(there.min())))
    return tuple(sorted(found, key=lambda move: -move.gain_mol))


def _air(year: SiteYear, house_id: str, fit: CropFit) -> Array:
    """Air of a house while the batch stays."""
    days = [year.grid.dates.index(day) for day in (fit.from_date, fit.to_date)]
    start, stop = np.searchsorted(year.grid.day, [days[0], days[1] + 1])
    return year.house(house_id).heat.air_c[start:stop]


def _nowhere(year: SiteYear) -> Bench:
    """A bench for crops that stand on none: only their batch counts for what they need."""
    site = year.site
    return Bench(
        id="", house=site.houses[0].id, name="", area_m2=1.0, height_m=0.8, place=None, tent=None,
        tent_height_m=0.45, tent_opens=True, insulation=None, bottom_heat=False, heat_to_c=None,
        light_for_seed_ppfd_umol_m2_s=0.0, stray_ppfd_umol_m2_s=0.0, lamps=None, lamp_hours=(), covers=(),
        batches=(),
    )  # fmt: skip


def _fit(year: SiteYear, bench: Bench, batch: Batch, *, on_books: bool) -> CropFit | None:
    """None where no need of light is known of the crop."""
    alone = replace(bench, batches=(batch,))
    dates = year.grid.dates
    needs = tuple(bench_needs(alone, day, year.site.own_needs).needs for day in dates)
    if all(one is None or one.target is None for one in needs):
        return None
    return CropFit(
        crop=batch.crop,
        stage=batch.stage,
        bench=bench if on_books else None,
        from_date=max(batch.from_date, dates[0]),
        to_date=min(batch.to_date, dates[-1]),
        houses=tuple(_house_fit(year, one.house.id, one.light.inside_mol, needs) for one in year.houses),
    )


def _house_fit(year: SiteYear, house_id: str, inside_mol: Array, needs: tuple[Needs | None, ...]) -> HouseFit:
    marks: list[Mark | None] = []
    short = over = 0.0
    for week in year.weeks:
        held = [(n, one) for n, one in _held(week.days, needs)]
        if not held:
            marks.append(None)
            continue
        light = float(np.mean([inside_mol[n] for n, _ in held]))
        target = float(np.mean([one.target for _, one in held]))
        minimum = float(np.mean([one.minimum or 0.0 for _, one in held]))
        limit = min((one.limit for _, one in held if one.limit is not None), default=np.inf)
        short += len(held) * max(0.0, target - light)
        over += len(held) * max(0.0, light - limit)
        marks.append(mark_of(light, minimum=minimum, target=target, limit=limit))
    return HouseFit(house_id, tuple(marks), short, over)


def _held(days: slice, needs: tuple[Needs | None, ...]) -> Iterator[tuple[int, Needs]]:
    for number in range(days.start, days.stop):
        one = needs[number]
        if one is not None and one.target is not None:
            yield number, one


def mark_of(light: float, *, minimum: float, target: float, limit: float) -> Mark:
    """How a week's mean light suits [all mol m⁻² d⁻¹]."""
    if light > limit:
        return Mark.OVER
    if light >= target:
        return Mark.ON_TARGET
    return Mark.SHORT if light >= minimum else Mark.UNDER_MINIMUM
