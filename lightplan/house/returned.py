"""Light that floor, solid walls, gutters, hazy panes and ends send on, to and fro until it settles."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lightplan.house.along import Fates
from lightplan.house.end_faces import seen_from_ends
from lightplan.house.exchange import seen_from, sent_evenly
from lightplan.house.haze import scattered_by_ends, taken_of_sun
from lightplan.house.mirrored import Caught
from lightplan.house.nodes import Mirroring, Nodes
from lightplan.house.places import Floor
from lightplan.house.straight import straight_light
from lightplan.house.traced import TracedHouse

Array = NDArray[np.float64]
Light = NDArray[np.float32]


def returned_light(
    house: TracedHouse,
    *,
    floor: Floor,
    nodes: Nodes,
    caught: Caught,
    heights_rad: Array,
    across: Fates,
    mirroring: Mirroring,
) -> Light:
    """What reaches each cell of the floor after it was scattered: (2, angles, heights, across, along)."""
    mean = across.mean()
    receivers = sent_evenly(house, floor.points(house.section.height_m))
    seen = seen_from(house, receivers, nodes, across=across, far_ends=house.ends)
    sends = np.concatenate([nodes.sends, _end_reflectance(house, mirroring)])
    exchange, ground = _exchange(house, nodes, mean)
    direct = _sun_on_nodes(house, nodes, caught, heights_rad, mean) + mirroring.ground * ground
    first = direct * sends
    first[..., len(nodes) :] += scattered_by_ends(house, heights_rad=heights_rad, ground=mirroring.ground)
    leaving = np.linalg.solve(np.eye(len(sends)) - sends[:, None] * exchange, first.reshape(-1, len(sends)).T)
    found = np.einsum("xnc,nr->rxc", seen.all_nodes.mean(axis=0), leaving, optimize=True)
    found += mirroring.ground * seen.ground.mean(axis=0)
    return np.asarray(found.reshape(*direct.shape[:3], floor.across, -1), dtype=np.float32)


def _exchange(house: TracedHouse, nodes: Nodes, mean: Fates) -> tuple[Array, Array]:
    """What all that send light on see of each other, (all, all), and of the ground, (all,)."""
    chosen, bands = nodes.sends_on, len(house.section.band_areas_m2)
    count = len(nodes) + 2 * bands
    found, ground = np.zeros((count, count)), np.zeros(count)
    strips = seen_from(
        house, sent_evenly(house, nodes.points(chosen)), nodes, across=mean, far_ends=house.ends
    )
    found[: len(nodes)] = strips.all_nodes.mean(axis=0)[:, :, 0]
    ground[: len(nodes)] = strips.ground.mean(axis=0)[:, 0]
    if house.ends_send_on:
        ends = seen_from_ends(house, nodes)
        found[len(nodes) :] = ends.all_nodes.reshape(-1, count)
        ground[len(nodes) :] = ends.ground.ravel()
    return found, ground


def _end_reflectance(house: TracedHouse, mirroring: Mirroring) -> Array:
    """(2 × bands,) diffuse reflectance of the ends' bands; glass sends nothing on by itself."""
    bands = house.section.band_is_open
    solid = [glazing is None or not is_open for glazing in house.section.ends for is_open in bands]
    return np.where(solid, mirroring.wall, 0.0)


def _sun_on_nodes(house: TracedHouse, nodes: Nodes, caught: Caught, heights_rad: Array, mean: Fates) -> Array:
    """(2, angles, heights, nodes + end bands) straight and mirrored sun on all that sends light on."""
    points = nodes.points(nodes.sends_on)
    straight = straight_light(
        house, points=points, heights_rad=heights_rad, across=mean, entrance=house.ends.passed
    )
    straight *= taken_of_sun(house, nodes, heights_rad)[None, ..., None]
    mirrored = caught.nodes.settle(mean, house.ends.passed).reshape(straight.shape)
    on_ends = caught.ends.transpose(0, 4, 1, 2, 3)
    on_ends = on_ends.reshape(*on_ends.shape[:3], -1)
    return np.concatenate([(straight + mirrored)[..., 0], on_ends], axis=3).astype(np.float64)
