"""What decides between plans of equal cost, as a mite of cost on each step.

A unit is worth so little that all of them together never outweigh a real difference in price.
"""

from __future__ import annotations

import numpy as np

from lightplan.advice.lamps.horizon import Horizon
from lightplan.advice.lamps.nights import WHOLE
from lightplan.advice.lamps.task import Array

UNIT = 1e-5  # of the mean cost of a lit step; the weights below are judgement, their order is the design's

BEFORE_DAWN, AFTER_DUSK = 1.0, 2.0  # grey daylight hours: 0
START = 1.0
NEW_CLOCK_TIME = 0.25
BRIGHT = 0.1  # at `sun_enough`: of two daylight hours the greyer one
# What a later sheet can still order is left to it, for it will know more about the sun.
IN_THIS_WINDOW = 10.0
DAY_SOONER = 4.0

NOON_MIN = 720


def step_preference(horizon: Horizon) -> Array:
    """(steps,) units of `UNIT`; lower is liked better."""
    task, minute = horizon.task, horizon.minute
    daylight = task.daylight[: len(horizon)] >= WHOLE
    bright = BRIGHT * task.sun_ppfd[: len(horizon)] / task.lamps.sun_enough_ppfd_umol_m2_s
    liked = np.where(daylight, bright, np.where(minute < NOON_MIN, BEFORE_DAWN, AFTER_DUSK))
    liked = liked + DAY_SOONER * (horizon.days - 1 - horizon.day)
    liked[horizon.start : horizon.stop] += IN_THIS_WINDOW
    if task.yesterday:
        kept = np.zeros(len(horizon), dtype=bool)
        for on, off in task.yesterday:
            kept |= (minute >= on) & (minute < off)
        liked = liked + NEW_CLOCK_TIME * ~kept
    return np.asarray(liked, dtype=float)
