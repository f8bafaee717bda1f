"""Days after the window: hours are counted, not laid out, for a later sheet will order them knowing more."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from lightplan.advice.lamps.horizon import Horizon
from lightplan.advice.lamps.nights import darkness_h, daylight_steps, nights_of, one_stretch_days
from lightplan.advice.lamps.program import Program
from lightplan.advice.lamps.task import Numbers

BY_DAY = -1  # instead of the number of a night


@dataclass(frozen=True)
class Block:
    """Steps of one price and one night, or of the daylight, that a column counts the lit ones of."""

    column: int
    segment: int
    first: int
    steps: tuple[int, ...]
    wanted: int  # lit for seed whatever the cost


def add_later(program: Program, horizon: Horizon, segment: Numbers, near: int) -> tuple[Block, ...]:
    """Blocks of the steps from `near` on; lamps take no more of a night than its dark allows."""
    usable = horizon.may & ~horizon.must
    night_of = np.full(len(horizon), BY_DAY)
    reached = daylight_steps(horizon) | ~one_stretch_days(horizon)[horizon.day]
    nights = nights_of(horizon)
    for number, night in enumerate(nights):
        steps = [*night.evening, *night.morning]
        night_of[steps] = number
        reached[steps] = True
    found: dict[tuple[int, int], list[int]] = {}
    for step in np.flatnonzero(usable & reached):
        if step >= near:
            found.setdefault((int(segment[step]), int(night_of[step])), []).append(int(step))
    blocks = {}
    for key, steps in found.items():
        wanted = int(horizon.seed[steps].sum())
        column = program.column(float(wanted), float(len(steps)))
        blocks[key] = Block(column, key[0], steps[0], tuple(steps), wanted)
    dark = darkness_h(horizon)
    for number, night in enumerate(nights):
        taken = [
            (block.column, float(dark[list(block.steps)].mean()))
            for (_, of_night), block in blocks.items()
            if of_night == number
        ]
        if night.spare_h is not None and taken:
            least = math.fsum(share * program.lower[column] for column, share in taken)
            program.row(taken, high=max(night.spare_h, least))
    return tuple(blocks.values())
