"""Benches whose day is turned round on a date, and the plan that each of them follows.

The plan is the one `lightplan invert` gives for the batch's own sowing date; it rests on the typical year
alone, so every morning of the batch has the same one.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date

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
    """bench : with its heating as the seed bears it. batch : the one that is turned round."""

    bench: Bench
    batch: Batch
    plan: Inversion

    def on(self, day: date) -> TurnedDay | None:
        """None where the batch is not there, not sown yet, or turned back."""
        there = self.batch.from_date <= day <= self.batch.to_date
        return day_of(self.plan, day) if there else None


@dataclass(frozen=True)
class Turning:
    """site : with batches past their last emergence as the seedlings that they are by then, their tent off
    once they are turned back.

    benches : by id, those turned round that day. in_vain : a sentence for each that can't be.
    """

    site: Site
    benches: dict[str, TurnedBench]
    in_vain: tuple[str, ...]


def turned_benches(site: Site, day: date, lights: Mapping[str, HouseLight]) -> Turning:
    """What is turned round on a date. lights : by id, of every house with a bench."""
    found, in_vain, grown = {}, [], {}
    for bench in site.benches:
        batch = next((b for b in bench.batches if b.inverted and b.from_date <= day <= b.to_date), None)
        if batch is None:
            continue
        try:
            turned = _turned(site, bench, batch, lights)
        except InputError as why:
            in_vain.append(f"{why} Its day is planned as any other.")
            continue
        if turned.on(day) is not None:
            found[bench.id] = turned
        if batch.stage is Stage.GERMINATION and day >= turned.plan.back[0].day:
            grown[bench.id] = _grown(bench, batch)
            if day >= turned.plan.back[-1].day:  # turned back, and the tent is off for good
                grown[bench.id] = replace(grown[bench.id], tent=None)
            if bench.id in found:
                found[bench.id] = replace(turned, bench=_grown(turned.bench, batch))
    benches = tuple(grown.get(bench.id, bench) for bench in site.benches)
    return Turning(replace(site, benches=benches), found, tuple(in_vain))


def _grown(bench: Bench, batch: Batch) -> Bench:
    """The bench with a batch of seed told as seedlings: all that will come up are up."""
    up = replace(batch, stage=Stage.SEEDLING)
    return replace(bench, batches=tuple(up if one is batch else one for one in bench.batches))


def _turned(site: Site, bench: Bench, batch: Batch, lights: Mapping[str, HouseLight]) -> TurnedBench:
    sown = batch.sown or batch.from_date
    asked = question(site, bench.id, batch.crop, sown, sown)
    grid = grid_over(*ahead(sown, sown, LOOKED_AHEAD_DAYS), site.timezone)
    weather = year_weather(site, grid)
    plan = invert(site, asked, weather, grid=grid, lights=lights, beside=False)
    return TurnedBench(heated_for_seed(bench, plan.seed)[0], batch, plan)
