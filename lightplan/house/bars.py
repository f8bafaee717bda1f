"""What glazing bars take, by the sun's direction: a bar has depth, and light from the side meets its flank.

Bars run up walls, roof and ends, evenly spaced. They are taken as black: what a painted flank throws
on is left out, so the loss is rather too high than too low.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lightplan.house.entering import Entering, entering, even_sky, towards
from lightplan.house.shape import section_of
from lightplan.site.models import Bars, House

Array = NDArray[np.float64]


def bars_leave(house: House, zenith_deg: ArrayLike, azimuth_deg: ArrayLike) -> Array:
    """Share of the beam that bars leave, by the sun's position; 1 where a house tells of no bars.

    zenith_deg, azimuth_deg : one shape, azimuth from north. The mean over the faces that the sun meets,
    weighed by the light that each lets in; 1 with the sun down.
    """
    zenith, azimuth = np.broadcast_arrays(zenith_deg, azimuth_deg)
    found = np.ones(zenith.shape)
    is_up = zenith < 90.0
    if house.bars is not None and is_up.any():
        sun = towards(zenith[is_up], azimuth[is_up] - house.ridge_azimuth_deg)
        come = entering(section_of(house), sun)
        total = come.light.sum(axis=0)
        left = (come.light * _left(house.bars, come)).sum(axis=0)
        found[is_up] = np.where(total > 0, left / np.where(total > 0, total, 1.0), 1.0)
    return found


def bars_leave_of_even_sky(house: House) -> float:
    """The same for light that comes evenly from the whole sky."""
    if house.bars is None:
        return 1.0
    directions, share = even_sky()
    come = entering(section_of(house), directions)
    light = come.light * share
    return float((light * _left(house.bars, come)).sum() / light.sum()) if light.any() else 1.0


def _left(bars: Bars, come: Entering) -> Array:
    """Share that bars leave of what comes in by each face."""
    flank = np.zeros_like(come.cosine)
    np.divide(bars.depth_m * come.sideways, come.cosine, out=flank, where=come.cosine > 0)
    return 1 - np.minimum((bars.width_m + flank) / bars.spacing_m, 1.0)
