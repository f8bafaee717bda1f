"""Light sent on in all directions: how much of what each receiver sees is each node, the ground, the sky.

Worked out backwards: rays leave a receiver evenly (by cosine) and mirror and pass as light does.
What a receiver gets from a node is the share of its rays that end there.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lightplan.house.along import Ends, Fates, Tally
from lightplan.house.flight import Legs, Rays, end_bands, legs_of, rays_from
from lightplan.house.nodes import NO_NODE, Nodes
from lightplan.house.rays import GROUND, SKY
from lightplan.house.straight import Points
from lightplan.house.traced import TracedHouse

Array = NDArray[np.float64]
Light = NDArray[np.float32]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

GOLDEN = 0.6180339887
SLOPES = 40  # directions in the cross-section from each point


@dataclass(frozen=True)
class Sent:
    """Rays sent out from receivers. place : (rays,) the receiver each is of.

    weights : (angles,) how much of what it sees lies at each ridge angle.
    """

    rays: Rays
    place: Ints
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
    """Rays from points on strips along the house, evenly by cosine over the half turn before them.

    Hazy panes take light as strongly as they scatter it, by direction.
    """
    shift = (np.arange(len(points.at)) * GOLDEN) % 1  # so that no two points send the same ways
    sine = (np.arange(SLOPES) + shift[:, None]) / SLOPES * 2 - 1
    cosine = np.sqrt(1 - sine**2)
    sideways = np.stack([points.facing[:, 1], -points.facing[:, 0]], axis=1)
    way = points.facing[:, None] * cosine[..., None] + sideways[:, None] * sine[..., None]
    start = np.repeat(np.arange(len(points.at)), SLOPES)
    way = way.reshape(-1, 2)
    leaving, inside = points.pane[start], points.inside[start]
    rays = rays_from(house, points.at[start], way, leaving=leaving, inside=inside, sunlit=False)
    hazy = np.flatnonzero((leaving >= 0) & house.panes.is_hazy[leaving])
    facing = (way[hazy] * house.section.inward[leaving[hazy]]).sum(axis=1)
    rays.light[hazy] = house.panes.scatter(leaving[hazy], facing)
    return Sent(rays, points.place[start], points.places, house.angles.weights)


def seen_from(house: TracedHouse, sent: Sent, nodes: Nodes, *, across: Fates, far_ends: Ends) -> Seen:
    """Follow rays until they end. far_ends : the end that rays of each side drift to first."""
    angles, bands = len(sent.weights), house.section.band_is_open
    tallies = Tallies(
        strips=Tally(sent.places * (len(nodes) + 2), angles),
        bands=tuple(Tally(sent.places, angles) for _ in bands),
        through_ends=Tally(sent.places * 2, angles),
    )
    share = (1 / np.bincount(sent.place, minlength=sent.places)[sent.place]).astype(np.float32)
    for legs in legs_of(house, sent.rays):
        owner = legs.rays.owner
        _catch(
            tallies,
            house,
            legs,
            nodes=nodes,
            place=sent.place[owner],
            light=legs.rays.light * share[owner][:, None],
        )
    return _settled(tallies, sent, across, far_ends, bands)


@dataclass(frozen=True)
class Tallies:
    """By place: each node, then ground and sky; each band of the ends; ground and sky through the ends."""

    strips: Tally
    bands: tuple[Tally, ...]
    through_ends: Tally


def _catch(
    tallies: Tallies, house: TracedHouse, legs: Legs, *, nodes: Nodes, place: Ints, light: Light
) -> None:
    """Note what each leg meets on its way and at its far end."""
    rays, columns = legs.rays, len(nodes) + 2
    inside, far, upward = rays.inside, rays.run_m + legs.length_m, rays.way[:, 1] > 0
    away = place * columns + len(nodes) + upward
    open_air = (legs.target == SKY) | ((legs.target == GROUND) & ~inside)
    tallies.strips.add("kept", away[open_air], rays.run_m[open_air], light[open_air])
    for on, length, part in _leaving(house, legs):
        tallies.strips.add("kept", away[on], length, light[on] * part)
    node = _nodes_met(house, legs, nodes, open_air)
    on = np.flatnonzero(node != NO_NODE)
    seen = light[on] * _strength(house, legs.where(on))
    column, indoors_on = (place * columns + node)[on], inside[on]
    tallies.strips.add("kept", column[indoors_on], far[on][indoors_on], seen[indoors_on])
    valley = ~indoors_on  # out there the ends are open
    tallies.strips.add("kept", column[valley], rays.run_m[on][valley], seen[valley])
    tallies.strips.add("left", column[valley], legs.length_m[on][valley], -seen[valley])
    place, light, upward, indoors = place[inside], light[inside], upward[inside], legs.where(inside)
    for band, cuts in enumerate(end_bands(house.section, indoors)):
        for length, sign in zip(cuts, (-1, 1), strict=True):
            met, part = indoors.rays.run_m + length, np.float32(sign) * light
            tallies.bands[band].add("entered", place, met, part)
            if house.section.band_is_open[band]:
                tallies.through_ends.add("entered", place * 2 + upward, met, part)


def _strength(house: TracedHouse, legs: Legs) -> Light:
    """How strongly nodes send light the way that rays see them: evenly, but for hazy panes."""
    found = np.ones((len(legs.target), len(house.panes.across)), dtype=np.float32)
    hazy = np.flatnonzero((legs.target >= 0) & house.panes.is_hazy[legs.target])
    pane = legs.target[hazy]
    facing = (legs.rays.way[hazy] * house.section.inward[pane]).sum(axis=1)
    found[hazy] = house.panes.scatter(pane, facing)
    return found


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
    passed, _ = house.panes.meet(pane, facing, from_inside=rays.inside[on])
    return [(on, rays.run_m[on] + legs.length_m[on], passed)]


def _settled(
    tallies: Tallies, sent: Sent, across: Fates, far_ends: Ends, bands_open: tuple[bool, ...]
) -> Seen:
    """Sum over ridge angles and sort by what is seen; end-a's bands are met on side 0, end-b's on side 1."""
    places, bands = sent.places, len(bands_open)
    even = np.ones_like(far_ends.passed)

    def summed(tally: Tally, entrance: Array) -> Array:
        found = np.einsum("k,skpc->spc", sent.weights, tally.settle(across, entrance))
        return np.asarray(found.reshape(2, places, -1, found.shape[2]), dtype=np.float64)

    strips = summed(tallies.strips, even)
    outside = summed(tallies.through_ends, far_ends.passed)
    ends = np.zeros((2, places, 2 * bands, strips.shape[3]))
    for band, is_open in enumerate(bands_open):
        seen = summed(tallies.bands[band], far_ends.scattering if is_open else even)[:, :, 0]
        ends[0, :, band], ends[1, :, bands + band] = seen
    return Seen(
        nodes=strips[:, :, :-2],
        ends=ends,
        ground=strips[:, :, -2] + outside[:, :, 0],
        sky=strips[:, :, -1] + outside[:, :, 1],
    )
