"""Covers drawn over a whole house: the lightest that helps all of its benches, when theirs do not hold."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lightplan.advice.covers import CoverTask, Remedy
from lightplan.advice.covers.choose import forbidden
from lightplan.advice.covers.judge import broken
from lightplan.advice.covers.remedies import spans
from lightplan.clock import STEP_S
from lightplan.heat.covers import heats_house
from lightplan.heat.runs import BenchHeat, HouseHeat
from lightplan.light import BenchLight
from lightplan.site.models import Cover

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
Key = tuple[float, float, float]


@dataclass(frozen=True)
class HouseCover:
    """A cover over a house, drawn from step on to step off. odds : of the bench that needs it most."""

    cover: Cover
    on: int
    off: int
    odds: float

    @property
    def middle(self) -> float:
        return sum(self.cover.transmittance) / 2

    def factor(self, steps: int, passes: float) -> Array:
        """(steps,) share of the sun that is left under it."""
        found = np.ones(steps)
        found[self.on : self.off] = passes
        return found


def plan_house_cover(
    covers: tuple[Cover, ...],
    house: HouseHeat,
    heats: Mapping[str, BenchHeat],
    tasks: Mapping[str, CoverTask],
    lit: Mapping[str, Mask],
    *,
    odds: float,
) -> HouseCover | None:
    """The least cover over the house that leaves its benches better than none, judged on the forecast's day.

    tasks : of the benches that have something growing. None where no cover makes them better.
    """
    if not covers or not tasks:
        return None
    of = next(iter(tasks.values()))
    none = np.zeros(1, dtype=np.int64)
    best_key: Key = _judge(covers[0], house, heats, tasks, lit, none, none)[0]
    best: HouseCover | None = None
    for cover in sorted(covers, key=lambda c: (-sum(c.transmittance), c.name)):
        if not any(best_key):
            break
        if cover.dark and best_key[0] <= 0 and any(task.target_mol is not None for task in tasks.values()):
            continue  # as over a bench
        on, off = spans(of, Remedy(covers=(cover,)))
        keep = ~np.any([forbidden(task, Remedy(covers=(cover,)), on, off) for task in tasks.values()], axis=0)
        on, off = on[keep], off[keep]
        if not len(on):
            continue
        keys = _judge(cover, house, heats, tasks, lit, on, off)
        n = min(range(len(keys)), key=lambda n: (*keys[n], int(off[n] - on[n])))
        if keys[n] < best_key:
            best_key, best = keys[n], HouseCover(cover, int(on[n]), int(off[n]), odds)
    return best


def _judge(
    cover: Cover,
    house: HouseHeat,
    heats: Mapping[str, BenchHeat],
    tasks: Mapping[str, CoverTask],
    lit: Mapping[str, Mask],
    on: NDArray[np.int64],
    off: NDArray[np.int64],
) -> list[Key]:
    """Over all benches, for every (on, off): minutes that kill, mol short of the minimum, minutes over."""
    steps = len(house.outdoor_c)
    step = np.arange(steps)[:, None]
    drawn = (step >= on) & (step < off)
    dark_end, bright_end = cover.transmittance
    air = under(house, cover, drawn, bright_end).air_c()
    kills, short, over = (np.zeros(len(on)) for _ in range(3))
    for bench_id, task in tasks.items():
        bright = np.where(drawn, bright_end, 1.0)
        felt = heats[bench_id].felt_c(air, lit=lit[bench_id][:steps], sun_factor=bright)
        gated = replace(task, air_c=np.asarray(air.T))
        found = broken(gated, (task.sun_ppfd[0][:, None] * bright).T, felt.T)
        kills, over = kills + found[0], over + found[1]
        left = (task.sun_ppfd[0][:, None] * np.where(drawn, dark_end, 1.0)).T * task.low
        can = np.where(drawn & cover.combustible, 0.0, task.lamp_can_mol[:, None]).T
        for whole in (task.today, *task.whole):
            mol = left @ (whole * STEP_S / 1e6) + can @ whole
            short = short + np.maximum((task.minimum_mol or 0.0) - mol, 0.0)
    return [(float(k), round(float(s), 3), float(o)) for k, s, o in zip(kills, short, over, strict=True)]


def under(house: HouseHeat, cover: Cover, drawn: Mask, passes: float) -> HouseHeat:
    """The house with a cover over it. drawn : (steps,) or (steps, ways)."""
    falls, warms = heats_house(cover, passes)
    wide = drawn.ndim == 2
    sun, dry = (v[:, None] if wide else v for v in (house.sun_w_m2, house.dry_w_m2))
    return replace(
        house, sun_w_m2=sun * np.where(drawn, falls, 1.0), dry_w_m2=dry + sun * np.where(drawn, warms, 0.0)
    )


def light_under(light: BenchLight, over: HouseCover) -> BenchLight:
    """A bench's light with the cover drawn over its house, at the middle of its range."""
    losses = light.losses
    return replace(
        light, losses=replace(losses, shade=losses.shade * over.factor(len(losses.shade), over.middle))
    )
