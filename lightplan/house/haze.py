"""Light that hazy panes and ends scatter into the house on its way in.

What a hazy glazing passes is split: one part goes straight on, the rest leaves its inner face in all
directions. Real films scatter mostly forward; this spreads as far as light can be spread. A hazy pane is
one of the `nodes`: what falls on one face, from the sky, the ground or a neighbouring span, leaves
the other; ends take what falls on them from the sky and the ground.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lightplan.house.nodes import Nodes
from lightplan.house.traced import TracedHouse

Array = NDArray[np.float64]
Light = NDArray[np.float32]


def taken_of_sun(house: TracedHouse, nodes: Nodes, heights_rad: Array) -> Light:
    """(angles, heights, nodes) how strongly nodes take sun from each direction: 1, but for hazy panes."""
    taken = np.ones((len(house.panes.across), len(heights_rad), len(nodes)), dtype=np.float32)
    hazy = np.flatnonzero(nodes.is_hazy)
    pane = nodes.pane[hazy]
    sun = np.stack([np.cos(heights_rad), np.sin(heights_rad)], axis=1)
    facing = sun @ house.section.inward[pane].T  # (heights, hazy)
    strength = house.panes.scatter(np.tile(pane, len(sun)), facing.ravel())
    taken[..., hazy] = strength.reshape(*facing.shape, len(taken)).transpose(2, 0, 1)
    return taken


def scattered_by_ends(house: TracedHouse, *, heights_rad: Array, ground: float) -> Array:
    """(2, angles, heights, end bands) leaving each band inward, over the light on the level outdoors.

    Light from the ground outside (its reflectance `ground`) is scattered too.
    """
    bands = np.array(house.section.band_is_open)
    found = np.zeros((2, len(house.angles.drift), len(heights_rad), 2 * len(bands)))
    for end in (0, 1):
        faces = end * len(bands) + np.flatnonzero(bands)
        sun_on_end = (house.angles.drift * house.ends.scattering[end])[:, None] / np.sin(heights_rad)
        found[end][..., faces] = house.ends.scatters[end] * sun_on_end[..., None]
        found[..., faces] += house.ends.scatters[end] * ground / 2
    return found
