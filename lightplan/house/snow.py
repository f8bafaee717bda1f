"""Light lost to snow that lies on the roof.

Snow stays while the outer skin is below freezing: a heated house under thin glazing melts it off.
How much lies there follows the slope, as loads on slippery roofs do; how much light it leaves falls
with its depth.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lightplan.house.shape import section_of
from lightplan.site.models import House

Array = NDArray[np.float64]

# Visible light through 10 cm of snow is about 5 %, and its coefficient up to 30 a metre: Perovich 2007,
# "Light reflection and transmission by a temperate snow cover", J. Glaciology 53 (read on a page)
EXTINCTION_PER_M = 30.0
# Share that stays on a warm, slippery, unobstructed roof by slope: ASCE 7, figure for Cs (from memory)
ALL_LIES_DEG, NONE_LIES_DEG = 5.0, 70.0
OUTSIDE_W_M2K = 22.7  # surface to moving air, 3.4 m/s (ASHRAE Fundamentals; from memory)
TELLING_M = 0.01  # less on the ground is not told from none; judgement


def snow_leaves(house: House, *, temp_air_c: Array, snow_m: Array) -> Array:
    """(steps,) share of light that snow leaves; 1 where depth or temperature is unknown (nan)."""
    warmed = house.glazing.u_w_m2k / OUTSIDE_W_M2K
    skin_c = temp_air_c + warmed * (np.maximum(house.heat_to_c, temp_air_c) - temp_air_c)
    lies = (np.nan_to_num(snow_m) >= TELLING_M) & (skin_c < 0)
    widths, stays = _roof(house)
    depth = np.where(lies, np.nan_to_num(snow_m), 0.0)
    through = np.exp(-EXTINCTION_PER_M * depth[:, None] * stays)
    return np.asarray(through @ widths / widths.sum())


def _roof(house: House) -> tuple[Array, Array]:
    """Level width of each pane that faces up, and the share of snow that stays on it."""
    section = section_of(house)
    level = -section.inward[:, 1] * section.widths
    up = level > 1e-6
    slope = np.degrees(np.arccos(np.clip(-section.inward[up, 1], -1, 1)))
    stays = np.clip((NONE_LIES_DEG - slope) / (NONE_LIES_DEG - ALL_LIES_DEG), 0.0, 1.0)
    return level[up], stays
