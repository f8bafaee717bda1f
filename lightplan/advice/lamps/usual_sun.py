"""What is known of the sun to come: what is usual at this time of year, and a forecast weighed against it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.stats import norm

Array = NDArray[np.float64]

USUAL_DAYS = 15  # on either side of a date, from which what is usual is taken; judgement
LOW_POINT = float(norm.ppf(0.1))  # of forecasts, in their sd: one day in ten is darker
SLIGHT_SD = 1e-3  # a spread this small is none; judgement


@dataclass(frozen=True)
class Usual:
    """The logarithm of a day's sun at the bench [mol m⁻²] at this time of year: mean and spread.

    drift : by which the mean grows each day, as days grow longer.
    """

    mean: float
    sd: float
    drift: float = 0.0


@dataclass(frozen=True)
class Known:
    """A day as it is seen this morning: the logarithm of its sun, and what is lit already [mol m⁻²]."""

    mean: float
    sd: float
    lit: float = 0.0


def usual_of(
    clearness: Sequence[float], *, sun_mol: Array, outdoor_mol: Array, clear_mol: Array
) -> Usual | None:
    """What is usual at a bench, from days' light over a clear sky's at this time of year.

    sun_mol, outdoor_mol, clear_mol : (days,) of the days ahead, at the bench, outdoors, and outdoors under a
    clear sky; clear_mol may reach further. None where too few days are known or it is dark.
    """
    seen = np.array([share for share in clearness if share > 0])
    passed = float(outdoor_mol.sum())
    if len(seen) < USUAL_DAYS or passed <= 0 or not sun_mol.sum() > 0:
        return None
    logs = np.log(seen)
    clear_at_bench = float(clear_mol[: len(sun_mol)].mean()) * float(sun_mol.sum()) / passed
    drift = np.log(clear_mol[-1] / clear_mol[0]) / (len(clear_mol) - 1) if clear_mol.min() > 0 else 0.0
    return Usual(float(logs.mean() + np.log(clear_at_bench)), float(logs.std()), float(drift))


def seen_this_morning(sun_mol: float, low_mol: float, usual: Usual, lit_mol: float = 0.0) -> Known:
    """The forecast of a day, as sure as its low point says, weighed against what is usual."""
    sd = error_sd(low_mol / sun_mol) if sun_mol > 0 else SLIGHT_SD
    told = np.log(max(sun_mol, 1e-3)) + sd**2 / 2
    if sd <= SLIGHT_SD:
        return Known(float(told), SLIGHT_SD, lit_mol)
    if usual.sd <= SLIGHT_SD:
        return Known(float(usual.mean), SLIGHT_SD, lit_mol)
    weight = sd**2 / (sd**2 + usual.sd**2)
    mean = told * (1 - weight) + usual.mean * weight
    return Known(float(mean), float(max(SLIGHT_SD, sd * np.sqrt(1 - weight))), lit_mol)


def error_sd(low_over_middle: float) -> float:
    """Spread of the logarithm of light for which the 10 % point lies so far under the forecast's mean."""
    log = np.log(min(max(low_over_middle, 1e-6), 1.0))
    inside = LOW_POINT**2 + 2 * log
    return float(max(SLIGHT_SD, -LOW_POINT - np.sqrt(inside) if inside > 0 else -LOW_POINT))
