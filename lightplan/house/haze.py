"""Light that hazy panes and ends scatter into the house on its way in.

What a hazy glazing passes is split: one part goes straight on, the rest leaves its inner face in all
directions. Real films scatter mostly forward; this spreads as far as light can be spread.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lightplan.house.along import Fates
from lightplan.house.nodes import Nodes
from lightplan.house.straight import Points, straight_light
from lightplan.house.traced import TracedHouse

Array = NDArray[np.float64]


def scattered_light(
    house: TracedHouse, nodes: Nodes, *, heights_rad: Array, mean: Fates, ground: float
) -> Array:
    """(2, angles, heights, nodes + end bands) leaving each face inward, over the light on the level outdoors.

    Light from the ground outside (its reflectance `ground`) is scattered too.
    """
    section, panes, bands = house.section, house.panes, np.array(house.section.band_is_open)
    found = np.zeros((2, len(panes.across), len(heights_rad), len(nodes) + 2 * len(bands)))
    hazy = np.flatnonzero((nodes.pane >= 0) & panes.is_hazy[nodes.pane])
    if len(hazy):
        pane, every = nodes.pane[hazy], nodes.points(hazy)
        outer = Points(every.at, -every.facing, every.pane, every.place, every.places, ~every.inside)
        sun_on = straight_light(
            house, points=outer, heights_rad=heights_rad, across=mean, entrance=house.ends.passed
        )
        sun = np.stack([np.cos(heights_rad), np.sin(heights_rad)], axis=1)
        facing = sun @ section.inward[pane].T  # (heights, hazy)
        strength = panes.scatter(np.tile(pane, len(sun)), facing.ravel()).reshape(*facing.shape, -1)
        # the ground lies opposite to the suns: even light of π ∕ (heights) each, at each ridge angle's weight
        slant = np.maximum(facing, 0) * np.pi / (2 * len(sun))
        of_ground = ground * np.einsum("hp,hpk,k->p", slant, strength, house.angles.weights)
        sun_on = sun_on[..., hazy, 0] * strength.transpose(2, 0, 1)
        found[..., hazy] = panes.scatters[panes.kind[pane]] * (sun_on + of_ground)
    for end in (0, 1):
        faces = len(nodes) + end * len(bands) + np.flatnonzero(bands)
        sun_on_end = (house.angles.drift * house.ends.scattering[end])[:, None] / np.sin(heights_rad)
        found[end][..., faces] = house.ends.scatters[end] * sun_on_end[..., None]
        found[..., faces] += house.ends.scatters[end] * ground / 2
    return found
