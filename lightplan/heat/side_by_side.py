"""Inputs of a run as arrays of one shape: steps first, members or candidates run side by side after."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray


def side_by_side(*values: ArrayLike) -> tuple[NDArray[np.float64], ...]:
    """Scalars, (steps,) and (steps, …) as arrays of one shape (steps, …) with at least two axes.

    A shorter shape is filled up at its end, not its beginning, so that steps stay the first axis. Two axes
    because small arrays are quicker than numpy's scalars.
    """
    arrays = [np.asarray(value, dtype=float) for value in values]
    axes = max(2, *(array.ndim for array in arrays))
    filled = [array.reshape(array.shape + (1,) * (axes - array.ndim)) for array in arrays]
    return tuple(np.broadcast_arrays(*filled))


def as_given(found: NDArray[np.float64], *values: ArrayLike) -> NDArray[np.float64]:
    """The result in the shape of what went in: (steps,) where nothing had more axes."""
    return found if max(np.ndim(value) for value in values) > 1 else found[:, 0]
