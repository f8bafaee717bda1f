"""From the site and the sun's height: what each bench sees of the day, and what is wanted of it tonight."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta

import numpy as np
from numpy.typing import NDArray

from lightplan.advice.photoperiod.seen import (
    DAY_SEEN_DEG,
    DAY_SEEN_SHORT_DAY_DEG,
    LIGHT_SEEN_PPFD,
    Spans,
    photoperiod_h,
    seen_dark,
    share_dark,
    spans_of,
)
from lightplan.clock import STEP_S, Grid, day_start
from lightplan.crops.day_length import DayAim, DayKind, bench_aims, day_class
from lightplan.crops.needs import batches_on
from lightplan.site.models import Batch, Bench, Site
from lightplan.twilight import Nights, nights, solar_noons

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]


@dataclass(frozen=True)
class BenchDayLength:
    """nights : of the day before the sheet's and all its dates, by the height that this bench's crops go by.

    aims : by date of the grid, the one that rules. against : crops of the sheet's date that want the
    contrary. start, end : UTC seconds between which the dark is looked for. stray : yard light that counts.
    turned : its day is turned round, so its dark is that of the middle of the day.
    """

    bench: Bench
    nights: Nights
    aims: tuple[DayAim | None, ...]
    against: tuple[DayAim, ...]
    start: float
    end: float
    stray: bool
    turned: bool = False

    @property
    def aim(self) -> DayAim | None:
        return self.aims[0]

    @property
    def tonight(self) -> tuple[float, float]:
        """The sun is down, from dusk to dawn, after the sheet's date."""
        return float(self.nights.dark_s[1]), float(self.nights.light_s[1])

    @property
    def natural_h(self) -> float:
        """Hours of day without lamps, covers and other light."""
        return photoperiod_h(self.nights.spans(), self.nights.noon_s[1], self.nights.next_noon_s[1])

    def dark(self, *, lit: Spans, covered: Spans, under: Spans = ()) -> Spans:
        """lit, under : other light, above a dark cover and between it and the plants."""
        always = ((self.start - 86400.0, self.end + 86400.0),) if self.stray else ()
        return seen_dark(self.nights.spans(), covered=covered, lit=(*lit, *always), lit_under_cover=under)

    def seen_h(self, dark: Spans) -> float:
        return photoperiod_h(dark, self.start, self.end)


def nights_of_site(site: Site, grid: Grid) -> dict[float, Nights]:
    """By height of the sun's centre: the night before the grid's first date and those after all its dates."""
    dates = (grid.dates[0] - timedelta(days=1), *grid.dates)
    noons = solar_noons(site, dates)
    angles = (DAY_SEEN_DEG, DAY_SEEN_SHORT_DAY_DEG)
    return {angle: nights(site, dates, angle, noons=noons) for angle in angles}


def day_length_of(
    site: Site, bench: Bench, *, grid: Grid, by_angle: Mapping[float, Nights], turned: bool = False
) -> BenchDayLength:
    """turned : its day is really turned round on the grid's first date, not only wanted so."""
    first = grid.dates[0]
    here = batches_on(bench, first)
    rules = [bench_aims(batches_on(bench, day), day, site.own_needs) for day in grid.dates]
    found = by_angle[angle_of(here, rules[0][0])]
    start, end = float(found.noon_s[1]), float(found.next_noon_s[1])
    if turned:
        start, end = (day_start(first + timedelta(days=n), site.timezone).timestamp() for n in (0, 1))
    return BenchDayLength(
        bench=bench,
        nights=found,
        aims=tuple(aim for aim, _ in rules),
        against=rules[0][1],
        start=start,
        end=end,
        stray=bench.stray_ppfd_umol_m2_s >= LIGHT_SEEN_PPFD,
        turned=turned,
    )


def angle_of(batches: Sequence[Batch], aim: DayAim | None) -> float:
    """−6° for short-day crops, unless they are held back by long days; −4° for all others."""
    classes = [day_class(batch.crop) for batch in batches]
    short = any(c is not None and c.kind is DayKind.SHORT for c in classes)
    if aim is not None and aim.kind is DayKind.LONG:
        short = False
    return DAY_SEEN_SHORT_DAY_DEG if short else DAY_SEEN_DEG


def daylight(seen: BenchDayLength, grid: Grid) -> Array:
    """(steps,) share of each step in which plants see day, for lamps to be planned by.

    Whole steps by their larger part where nothing is wanted of the day's length, so that lamps keep to plain
    quarter hours; the very share where the hours of dark are to come out right.
    """
    first = grid.moment(0).timestamp()
    light = 1 - share_dark(seen.nights.spans(), first, float(STEP_S), len(grid))
    exact = np.array([aim is not None for aim in seen.aims])[grid.day]
    return np.where(exact, light, (light >= 0.5).astype(float))


def mask_spans(mask: Mask, grid: Grid) -> Spans:
    return spans_of(mask, grid.moment(0).timestamp(), float(STEP_S))
