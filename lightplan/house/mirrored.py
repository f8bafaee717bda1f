"""Sunlight that comes down after mirrors: parallel rays sent through the whole cross-section.

Straight light is left to `straight`; here only what has met at least one mirror is caught, on the
floor at bench height, on the house's solid faces, and what reaches the ends at all.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lightplan.house.along import Tally
from lightplan.house.flight import Legs, Rays, end_bands, legs_of, rays_from
from lightplan.house.nodes import NO_NODE, Nodes
from lightplan.house.places import Floor
from lightplan.house.traced import TracedHouse

Array = NDArray[np.float64]
Light = NDArray[np.float32]
Ints = NDArray[np.int64]

RAYS_A_HEIGHT = 160
GOLDEN = 0.6180339887  # shifts the rays from height to height, so that no pattern repeats
FAR_M = 1e4


@dataclass(frozen=True)
class Caught:
    """Tallies over (heights, cells across) and (heights, nodes); (2 sides, heights, 2 ends, bands, angles)"""

    floor: Tally
    nodes: Tally
    ends: Light


def sun_rays(house: TracedHouse, heights_rad: Array) -> tuple[Rays, Array]:
    """Even parallel rays for every height, owner = its number; and the width each ray stands for [m]."""
    points = house.section.points
    away = np.stack([-np.sin(heights_rad), np.cos(heights_rad)], axis=1)
    offsets = points @ away.T
    low, high = offsets.min(axis=0), offsets.max(axis=0)
    step = (high - low) / RAYS_A_HEIGHT
    shift = (np.arange(len(heights_rad)) * GOLDEN) % 1
    offset = low[:, None] + (np.arange(RAYS_A_HEIGHT)[None, :] + shift[:, None]) * step[:, None]
    height = np.repeat(np.arange(len(heights_rad)), RAYS_A_HEIGHT)
    sun = np.stack([np.cos(heights_rad), np.sin(heights_rad)], axis=1)[height]
    at = offset.reshape(-1, 1) * away[height] + sun * FAR_M
    nowhere, outside = np.full(len(at), -1), np.zeros(len(at), dtype=np.bool_)
    rays = rays_from(house, at, -sun, leaving=nowhere, inside=outside, sunlit=True)
    return replace(rays, owner=height), step


def mirrored_light(house: TracedHouse, *, floor: Floor, nodes: Nodes, heights_rad: Array) -> Caught:
    """Follow the sun's rays from every height and catch what mirrors bring."""
    heights, angles = len(heights_rad), len(house.angles.across)
    rays, width = sun_rays(house, heights_rad)
    level = (width / np.sin(heights_rad)).astype(np.float32)  # of level ground under one ray
    caught = Caught(
        Tally(heights * floor.across, angles),
        Tally(heights * len(nodes), angles),
        np.zeros((2, heights, 2, len(house.section.band_edges_m) - 1, angles), dtype=np.float32),
    )
    for legs in legs_of(house, rays):
        if house.ends_send_on:
            _onto_ends(caught.ends, house, legs, level)
        later = legs.where(~legs.rays.sunlit)
        _onto_floor(caught.floor, house, later, floor, level)
        _onto_nodes(caught.nodes, house, later, nodes, level)
    return caught


def _onto_floor(tally: Tally, house: TracedHouse, legs: Legs, floor: Floor, level: Light) -> None:
    """Catch legs that come down through bench height indoors, shared between the two nearest cells."""
    height, rays = house.section.height_m, legs.rays
    down = rays.inside & (rays.way[:, 1] < 0) & (rays.at[:, 1] > height)
    down &= rays.at[:, 1] + rays.way[:, 1] * legs.length_m <= height
    rays = rays.where(down)
    part = (rays.at[:, 1] - height) / -rays.way[:, 1]
    x = rays.at[:, 0] + rays.way[:, 0] * part
    left, right = floor.across_m
    cell = (x - left) / (right - left) * floor.across
    on = (cell >= 0) & (cell < floor.across)
    rays, part, cell = rays.where(on), part[on], np.clip(cell[on] - 0.5, 0, floor.across - 1)
    lower = np.minimum(cell.astype(np.int64), floor.across - 2)
    scale = level[rays.owner] * np.float32(floor.across / (right - left))
    for number, share in ((lower, 1 - (cell - lower)), (lower + 1, cell - lower)):
        amount = (scale * share).astype(np.float32)[:, None]
        _add(tally, rays.owner * floor.across + number, rays, rays.run_m + part, amount)


def _onto_nodes(tally: Tally, house: TracedHouse, legs: Legs, nodes: Nodes, level: Light) -> None:
    panes = house.panes
    catches = panes.is_opaque | panes.is_hazy
    caught = np.where(legs.target >= 0, catches[legs.target], legs.rays.inside)
    legs = legs.where(caught & np.isfinite(legs.length_m))
    rays = legs.rays
    hazy = (legs.target >= 0) & panes.is_hazy[legs.target]
    where = rays.at + rays.way * legs.length_m[:, None]
    # what a hazy pane scatters leaves on its other side
    node = nodes.at(house.section, legs.target, where, rays.inside ^ hazy)
    on = node != NO_NODE
    rays, node, length_m, scattered = rays.where(on), node[on], legs.length_m[on], np.flatnonzero(hazy[on])
    amount = np.repeat((level[rays.owner] / nodes.widths[node])[:, None], len(panes.across), axis=1)
    pane = nodes.pane[node[scattered]]
    facing = (rays.way[scattered] * house.section.inward[pane]).sum(axis=1)
    amount[scattered] *= panes.scatter(pane, facing)
    place, light = rays.owner * len(nodes) + node, amount.astype(np.float32)
    indoors, valley = rays.inside, ~rays.inside
    _add(tally, place[indoors], rays.where(indoors), (rays.run_m + length_m)[indoors], light[indoors])
    light = rays.light[valley] * light[valley]
    tally.add("kept", place[valley], rays.run_m[valley], light)  # out there the ends are open
    tally.add("left", place[valley], length_m[valley], -light)


def _add(tally: Tally, place: Ints, rays: Rays, length_m: Array, amount: Light) -> None:
    tally.add("kept", place, length_m, rays.light * amount)
    tally.add("entered", place, length_m, rays.open * amount)
    tally.add("entered", place, length_m - rays.lead_m, -rays.open * amount)


def _onto_ends(ends: Light, house: TracedHouse, legs: Legs, level: Light) -> None:
    """Light onto each band of the far end, and of the near one after one mirroring by the far one."""
    section = house.section
    legs = legs.where(legs.rays.inside)
    rays = legs.rays
    drift = house.angles.drift / section.length_m
    lead = np.where(rays.sunlit, legs.length_m, rays.lead_m)[:, None] * drift
    for band, (begin, end) in enumerate(end_bands(section, legs)):
        area = (level * section.length_m / section.band_areas_m2[band])[rays.owner][:, None]
        start, stop = (rays.run_m + begin)[:, None] * drift, (rays.run_m + end)[:, None] * drift
        crossed = [np.clip(stop - k, 0, 1) - np.clip(start - k, 0, 1) for k in (0, 1)]
        entered = rays.open * np.clip(np.minimum(stop, lead + 1) - np.maximum(start, 1), 0, None)
        for side in (0, 1):
            near, far = side, 1 - side
            onto_far = rays.light * crossed[0] + entered * house.ends.passed[near]
            onto_near = rays.light * crossed[1] * house.ends.mirrored[far]
            for which, onto in ((far, onto_far), (near, onto_near)):
                np.add.at(ends[side, :, which, band], rays.owner, (onto * area).astype(np.float32))
