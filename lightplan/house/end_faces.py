"""What the two ends see, where they send light on: rays from points all over an end's inner face."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from lightplan.house.along import Ends, Fates, path_lengths
from lightplan.house.exchange import Seen, Sent, seen_from
from lightplan.house.flight import rays_from
from lightplan.house.nodes import Nodes
from lightplan.house.shape import Section
from lightplan.house.traced import TracedHouse

Array = NDArray[np.float64]

POINTS_ACROSS, POINTS_UP = 12, 5  # in each band of an end, before those outside the outline are dropped
SLOPES = 48  # directions in the cross-section from each point, all round


def seen_from_ends(house: TracedHouse, nodes: Nodes) -> Seen:
    """What each band of end-a (side 0) and of end-b (side 1) sees: (2, bands, …, 1)."""
    places, at = zip(*_points(house.section), strict=True)
    turns = (np.arange(SLOPES) + 0.5) / SLOPES * 2 * np.pi
    way = np.tile(np.stack([np.cos(turns), np.sin(turns)], axis=1), (len(at), 1))
    start = np.repeat(np.arange(len(at)), SLOPES)
    place = np.array(places)[start]
    nowhere, inside = np.full(len(start), -1), np.ones(len(start), dtype=np.bool_)
    rays = rays_from(house, np.array(at)[start], way, leaving=nowhere, inside=inside, sunlit=False)
    weights = house.angles.weights * house.angles.drift  # as an end sees them: sin γ cos γ for sin² γ
    sent = Sent(rays, place, len(house.section.band_areas_m2), weights / weights.sum())
    far = Ends(*(getattr(house.ends, name)[::-1] for name in Ends.__dataclass_fields__))
    seen = seen_from(house, sent, nodes, across=_from_an_end(house), far_ends=far)
    return replace(seen, ends=seen.ends[::-1])  # what drifts away from end-a meets end-b


def _points(section: Section) -> list[tuple[int, Array]]:
    """(band, point) all over the cross-section."""
    x = (np.arange(POINTS_ACROSS) + 0.5) / POINTS_ACROSS
    left, right = section.points[:, 0].min(), section.points[:, 0].max()
    found = []
    for band, (low, high) in enumerate(zip(section.band_edges_m[:-1], section.band_edges_m[1:], strict=True)):
        z = low + (np.arange(POINTS_UP) + 0.5) / POINTS_UP * (high - low)
        grid = np.stack(np.meshgrid(left + x * (right - left), z), axis=-1).reshape(-1, 2)
        found += [(band, point) for point in grid[section.holds(grid)]]
    return found


def _from_an_end(house: TracedHouse) -> Fates:
    """Fates of paths that start on an end: they meet the far end after one house length, no sooner."""
    passed = np.floor(house.angles.drift[:, None] * path_lengths() / house.section.length_m)
    far = house.ends.mirrored[::-1, :, None]
    kept = (far ** np.minimum(passed, 1) * (passed <= 1))[..., None].astype(np.float32)
    entered = np.broadcast_to(np.minimum(passed, 1)[..., None], kept.shape).astype(np.float32)
    return Fates(kept=kept, entered=entered, left=entered)
