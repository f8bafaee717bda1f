"""Cloud cover → light, a curve of its own for each kind of cover: 100 % is not one quantity."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


class CloudKind(Enum):
    """Who says how much of the sky is covered."""

    OBSERVER = "observer"  # octas seen by a person
    MODEL = "model"  # fraction of a weather model's grid cell
    FORECASTER = "forecaster"  # grids edited by hand, nearer to opaque cover


@dataclass(frozen=True)
class Curve:
    """Light over clear-sky light (Ineichen) at steps of cover; straight between them.

    spread : standard deviation of a day's light about the curve, in the measure of `bands.py`.
    """

    cover: tuple[float, ...]
    clearness: tuple[float, ...]
    spread: float
    source: str


CURVES = {
    CloudKind.OBSERVER: Curve(
        tuple(n / 8 for n in range(9)),
        (0.97, 1.015, 0.983, 0.953, 0.882, 0.853, 0.778, 0.555, 0.227),
        spread=0.50,
        source="fit to the odd days of De Bilt 2000 (KNMI, hourly global light and observed octas)",
    ),
    CloudKind.MODEL: Curve(
        (0.0, 0.10, 0.40, 0.70, 0.90, 0.97, 1.0),
        (1.066, 1.06, 1.03, 0.90, 0.68, 0.60, 0.44),
        spread=0.70,
        source="40 days of Open-Meteo's own cover and light, winter half-year in Germany; the fit's own "
        "spread of 0.55 widened, since summer and other models are not in it (judgement)",
    ),
    CloudKind.FORECASTER: Curve(
        tuple(n / 10 for n in range(11)),
        (1.03, 1.03, 1.0, 0.97, 0.92, 0.87, 0.81, 0.73, 0.62, 0.48, 0.33),
        spread=0.75,
        source="mean of De Bilt's observed octas and of opaque cover in the measured hours of Miami's TMY2 "
        "year; no measured pair of these grids and light was at hand (judgement)",
    ),
}

# Where a model tells its layers apart: light over clear-sky light =
# LAYERS_CLEAR × (1 − LOW × low^LOW_POWER)(1 − MIDDLE × middle)(1 − HIGH × high); same data as the MODEL
# curve, where it halves the squared error by the hour: thin high cloud hardly dims
LAYERS_CLEAR, LOW, LOW_POWER, MIDDLE, HIGH = 1.04, 0.56, 3.4, 0.41, 0.13


def clearness_of_cover(
    cover: Array, kind: CloudKind, layers: tuple[Array, Array, Array] | None = None
) -> Array:
    """Light over clear-sky light for a cover of 0..1; nan stays nan.

    layers : cover of the low, middle and high layer, used where all three are known (MODEL only).
    """
    curve = CURVES[kind]
    of_total = np.asarray(np.interp(cover, curve.cover, curve.clearness), dtype=float)
    if layers is None or kind is not CloudKind.MODEL:
        return of_total
    low, middle, high = layers
    of_layers = LAYERS_CLEAR * (1 - LOW * low**LOW_POWER) * (1 - MIDDLE * middle) * (1 - HIGH * high)
    return np.where(np.isfinite(of_layers), of_layers, of_total)
