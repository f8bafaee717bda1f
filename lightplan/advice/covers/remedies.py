"""The remedies that a bench has at hand, least first, and the times between which they can stand."""

from __future__ import annotations

from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from lightplan.advice.covers.task import CoverTask, Remedy, Tent
from lightplan.clock import STEPS_PER_H

Steps = NDArray[np.int64]

HALF_HOUR = STEPS_PER_H // 2  # finer times are not kept by hand anyway


def remedies(task: CoverTask) -> tuple[Remedy, ...]:
    """Prop the tent, roll it back, the lightest cover up to the darkest, then pairs of covers."""
    tents = (Tent.PROPPED, Tent.ROLLED_BACK) if task.has_tent and task.tent_opens else ()
    singles = sorted(task.covers, key=lambda cover: (-sum(cover.transmittance), cover.r_m2k_w, cover.name))
    pairs = sorted(combinations(singles, 2), key=lambda both: -np.prod([sum(c.transmittance) for c in both]))
    found = [Remedy(tent) for tent in tents]
    for covers in (*((cover,) for cover in singles), *pairs):
        found += [Remedy(tent, tuple(covers)) for tent in (Tent.CLOSED, *tents)]
    return tuple(found)


def spans(task: CoverTask, remedy: Remedy) -> tuple[Steps, Steps]:
    """(on, off) every half hour while hands are there, within the covers' life; the last moment too."""
    hands = np.flatnonzero(task.crew & task.today)
    hours = np.union1d(hands[::HALF_HOUR], hands[-1:])
    on, off = (grid.ravel() for grid in np.meshgrid(hours, hours, indexing="ij"))
    fits = off > on
    lives = [cover.life_h for cover in remedy.covers if cover.life_h is not None]
    if lives:
        fits &= off - on <= min(lives) * STEPS_PER_H
    return on[fits], off[fits]
