"""Light sent on in all directions: how much of what each receiver sees is each node, the ground, the sky.

Worked out backwards: rays leave a receiver evenly (by cosine) and mirror and pass as light does.
What a receiver gets from a node is the share of its rays that end there.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lightplan.house.along import Fates, Tally
from lightplan.house.flight import Legs, Rays, end_bands, legs_of
from lightplan.house.nodes import NO_NODE, Nodes
from lightplan.house.rays import GROUND, SKY
from lightplan.house.straight import Points
from lightplan.house.traced import TracedHouse

Array = NDArray[np.float64]
Light = NDArray[np.float32]
Ints = NDArray[np.int64]

SLOPES = 40  # directions in the cross-section from each point


@dataclass(frozen=True)
class Seen:
    """Shares of what each receiver sees, (places, …, cells along): nodes, the ends' bands, ground and sky."""

    nodes: Array  # (places, nodes, cells)
    ends: Array  # (places, 2 × bands, cells): end-a from the ground up, then end-b
    ground: Array  # (places, cells)
    sky: Array  # (places, cells)


def seen_from(house: TracedHouse, points: Points, nodes: Nodes, across: Fates) -> Seen:
    """What every place sees, with each cell along the house apart (one cell: its mean)."""
    angles, columns = len(house.angles.across), len(nodes) + 2
    ground, sky = len(nodes), len(nodes) + 1
    tally, out = Tally(points.places * columns, angles), Tally(points.places * 2, angles)
    bands = len(house.section.band_edges_m) - 1
    ends = Tally(points.places * bands, angles)
    share = 1 / SLOPES / np.bincount(points.place)[points.place]
    for legs in legs_of(house, _even_rays(points, angles)):
        rays, far = legs.rays, legs.rays.run_m + legs.length_m
        place, inside = points.place[rays.owner], rays.inside
        light = rays.light * share[rays.owner].astype(np.float32)[:, None]
        upward = rays.way[:, 1] > 0
        away = place * columns + np.where(upward, sky, ground)
        open_air = (legs.target == SKY) | ((legs.target == GROUND) & ~inside)
        tally.add("kept", away[open_air], rays.run_m[open_air], light[open_air])
        indoors = np.where(inside, far, rays.run_m)  # legs outdoors may have no end
        for on, part in _leaving(house, legs):
            tally.add("kept", away[on], indoors[on], light[on] * part)
        met = np.flatnonzero(~open_air)
        where = rays.at[met] + rays.way[met] * legs.length_m[met, None]
        node = nodes.at(house.section, legs.target[met], where, inside[met])
        met, node = met[node != NO_NODE], node[node != NO_NODE]
        tally.add("kept", place[met] * columns + node, far[met], light[met])
        indoors, dim = legs.where(inside), light[inside]
        for band, (start, stop) in enumerate(end_bands(house.section, indoors)):
            at = place[inside] * bands + band
            ends.add("entered", at, indoors.rays.run_m + stop, dim)
            ends.add("entered", at, indoors.rays.run_m + start, -dim)
            if house.section.band_is_open[band]:
                at = place[inside] * 2 + upward[inside]
                out.add("entered", at, indoors.rays.run_m + stop, dim)
                out.add("entered", at, indoors.rays.run_m + start, -dim)
    return _seen(house, points, nodes, (tally, ends, out), across)


def _even_rays(points: Points, angles: int) -> Rays:
    """Rays from every point, evenly by cosine over the half turn in front of it; owner = the point."""
    sine = (np.arange(SLOPES) + 0.5) / SLOPES * 2 - 1
    cosine = np.sqrt(1 - sine**2)
    sideways = np.stack([points.facing[:, 1], -points.facing[:, 0]], axis=1)
    way = points.facing[:, None] * cosine[None, :, None] + sideways[:, None] * sine[None, :, None]
    owner = np.repeat(np.arange(len(points.at)), SLOPES)
    count = len(owner)
    return Rays(
        owner=owner,
        at=points.at[owner],
        way=way.reshape(-1, 2),
        leaving=points.pane[owner],
        inside=points.inside[owner],
        sunlit=np.zeros(count, dtype=np.bool_),
        run_m=np.zeros(count),
        lead_m=np.zeros(count),
        light=np.ones((count, angles), dtype=np.float32),
        open=np.zeros((count, angles), dtype=np.float32),
    )


def _leaving(house: TracedHouse, legs: Legs) -> list[tuple[Ints, Light]]:
    """Rays that `flight` does not follow into the open, and what part of them that is.

    Through a pane of a house that they cannot meet again; or past the ends of a valley between spans.
    """
    rays, glazed = legs.rays, (legs.target >= 0) & (house.panes.kind[legs.target] >= 0)
    if not house.section.is_convex:
        on = np.flatnonzero(~rays.inside & (legs.target >= 0))
        drift = (house.angles.drift / house.section.length_m).astype(np.float32)
        return [(on, np.minimum(legs.length_m[on, None].astype(np.float32) * drift, 1))]
    on = np.flatnonzero(glazed & rays.inside)
    pane = legs.target[on]
    passed, _ = house.panes.meet(
        pane, (rays.way[on] * house.section.inward[pane]).sum(axis=1), rays.inside[on]
    )
    return [(on, passed)]


def _seen(
    house: TracedHouse, points: Points, nodes: Nodes, tallies: tuple[Tally, Tally, Tally], across: Fates
) -> Seen:
    """Settle both sides' halves and sum over ridge angles."""
    weights = house.angles.weights / 2
    one = np.ones((2, len(weights)))
    tally, ends, out = tallies
    passed = house.ends.passed + house.ends.scattered
    by_node = np.einsum("k,skpc->pc", weights, tally.settle(across, one))
    by_node = by_node.reshape(points.places, len(nodes) + 2, -1)
    by_end = np.einsum("k,skpc->spc", weights, ends.settle(across, one))
    by_end = by_end.reshape(2, points.places, -1, by_end.shape[2]).transpose(1, 0, 2, 3)
    through = np.einsum("k,skpc->pc", weights, out.settle(across, passed)).reshape(points.places, 2, -1)
    return Seen(
        nodes=by_node[:, : len(nodes)],
        ends=by_end.reshape(points.places, -1, by_end.shape[3]),
        ground=by_node[:, len(nodes)] + through[:, 0],
        sky=by_node[:, len(nodes) + 1] + through[:, 1],
    )
