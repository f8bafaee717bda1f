"""Weeks in which seed on the books is too hot by day even opened and shaded: its day wants turning round."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from lightplan.advice.inversion import Place, unturned
from lightplan.advice.inversion.weeks import NEEDED_OVER, days_too_hot
from lightplan.crops.emergence import bench_sown, seed_of
from lightplan.heat.runs import BenchHeat, HouseHeat
from lightplan.inversion_plan import heated_for_seed, house_air_of, tent_off_ppfd, usual_crew
from lightplan.site.models import Batch, Stage
from lightplan.year.heat import heat_of
from lightplan.year.season import TurnedSeason, need_of
from lightplan.year.site_year import BenchYear, SiteYear
from lightplan.year.stretches import Stretch

Mask = NDArray[np.bool_]
Run = TypeVar("Run", HouseHeat, BenchHeat)

SETTLES_DAYS = 3  # before the batch, for the heat in medium and house to find its level; judgement


def turned_seasons(year: SiteYear) -> Iterator[TurnedSeason]:
    """Every bench with germinating batches in the year, by the rule of `invert`: a week in which open and
    under its best shade alike more than a fifth of the days pass the seed's limit for over two hours.
    """
    dates = year.grid.dates
    for one in year.benches:
        batches = [
            batch
            for batch in one.bench.batches
            if batch.stage is Stage.GERMINATION and batch.from_date <= dates[-1] and batch.to_date >= dates[0]
        ]
        if not batches:
            continue
        needed = [_weeks(year, one, batch) for batch in batches]
        yield TurnedSeason(
            bench=one.bench,
            need=need_of(year, np.any(needed, axis=0)),
            crops=tuple(
                dict.fromkeys(b.crop for b, weeks in zip(batches, needed, strict=True) if weeks.any())
            ),
            lacks_lamps=one.bench.lamps is None,
            lacks_dark=not any(cover.dark and cover.where == "bench" for cover in one.bench.covers),
        )


def _weeks(year: SiteYear, one: BenchYear, batch: Batch) -> Mask:
    """(weeks,) of one batch. Looked into only where it is too hot with its tent closed: open it is cooler."""
    dates = year.grid.dates
    there = np.array([batch.from_date <= day <= batch.to_date for day in dates])
    if not (one.heat.too_hot & there).any() or all(hours is None for hours in year.site.crew):
        return np.zeros(len(year.weeks), dtype=bool)
    first, last = int(there.argmax()), int(len(there) - 1 - there[::-1].argmax())
    ways = _too_hot(year, one, batch, max(first - SETTLES_DAYS, 0), last)

    def needed(week: Stretch) -> bool:
        days = there[week.days]
        return bool(days.any() and min(hot[week.days][days].mean() for hot in ways) > NEEDED_OVER)

    return np.array([needed(week) for week in year.weeks])


def _too_hot(year: SiteYear, one: BenchYear, batch: Batch, first: int, last: int) -> tuple[Mask, ...]:
    """(days,) of the year too hot for the batch's seed, open and under each shade there is; only days from
    the first to the last number are looked into.
    """
    seed = seed_of(batch.crop, one.bench, batch.from_date, year.site.own_needs)
    ready, _ = heated_for_seed(one.bench, seed)
    sown = bench_sown(ready, batch.crop, batch.from_date)
    steps = slice(*np.searchsorted(year.grid.day, [first, last + 1]))
    house = year.house(one.bench.house)
    place = Place(
        bench=ready,
        dates=year.grid.dates[first : last + 1],
        day=year.grid.day[steps] - first,
        minute=year.grid.minute[steps],
        house_air=house_air_of(_cut(house.heat.ready, steps), one.bench),
        house_covers=house.house.covers,
        heat=_cut(heat_of(sown, one.sun, year.sky, where="medium"), steps),
        sun_ppfd=tent_off_ppfd(one.bench, one.sun)[steps],
        crew=usual_crew(year.site),
        sunrise_min=(),
    )
    none = np.zeros(len(year.grid.dates), dtype=bool)
    ways = []
    for medium in unturned(place, seed).media_c:
        days = none.copy()
        days[first : last + 1] = days_too_hot(place, seed, medium)
        ways.append(days)
    return tuple(ways)


def _cut(run: Run, steps: slice) -> Run:
    """The same over some of its steps."""
    arrays: dict[str, Any] = {
        key: value[steps] for key, value in vars(run).items() if isinstance(value, np.ndarray)
    }
    return replace(run, **arrays)
