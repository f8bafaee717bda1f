"""How well each way of running a bench keeps the aims, in their order of rank."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lightplan.advice.covers.task import CoverTask, Remedy, States, Tent
from lightplan.clock import STEP_MIN, STEP_S

Array = NDArray[np.float64]
Steps = NDArray[np.int64]

WORSE_K = 5.0  # over a temperature limit: a minute so far over counts as two; judgement
MOVE_MOL = 0.2  # what a move by hand weighs beside light short of the target; judgement


@dataclass(frozen=True)
class Verdict:
    """Arrays (ways,), 0 = kept. Minutes over what is borne, hotter ones counting for more, and mol short."""

    kills: Array
    short_of_minimum: Array
    over_limits: Array
    weight: Array

    @property
    def broken(self) -> Array:
        """Minutes over limits beyond what is borne, as they are weighed."""
        return self.kills + self.over_limits

    @property
    def is_broken(self) -> NDArray[np.bool_]:
        return (self.kills > 0) | (self.over_limits > 0)


def states_of(task: CoverTask, remedy: Remedy, on: Steps, off: Steps, passed: float) -> States:
    """The remedy between each on and off, the bench as it stands otherwise."""
    step = np.arange(len(task.today))
    drawn = (step >= on[:, None]) & (step < off[:, None])
    laid = task.as_laid or NOTHING_LAID
    tent = np.where(drawn, int(remedy.tent), laid.tent)
    if remedy.after is not Tent.CLOSED:
        tent = np.where((step >= off[:, None]) & (step < (task.end or 0)), int(remedy.after), tent)
    return States(
        tent=tent,
        passed=np.where(drawn, passed, laid.passed),
        absorbed=np.where(drawn, remedy.absorbed, laid.absorbed),
        r_m2k_w=np.where(drawn, remedy.r_m2k_w, laid.r_m2k_w),
        airy=np.where(drawn, float(remedy.airy), laid.airy),
    )


NOTHING_LAID = States(
    tent=np.array([[int(Tent.CLOSED)]]),
    passed=np.ones((1, 1)),
    absorbed=np.zeros((1, 1)),
    r_m2k_w=np.zeros((1, 1)),
    airy=np.zeros((1, 1)),
)


def light(task: CoverTask, states: States) -> Array:
    """(ways, steps) sun at the bench [µmol m⁻² s⁻¹]."""
    by_tent = np.stack(task.sun_ppfd)
    step = np.arange(by_tent.shape[1])
    return np.asarray(by_tent[states.tent, step] * states.passed)


def judge(
    task: CoverTask, remedy: Remedy, on: Steps, off: Steps, *, factor: float = 1.0, warmer_c: float = 0.0
) -> Verdict:
    """Every (on, off) of one remedy, on a day of `factor` times the forecast's light.

    Limits are held at the covers' bright end, the minimum at their dark end and the forecast's low point.
    """
    bright = states_of(task, remedy, on, off, remedy.bright_end)
    temperature = task.climate(bright, np.full(len(on), factor)) + warmer_c
    kills, over = broken(task, light(task, bright) * factor, temperature)
    dark = light(task, states_of(task, remedy, on, off, remedy.dark_end)) * task.low
    middle = light(task, states_of(task, remedy, on, off, remedy.middle))
    lamps = _lamps_can(task, remedy, on, off)
    minimum, target = task.minimum_mol or 0.0, task.target_mol or 0.0
    short, missed = np.zeros(len(on)), np.zeros(len(on))
    for whole in (task.today, *task.whole):
        day = whole * STEP_S / 1e6
        short += np.maximum(minimum - dark @ day - lamps @ whole, 0.0)
        missed += np.maximum(target - middle @ day - task.lamp_mol, 0.0)
    return Verdict(
        kills=kills, short_of_minimum=short, over_limits=over, weight=missed + MOVE_MOL * remedy.moves
    )


def _lamps_can(task: CoverTask, remedy: Remedy, on: Steps, off: Steps) -> Array:
    """(ways, steps) or (1, steps): the most that lamps may bring, none of it under a cover that burns."""
    can = task.lamp_can_mol[None]
    if not any(cover.combustible for cover in remedy.covers):
        return can
    step = np.arange(len(task.today))
    return np.where((step >= on[:, None]) & (step < off[:, None]), 0.0, can)


def broken(task: CoverTask, ppfd: Array, temperature_c: Array) -> tuple[Array, Array]:
    """(ways,) minutes, day by day, over the second temperature step, and over the lower one or the PPFD
    limit, beyond what is borne of each."""
    limits = task.limits
    kills, over = np.zeros(len(ppfd)), np.zeros(len(ppfd))
    for day in task.limit_days:
        kills += _weighed(temperature_c, limits.temperature_upper_c, limits.temperature_upper_minutes, day)
        over += _weighed(temperature_c, limits.temperature_c, limits.temperature_minutes, day)
        counts = day if task.heat_gate_c is None else day & (task.air_c > task.heat_gate_c)
        over += _beyond(ppfd, limits.ppfd_umol_m2_s, limits.ppfd_minutes, counts)
    return kills, over


def _beyond(values: Array, limit: float | None, minutes: int | None, counts: NDArray[np.bool_]) -> Array:
    if limit is None:
        return np.zeros(len(values))
    over = ((values > limit) & counts).sum(axis=1) * STEP_MIN
    return np.asarray(np.maximum(over - (minutes or 0), 0.0), dtype=np.float64)


def _weighed(values: Array, limit: float | None, minutes: int | None, counts: NDArray[np.bool_]) -> Array:
    """The same of a temperature; where more is over than is borne, the heat beyond counts besides."""
    beyond = _beyond(values, limit, minutes, counts)
    if limit is None:
        return beyond
    heat = (np.maximum(values - limit, 0.0) * counts).sum(axis=1) * STEP_MIN / WORSE_K
    return np.asarray(np.where(beyond > 0, beyond + heat, 0.0))
