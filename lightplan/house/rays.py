"""Where rays in the plane of the cross-section next meet a pane or the ground."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lightplan.house.shape import Section

Array = NDArray[np.float64]
Ints = NDArray[np.int64]

SKY, GROUND = -1, -2  # what a ray meets that meets no pane
AT_ONCE = 4_000_000  # ray-and-pane pairs held in memory together
HAIR = 1e-9  # a pane's ends overlap by this share, so that no ray slips between two


@dataclass(frozen=True)
class Meeting:
    """What each ray meets first: pane number, SKY or GROUND, and how far off [m] (inf for SKY)."""

    target: Ints
    distance_m: Array


def next_meeting(section: Section, at: Array, way: Array, leaving: Ints) -> Meeting:
    """First pane or ground on each ray's way.

    at, way : (rays, 2) start [m] and unit direction. leaving : (rays,) the pane a ray starts on, which
    it can't meet again (flat), or a negative number.
    """
    rays, panes = len(at), len(section.along)
    size = max(1, AT_ONCE // panes)
    parts = [
        _nearest(section, at[n : n + size], way[n : n + size], leaving[n : n + size])
        for n in range(0, rays, size)
    ]
    if not parts:
        return Meeting(np.zeros(0, dtype=np.int64), np.zeros(0))
    return Meeting(*(np.concatenate(found) for found in zip(*parts, strict=True)))


def _nearest(section: Section, at: Array, way: Array, leaving: Ints) -> tuple[Ints, Array]:
    start, along = section.points[:-1], section.along
    across = np.stack([along[:, 1], -along[:, 0]])  # (2, panes)
    turn = np.stack([start[:, 1], -start[:, 0]])
    with np.errstate(divide="ignore", invalid="ignore"):
        slant = way @ across
        distance = ((start[:, 0] * along[:, 1] - start[:, 1] * along[:, 0]) - at @ across) / slant
        moment = at[:, 0] * way[:, 1] - at[:, 1] * way[:, 0]
        share = -(way @ turn + moment[:, None]) / slant
        missed = ~((distance > HAIR) & (share >= -HAIR) & (share <= 1 + HAIR))
        to_ground = np.where(way[:, 1] < 0, -at[:, 1] / way[:, 1], np.inf)
    distance[missed] = np.inf
    held = np.flatnonzero(leaving >= 0)
    distance[held, leaving[held]] = np.inf
    target = distance.argmin(axis=1).astype(np.int64)
    nearest = distance[np.arange(len(at)), target]
    grounded = to_ground <= nearest
    target[~np.isfinite(nearest)] = SKY
    target[grounded & np.isfinite(to_ground)] = GROUND
    return target, np.where(grounded, to_ground, nearest)
