"""A season's steps joined into blocks that a program need not tell apart.

Within a block price, day, and what every bench may do are the same, so lighting each of its steps by the same
part costs the same and meets the same needs as any other way: nothing is lost by counting.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from lightplan.advice.lamps.horizon import Horizon, horizon_of
from lightplan.advice.lamps.nights import (
    Night,
    anchors,
    darkness_h,
    daylight_steps,
    nights_of,
    one_stretch_days,
)
from lightplan.advice.lamps.task import LampTask
from lightplan.clock import Grid, Window
from lightplan.replay.season import BenchSeason, Season

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
Numbers = NDArray[np.int64]


@dataclass
class Blocks:
    """One bench's blocks; lists by block.

    steps, day, segment : how many steps, of which day, of which segment of the season.
    dark_h : dark [h] that a lit step takes away. after : pairs, the second further into the night than the
    first. either : pairs of one segment, reached from dusk and from dawn. nights : blocks of a night and the
    dark they may take [h]. seed : blocks of a segment and its steps, in which seed wants lamp light.
    """

    steps: list[int] = field(default_factory=list)
    day: list[int] = field(default_factory=list)
    segment: list[int] = field(default_factory=list)
    dark_h: list[float] = field(default_factory=list)
    after: list[tuple[int, int]] = field(default_factory=list)
    either: list[tuple[int, int]] = field(default_factory=list)
    nights: list[tuple[tuple[int, ...], float]] = field(default_factory=list)
    seed: list[tuple[tuple[int, ...], int]] = field(default_factory=list)


@dataclass(frozen=True)
class SeasonBlocks:
    """first : (segments,) first step of each stretch of like steps; steps : how many it has."""

    first: Numbers
    steps: Numbers
    of_bench: tuple[Blocks, ...]


def blocks_of(season: Season) -> SeasonBlocks:
    horizons = tuple(_horizon(season, bench) for bench in season.benches)
    nights = tuple(nights_of(horizon) for horizon in horizons)
    labels: list[Array | Mask | Numbers] = [season.grid.day[: season.steps]]
    if season.price is not None:
        labels.append(season.price[: season.steps])
    for horizon, each in zip(horizons, nights, strict=True):
        labels += [horizon.may, horizon.seed, daylight_steps(horizon), anchors(horizon), darkness_h(horizon)]
        labels += [_membership(horizon, [night.evening for night in each])]
        labels += [_membership(horizon, [night.morning for night in each])]
    new = np.zeros(season.steps, dtype=bool)
    new[0] = True
    for label in labels:
        new[1:] |= np.diff(label.astype(float)) != 0
    first = np.flatnonzero(new)
    return SeasonBlocks(
        first=first,
        steps=np.diff([*first, season.steps]),
        of_bench=tuple(_blocks(h, n, first) for h, n in zip(horizons, nights, strict=True)),
    )


def _horizon(season: Season, bench: BenchSeason) -> Horizon:
    """The whole season as one plan's question, the low point being the sun itself.

    As if switched by hand: a timer set once for all of it would burn at the same hours every day.
    """
    grid, steps = Grid(season.dates, season.grid.zone), season.steps
    task = LampTask(
        bench_id=bench.bench.id,
        lamps=replace(bench.lamps, switch="hand"),
        sun_ppfd=bench.sun_ppfd[:steps],
        sun_ppfd_low=bench.sun_ppfd[:steps],
        daylight=bench.daylight[:steps],
        needs=bench.needs[: season.days],
        allowed=bench.allowed[:steps],
        already=np.zeros(steps, dtype=bool),
    )
    start, end = grid.moment(0), grid.moment(len(grid))
    return horizon_of(task, grid=grid, window=Window(start, end), now=start, crew=())


def _membership(horizon: Horizon, pieces: Sequence[Sequence[int]]) -> Numbers:
    member = np.zeros(len(horizon), dtype=np.int64)
    for number, steps in enumerate(pieces):
        member[list(steps)] = number + 1
    return member


def _blocks(horizon: Horizon, nights: Sequence[Night], first: Numbers) -> Blocks:
    found = Blocks()
    length = np.diff([*first, len(horizon)])
    dark = darkness_h(horizon)
    of_segment: dict[int, list[int]] = {}

    def add(segment: int) -> int:
        step = int(first[segment])
        found.steps.append(int(length[segment]))
        found.day.append(int(horizon.day[step]))
        found.segment.append(segment)
        found.dark_h.append(float(dark[step]))
        of_segment.setdefault(segment, []).append(len(found.steps) - 1)
        return len(found.steps) - 1

    by_day = daylight_steps(horizon) | ~one_stretch_days(horizon)[horizon.day]
    for segment in np.flatnonzero((horizon.may & by_day)[first]):
        add(int(segment))
    anchored = anchors(horizon)
    for night in nights:
        members: list[int] = []
        for steps, towards_day in ((night.evening, -1), (night.morning, 1)):
            segments = dict.fromkeys(int(np.searchsorted(first, step, side="right")) - 1 for step in steps)
            before: int | None = None
            if steps and anchored[steps[0] + towards_day]:
                anchor = int(np.searchsorted(first, steps[0] + towards_day, side="right")) - 1
                before = next(iter(of_segment.get(anchor, [])), None)
            for inside in segments:
                block = add(inside)
                if before is not None:
                    found.after.append((before, block))
                before = block
                members.append(block)
        if night.spare_h is not None and members:
            found.nights.append((tuple(members), night.spare_h))
    for number, blocks in of_segment.items():
        if len(blocks) == 2:
            found.either.append((blocks[0], blocks[1]))
        if horizon.seed[first[number]]:
            found.seed.append((tuple(blocks), int(length[number])))
    return found
