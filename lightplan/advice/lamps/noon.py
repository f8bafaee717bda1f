"""The sun that may still come: when the afternoon's lamps can be left out."""

from __future__ import annotations

from datetime import timedelta

import numpy as np

from lightplan.advice.lamps.horizon import Horizon
from lightplan.advice.lamps.nights import WHOLE
from lightplan.advice.lamps.runs import intervals
from lightplan.advice.lamps.task import Mask, NoonCut
from lightplan.clock import Grid, at_local

NOON_MIN = 720
AROUND = timedelta(minutes=30)  # one reading passes a cloud; half an hour to either side does not
MOST_FACTOR = 2.0  # more than twice the expected sun is not worth waiting for (judgement)


def noon_cut(horizon: Horizon, on: Mask, grid: Grid) -> NoonCut | None:
    """Sun so much brighter than expected that it replaces all lamp light of the sheet's afternoon.

    None where no lamps burn after noon, where seed wants them, or where it would take too much sun. Lamps
    that make a long day burn whatever the sun does.
    """
    needs = horizon.needs[0]
    noon = at_local(grid.dates[0], NOON_MIN, grid.zone)
    first, midnight = grid.index(noon), int((horizon.day == 0).sum())
    for_length = horizon.must.copy()
    if horizon.task.long_day is not None:
        for_length |= horizon.task.daylight[: len(horizon)] < WHOLE
    cut = on.copy()
    cut[: len(horizon)] &= ~for_length
    lamps = cut[first:midnight]
    sun = float(horizon.sun_mol[0])
    if needs is None or needs.target is None or horizon.seed[first:midnight].any() or first < horizon.start:
        return None
    enough = sun >= needs.target and float(horizon.low_mol[0]) >= (needs.minimum or 0.0)
    length_alone = horizon.task.long_day is not None and enough
    if not lamps.any() or sun <= 0 or length_alone:
        return None
    factor = 1 + float(lamps.sum()) * horizon.task.step_mol / sun
    around = slice(grid.index(noon - AROUND), grid.index(noon + AROUND))
    expected = float(np.mean(horizon.task.sun_ppfd[around]))
    if factor > MOST_FACTOR:
        return None
    return NoonCut(noon, factor * expected, factor, intervals(cut, grid, first, midnight))
