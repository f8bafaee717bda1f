"""Light lost to snow that lies on the roof.

Snow stays while the outer skin is below freezing, and is gone after a thaw until more falls: a heated
house under thin glazing melts it off. How much lies there follows the slope, as loads on slippery
roofs do, so walls and ends stay clear; how much light it leaves falls with its depth.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lightplan.house.entering import entering, even_sky, towards
from lightplan.house.shape import Section, section_of
from lightplan.site.models import House

Array = NDArray[np.float64]

# Visible light through 10 cm of snow is about 5 %, and its coefficient up to 30 a metre: Perovich 2007,
# "Light reflection and transmission by a temperate snow cover", J. Glaciology 53 (read on a page)
EXTINCTION_PER_M = 30.0
# Share that stays on a warm, slippery, unobstructed roof by slope: ASCE 7, figure for Cs (from memory)
ALL_LIES_DEG, NONE_LIES_DEG = 5.0, 70.0
OUTSIDE_W_M2K = 22.7  # surface to moving air, 3.4 m/s (ASHRAE Fundamentals; from memory)
TELLING_M = 0.01  # less on the ground, or less more of it, is not told from none; judgement


def snow_leaves(
    house: House, *, zenith_deg: Array, azimuth_deg: Array, temp_air_c: Array, snow_m: Array
) -> tuple[Array, Array]:
    """(steps,) shares of beam and of diffuse light that snow leaves.

    snow_m : depth on the ground. Unknown depth or temperature (nan) leaves the roof clear.
    """
    beam, diffuse = np.ones(len(snow_m)), np.ones(len(snow_m))
    depth = _on_roof_m(house, temp_air_c, snow_m)
    lies = depth > 0
    if not lies.any():
        return beam, diffuse
    section = section_of(house)
    through = np.exp(-EXTINCTION_PER_M * depth[lies, None] * _stays(section))
    directions, share = even_sky()
    weights = (entering(section, directions).light * share).sum(axis=1)
    if not weights.any():
        return beam, diffuse
    diffuse[lies] = through @ weights / weights.sum()
    sun = towards(np.minimum(zenith_deg[lies], 90.0), azimuth_deg[lies] - house.ridge_azimuth_deg)
    light = entering(section, sun).light.T
    total = light.sum(axis=1)
    beam[lies] = np.where(total > 0, (light * through).sum(axis=1) / np.where(total > 0, total, 1.0), 1.0)
    return beam, diffuse


def _on_roof_m(house: House, temp_air_c: Array, snow_m: Array) -> Array:
    """(steps,) depth that a level roof would hold; at the first step what lies on the ground, if it can."""
    warmed = house.glazing.u_w_m2k / OUTSIDE_W_M2K
    skin_c = temp_air_c + warmed * (np.maximum(house.heat_to_c, temp_air_c) - temp_air_c)
    depth = np.nan_to_num(snow_m)
    if not (depth > 0).any():
        return np.zeros(len(depth))
    cold = np.concatenate([[False], skin_c < 0, [False]])
    turns = np.flatnonzero(cold[1:] != cold[:-1])
    found = np.zeros(len(depth))
    for first, end in zip(turns[::2], turns[1::2], strict=True):
        # depth on the ground when the roof was last clear, or the least since
        before = depth[first - 1] if first else 0.0
        found[first:end] = depth[first:end] - np.minimum(np.minimum.accumulate(depth[first:end]), before)
    return np.where(found >= TELLING_M, found, 0.0)


def _stays(section: Section) -> Array:
    """(faces,) share of the snow that stays on each pane by its slope; none on the ends."""
    up = -section.inward[:, 1]
    slope = np.degrees(np.arccos(np.clip(up, -1, 1)))
    on_roof = np.clip((NONE_LIES_DEG - slope) / (NONE_LIES_DEG - ALL_LIES_DEG), 0.0, 1.0)
    return np.concatenate([on_roof, [0.0, 0.0]])
