"""Light sent on in all directions: how much of what each receiver sees is each node, the ground, the sky.

Worked out backwards: rays leave a receiver evenly (by cosine) and mirror and pass as light does.
What a receiver gets from a node is the share of its rays that end there.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lightplan.house.along import Fates, Tally
from lightplan.house.flight import Legs, Rays, end_bands, legs_of, rays_from
from lightplan.house.nodes import NO_NODE, Nodes
from lightplan.house.rays import GROUND, SKY
from lightplan.house.straight import Points
from lightplan.house.traced import TracedHouse

Array = NDArray[np.float64]
Light = NDArray[np.float32]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

SLOPES = 40  # directions in the cross-section from each point


@dataclass(frozen=True)
class Sent:
    """Rays sent out from receivers. place : (rays,) the receiver each is of. share : (rays,) of its rays.

    weights : (angles,) how much of what it sees lies at each ridge angle.
    """

    rays: Rays
    place: Ints
    share: Light
    places: int
    weights: Array


@dataclass(frozen=True)
class Seen:
    """Shares of what each receiver sees, for rays that drift towards end-b and end-a: (2, places, …).

    nodes : (2, places, nodes, cells). ends : (2, places, 2 ends × bands, cells), end-a from the ground up,
    then end-b. ground, sky : (2, places, cells). The cells lie along the house; one cell is its mean.
    """

    nodes: Array
    ends: Array
    ground: Array
    sky: Array

    @property
    def all_nodes(self) -> Array:
        """(2, places, nodes + ends' bands, cells)"""
        return np.concatenate([self.nodes, self.ends], axis=2)


def sent_evenly(house: TracedHouse, points: Points) -> Sent:
    """Rays from points on strips along the house, evenly by cosine over the half turn before them."""
    sine = (np.arange(SLOPES) + 0.5) / SLOPES * 2 - 1
    cosine = np.sqrt(1 - sine**2)
    sideways = np.stack([points.facing[:, 1], -points.facing[:, 0]], axis=1)
    way = points.facing[:, None] * cosine[None, :, None] + sideways[:, None] * sine[None, :, None]
    start = np.repeat(np.arange(len(points.at)), SLOPES)
    place = points.place[start]
    return Sent(
        rays_from(
            house,
            points.at[start],
            way.reshape(-1, 2),
            leaving=points.pane[start],
            inside=points.inside[start],
        ),
        place,
        (1 / np.bincount(place)[place]).astype(np.float32),
        points.places,
        house.angles.weights,
    )


def seen_from(house: TracedHouse, sent: Sent, nodes: Nodes, *, across: Fates, entrance: Array) -> Seen:
    """Follow rays until they end. entrance : (2, angles) what the end that they drift to passes."""
    angles, bands = len(sent.weights), len(house.section.band_areas_m2)
    columns = len(nodes) + 2 * bands + 2  # the nodes, both ends' bands, ground, sky
    ground = columns - 2
    tally, out = Tally(sent.places * columns, angles), Tally(sent.places * 2, angles)
    for legs in legs_of(house, sent.rays):
        rays, light = legs.rays, legs.rays.light * sent.share[legs.rays.owner][:, None]
        place, inside, far = sent.place[rays.owner], rays.inside, rays.run_m + legs.length_m
        upward = rays.way[:, 1] > 0
        away = place * columns + ground + upward
        open_air = (legs.target == SKY) | ((legs.target == GROUND) & ~inside)
        tally.add("kept", away[open_air], rays.run_m[open_air], light[open_air])
        for on, length, part in _leaving(house, legs):
            tally.add("kept", away[on], length, light[on] * part)
        node = _nodes_met(house, legs, nodes, open_air)
        on = node != NO_NODE
        tally.add("kept", (place * columns + node)[on], far[on], light[on])
        indoors, dim = legs.where(inside), light[inside]
        for band, (start, stop) in enumerate(end_bands(house.section, indoors)):
            at = place[inside] * columns + len(nodes) + band
            through = place[inside] * 2 + upward[inside]
            for length, sign in ((stop, 1), (start, -1)):
                met = indoors.rays.run_m + length
                tally.add("entered", at, met, np.float32(sign) * dim)
                if house.section.band_is_open[band]:
                    out.add("entered", through, met, np.float32(sign) * dim)
    return _settled(
        sent, len(nodes), bands, tally.settle(across, np.ones_like(entrance)), out.settle(across, entrance)
    )


def _nodes_met(house: TracedHouse, legs: Legs, nodes: Nodes, open_air: Bools) -> Ints:
    """(rays,) number of the node that each leg ends on, or NO_NODE."""
    node = np.full(len(legs.rays), NO_NODE)
    met = np.flatnonzero(~open_air)
    where = legs.rays.at[met] + legs.rays.way[met] * legs.length_m[met, None]
    node[met] = nodes.at(house.section, legs.target[met], where, legs.rays.inside[met])
    return node


def _leaving(house: TracedHouse, legs: Legs) -> list[tuple[Ints, Array, Light]]:
    """Rays that `flight` does not follow into the open: which, how far they come, and what part of them.

    Through a pane of a house that they cannot meet again; or past the ends of a valley between spans.
    """
    rays = legs.rays
    if not house.section.is_convex:
        on = np.flatnonzero(~rays.inside & (legs.target >= 0))
        drift = (house.angles.drift / house.section.length_m).astype(np.float32)
        return [(on, rays.run_m[on], np.minimum(legs.length_m[on, None].astype(np.float32) * drift, 1))]
    on = np.flatnonzero((legs.target >= 0) & rays.inside)
    pane = legs.target[on]
    facing = (rays.way[on] * house.section.inward[pane]).sum(axis=1)
    passed, _ = house.panes.meet(pane, facing, rays.inside[on])
    return [(on, rays.run_m[on] + legs.length_m[on], passed)]


def _settled(sent: Sent, nodes: int, bands: int, found: Light, through: Light) -> Seen:
    """Sum over ridge angles and sort by what is seen; end-a's bands are met on side 0, end-b's on side 1."""
    sums = np.einsum("k,skpc->spc", sent.weights, found).reshape(2, sent.places, nodes + 2 * bands + 2, -1)
    outside = np.einsum("k,skpc->spc", sent.weights, through).reshape(2, sent.places, 2, -1)
    ends = np.zeros((2, sent.places, 2 * bands, sums.shape[3]))
    for side in (0, 1):
        ends[side, :, side * bands : (side + 1) * bands] = sums[side, :, nodes : nodes + bands]
    return Seen(
        nodes=sums[:, :, :nodes],
        ends=ends,
        ground=sums[:, :, -2] + outside[:, :, 0],
        sky=sums[:, :, -1] + outside[:, :, 1],
    )
