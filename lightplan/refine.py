"""Means over an hour (or half) spread over the working step, each hour's energy kept."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def spread_over_steps(means: Array, clear: Array, extraterrestrial: Array) -> Array:
    """Values per working step whose mean over each source interval is the source's.

    means : (intervals,). clear, extraterrestrial : (intervals × steps,) weights: within an interval light
    follows the clear sky (a constant clear-sky index); where that is nil, light above the air; where that
    is nil too, evenly.
    """
    parts = len(clear) // len(means)
    by_clear, by_top = clear.reshape(-1, parts), extraterrestrial.reshape(-1, parts)
    weights = np.where(by_clear.sum(1, keepdims=True) > 0, by_clear, by_top)
    weights = np.where(weights.sum(1, keepdims=True) > 0, weights, 1.0)
    return np.asarray((means[:, None] * weights / weights.mean(1, keepdims=True)).ravel())
