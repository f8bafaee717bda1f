"""Benches whose day is turned round on a date, and the plan that each of them follows.

The plan is the one `lightplan invert` gives for the batch's own sowing date; it rests on the typical year
alone, so every morning of the batch has the same one.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import Any

from lightplan.advice.inversion import Inversion
from lightplan.advice.inversion.days import TurnedDay, day_of
from lightplan.clock import grid_over
from lightplan.house.transmission import HouseLight
from lightplan.inversion_plan import ahead, heated_for_seed, invert, question
from lightplan.problems import InputError
from lightplan.site.models import Batch, Bench, Site, Stage
from lightplan.weather.year import year_weather

LOOKED_AHEAD_DAYS = 45  # past the sowing date: emergence and the way back; judgement


@dataclass(frozen=True)
class TurnedBench:
    """bench : with its heating as the seed bears it. batch : the one that is turned round. cool_by : when the
    lamps that burnt into the sheet's morning are cold; nothing is laid over the bench before. None: at once.
    """

    bench: Bench
    batch: Batch
    plan: Inversion
    cool_by: datetime | None = None

    def on(self, day: date) -> TurnedDay | None:
        """None where the batch is not there, not sown yet, or turned back."""
        there = self.batch.from_date <= day <= self.batch.to_date
        return day_of(self.plan, day) if there else None


@dataclass(frozen=True)
class Turning:
    """site : with batches past their last emergence as the seedlings that they are by then, their tent off
    once they are turned back. What is not turned round that day is told as any batch; what is to be sown
    turned round stands there from the evening of its first day on, so nothing is lit for it before.

    benches : by id, those turned round that day. in_vain : by id, a sentence for each that can't be.
    """

    site: Site
    benches: dict[str, TurnedBench]
    in_vain: dict[str, str]


def turned_benches(site: Site, day: date, lights: Mapping[str, HouseLight]) -> Turning:
    """What is turned round on a date. lights : by id, of every house with a bench."""
    found, in_vain, benches = {}, {}, []
    for bench in site.benches:
        told = replace(bench, batches=tuple(_not_before_its_evening(b, day) for b in bench.batches))
        batch = next((b for b in bench.batches if b.inverted and b.from_date <= day <= b.to_date), None)
        if batch is not None:
            try:
                turned = _turned(site, bench, batch, lights)
            except InputError as why:
                in_vain[bench.id] = f"{why} Its day is planned as any other."
                told = _with(told, batch, inverted=False)
            else:
                told = _as_by_then(told, turned, day)
                if turned.on(day) is not None:
                    found[bench.id] = replace(turned, bench=replace(turned.bench, batches=told.batches))
        benches.append(told)
    return Turning(replace(site, benches=tuple(benches)), found, in_vain)


def _not_before_its_evening(batch: Batch, day: date) -> Batch:
    if not batch.inverted or batch.from_date <= day or batch.from_date == batch.to_date:
        return batch
    return replace(batch, from_date=batch.from_date + timedelta(days=1), sown=batch.sown or batch.from_date)


def _as_by_then(bench: Bench, turned: TurnedBench, day: date) -> Bench:
    """Seed as seedlings once all that will come up are up; turned back, as any bench with its tent off."""
    batch, back = turned.batch, turned.plan.back
    if day >= back[0].day and batch.stage is Stage.GERMINATION:
        bench = _with(bench, batch, stage=Stage.SEEDLING)
    if turned.on(day) is None:
        bench = _with(bench, batch, inverted=False)
    if day >= back[-1].day and batch.stage is Stage.GERMINATION:  # for good
        bench = replace(bench, tent=None)
    return bench


def _with(bench: Bench, batch: Batch, **changed: Any) -> Bench:
    """The bench with something of one of its batches told otherwise."""
    same = (batch.crop, batch.from_date, batch.to_date)
    return replace(
        bench,
        batches=tuple(
            replace(one, **changed) if (one.crop, one.from_date, one.to_date) == same else one
            for one in bench.batches
        ),
    )


def _turned(site: Site, bench: Bench, batch: Batch, lights: Mapping[str, HouseLight]) -> TurnedBench:
    if batch.sown is None and batch.stage is not Stage.GERMINATION:
        raise InputError(
            f'site.toml: bench "{bench.id}": batch {batch.crop} ({batch.stage.value}) is inverted and has no '
            "sown; give the date, the way back is counted from it."
        )
    sown = batch.sown or batch.from_date
    asked = question(site, bench.id, batch.crop, sown, sown)
    grid = grid_over(*ahead(sown, sown, LOOKED_AHEAD_DAYS), site.timezone)
    weather = year_weather(site, grid)
    plan = invert(site, asked, weather, grid=grid, lights=lights, beside=False)
    return TurnedBench(heated_for_seed(bench, plan.seed)[0], batch, plan)
