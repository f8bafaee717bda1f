"""Light that floor, solid walls, gutters, hazy panes and ends send on, to and fro until it settles."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lightplan.house.along import Fates
from lightplan.house.end_faces import seen_from_ends
from lightplan.house.exchange import seen_from, sent_evenly
from lightplan.house.mirrored import Caught
from lightplan.house.nodes import Mirroring, Nodes
from lightplan.house.optics import hemispherical
from lightplan.house.places import Floor
from lightplan.house.straight import Points, straight_light
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
    """What reaches each cell after at least one scattering: (2, angles, heights, across, along)."""
    mean = across.mean()
    receivers = sent_evenly(house, floor.points(house.section.height_m))
    passed = house.ends.passed + house.ends.scattered
    seen = seen_from(house, receivers, nodes, across=across, entrance=passed)
    sent = np.concatenate([nodes.reflectance, _end_reflectance(house, mirroring)])
    exchange, ground = _exchange(house, nodes, mean, passed, ends_matter=bool(sent[len(nodes) :].any()))
    sun_on = _sun_on_nodes(house, nodes, caught, heights_rad, mean)
    direct = sun_on + mirroring.ground * ground
    scattered = _scattered(house, nodes, heights_rad, mean, mirroring)
    leaving = np.linalg.solve(
        np.eye(len(sent)) - sent[:, None] * exchange, (direct * sent + scattered).reshape(-1, len(sent)).T
    )
    found = np.einsum("xnc,nr->rxc", seen.all_nodes.mean(axis=0), leaving, optimize=True)
    found += mirroring.ground * seen.ground.mean(axis=0)
    return np.asarray(found.reshape(*direct.shape[:3], floor.across, -1), dtype=np.float32)


def _exchange(
    house: TracedHouse, nodes: Nodes, mean: Fates, passed: Array, *, ends_matter: bool
) -> tuple[Array, Array]:
    """What every node and end band sees of every other, (all, all), and of the ground, (all,)."""
    strips = seen_from(house, sent_evenly(house, nodes.points()), nodes, across=mean, entrance=passed)
    count = strips.all_nodes.shape[2]
    found, ground = np.zeros((count, count)), np.zeros(count)
    found[: len(nodes)], ground[: len(nodes)] = (
        strips.all_nodes.mean(axis=0)[:, :, 0],
        strips.ground.mean(axis=0)[:, 0],
    )
    if ends_matter:
        ends = seen_from_ends(house, nodes)
        found[len(nodes) :] = ends.all_nodes.reshape(-1, count)
        ground[len(nodes) :] = ends.ground.ravel()
    return found, ground


def _end_reflectance(house: TracedHouse, mirroring: Mirroring) -> Array:
    """(2 × bands,) diffuse reflectance of the ends' bands; glass sends nothing on by itself."""
    return np.array(
        [
            mirroring.wall if glazing is None or not is_open else 0.0
            for glazing in house.section.ends
            for is_open in house.section.band_is_open
        ]
    )


def _sun_on_nodes(house: TracedHouse, nodes: Nodes, caught: Caught, heights_rad: Array, mean: Fates) -> Array:
    """(2, angles, heights, nodes + 2) straight and mirrored sun on each node and end."""
    straight = straight_light(
        house, points=nodes.points(), heights_rad=heights_rad, across=mean, entrance=house.ends.passed
    )
    mirrored = caught.nodes.settle(mean, house.ends.passed).reshape(straight.shape)
    on_ends = caught.ends.transpose(0, 4, 1, 2, 3)
    on_ends = on_ends.reshape(*on_ends.shape[:3], -1)
    return np.concatenate([(straight + mirrored)[..., 0], on_ends], axis=3).astype(np.float64)


def _scattered(
    house: TracedHouse, nodes: Nodes, heights_rad: Array, mean: Fates, mirroring: Mirroring
) -> Array:
    """(2, angles, heights, nodes + 2) light that hazy panes and ends scatter inward."""
    panes, angles = house.panes, house.angles
    is_open = np.array(house.section.band_is_open)
    shape = (2, len(angles.across), len(heights_rad), len(nodes) + 2 * len(is_open))
    found = np.zeros(shape)
    hazy = np.flatnonzero((nodes.pane >= 0) & (panes.kind[nodes.pane] >= 0))
    if len(hazy):
        every = nodes.points()
        chosen = np.isin(every.place, hazy)
        pane = every.pane[chosen]
        place = np.searchsorted(hazy, every.place[chosen])
        outer = Points(every.at[chosen], -every.facing[chosen], pane, place, len(hazy), ~every.inside[chosen])
        outside = straight_light(
            house, points=outer, heights_rad=heights_rad, across=mean, entrance=house.ends.passed
        )
        sun = np.stack([np.cos(heights_rad), np.sin(heights_rad)], axis=1)
        of = nodes.pane[hazy]
        cos = sun @ house.section.inward[of].T  # (heights, hazy)
        passed, _ = panes.meet(np.tile(of, len(sun)), cos.ravel(), np.zeros(cos.size, dtype=np.bool_))
        through = passed.reshape(*cos.shape, -1).transpose(2, 0, 1)
        kinds = [
            next(g for g, k in zip(house.section.glazings, panes.kind, strict=True) if k == kind)
            for kind in panes.kind[of]
        ]
        from_ground = (
            mirroring.ground
            * (1 + house.section.inward[of, 1])
            / 2
            * np.array([0.0 if g is None else hemispherical(g.layers)[0] for g in kinds])
        )
        found[..., hazy] = panes.haze[panes.kind[of]] * (outside[..., 0] * through + from_ground)
    for end, glazing in enumerate(house.section.ends):
        if glazing is None or glazing.haze == 0:
            continue
        on_end = (angles.drift * house.ends.scattered[end])[:, None] / np.sin(heights_rad)
        bands = len(nodes) + end * len(is_open) + np.flatnonzero(is_open)
        found[end][..., bands] = on_end[..., None]
        found[..., bands] += mirroring.ground / 2 * hemispherical(glazing.layers)[0] * glazing.haze
    return found
