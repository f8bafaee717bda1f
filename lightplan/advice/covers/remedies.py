"""The remedies that a bench has at hand, least first, and the times between which they can stand."""

from __future__ import annotations

from dataclasses import replace
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


def left_open(task: CoverTask, *, kills: bool) -> tuple[Remedy, ...]:
    """What may be left as it is when the hands go: the tent open, its covers off."""
    opened = (remedy for remedy in remedies(task) if remedy.tent is not Tent.CLOSED)
    return tuple(replace(remedy, after=remedy.tent) for remedy in opened)


def left_covered(task: CoverTask, *, kills: bool) -> tuple[Remedy, ...]:
    """Covers that may be left on when the hands go.

    kills : whether heat would kill otherwise. If not, no cover that burns stays where lamps may be wanted:
    a night without light costs more than one a little too warm.
    """
    lamps = bool((task.lamp_can_mol[: task.end] > 0).any())
    laid = [r for r in remedies(task) if r.covers and all(cover.night for cover in r.covers)]
    return tuple(r for r in laid if kills or not lamps or not any(c.combustible for c in r.covers))


def spans(task: CoverTask, remedy: Remedy) -> tuple[Steps, Steps]:
    """(on, off) every half hour while hands are there, within the covers' life; the last moment too."""
    hours = _hours(task)
    on, off = (grid.ravel() for grid in np.meshgrid(hours, hours, indexing="ij"))
    return _within_life(remedy, on[off > on], off[off > on])


def spans_that_stay(task: CoverTask, remedy: Remedy) -> tuple[Steps, Steps]:
    """(on, off) of a remedy that stands until the next hands come; its covers may come off before."""
    if task.end is None:
        return np.zeros(0, dtype=np.int64), np.zeros(0, dtype=np.int64)
    if remedy.after is Tent.CLOSED:
        on = _hours(task)
        return _within_life(remedy, on, np.full(len(on), task.end, dtype=np.int64))
    return spans(task, remedy)


def _hours(task: CoverTask) -> Steps:
    hands = np.flatnonzero(task.crew & task.today)
    return np.union1d(hands[::HALF_HOUR], hands[-1:])


def _within_life(remedy: Remedy, on: Steps, off: Steps) -> tuple[Steps, Steps]:
    lives = [cover.life_h for cover in remedy.covers if cover.life_h is not None]
    fits = np.ones(len(on), dtype=bool) if not lives else off - on <= min(lives) * STEPS_PER_H
    return on[fits], off[fits]
