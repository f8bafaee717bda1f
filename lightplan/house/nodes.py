"""Faces in a house that send light on in all directions: floor, solid walls, gutters, hazy panes, ends."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from lightplan.house.panes import Panes
from lightplan.house.rays import GROUND
from lightplan.house.shape import Section
from lightplan.house.straight import Points

Array = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

FLOOR_STRIPS = 12
STRIP_M = 0.6  # solid walls are cut into strips of about this width
POINTS_A_STRIP = 4
NO_NODE = -1


@dataclass(frozen=True)
class Mirroring:
    """Diffuse reflectances: floor, ground outside, solid walls. The site file's contract gives these."""

    floor: float = 0.2
    ground: float = 0.2
    wall: float = 0.5


@dataclass(frozen=True)
class Nodes:
    """Strips that run the length of the house; after them in any list stand end-a and end-b.

    start, stop : (nodes, 2) edges in the cross-section. normal : (nodes, 2). pane : (nodes,), negative for
    the floor. inside : which side of its pane. sends : (nodes,) share of what falls on it that it sends on;
    a hazy pane's inner face scatters what falls on its outer face, and the other way round. first, strips :
    (panes + 1, 2) number of the first node and of nodes on each pane's outer (0) and inner (1) side, the last
    row for the floor.
    """

    start: Array
    stop: Array
    normal: Array
    pane: Ints
    inside: Bools
    sends: Array
    is_hazy: Bools
    first: Ints
    strips: Ints

    def __len__(self) -> int:
        return len(self.pane)

    @property
    def widths(self) -> Array:
        return np.asarray(np.hypot(*(self.stop - self.start).T))

    def at(self, section: Section, target: Ints, where: Array, inside: Bools) -> Ints:
        """Number of the node at points (rays, 2) on panes or ground; NO_NODE where there is none."""
        pane = np.where(target == GROUND, len(section.along), target)
        begin = np.vstack([section.points[:-1], [section.foot_m[0], 0.0]])
        along = np.vstack([section.along, [section.foot_m[1] - section.foot_m[0], 0.0]])
        share = ((where - begin[pane]) * along[pane]).sum(axis=1) / (along**2).sum(axis=1)[pane]
        first, strips = self.first[pane, inside * 1], self.strips[pane, inside * 1]
        strip = np.clip((share * strips).astype(np.int64), 0, np.maximum(strips - 1, 0))
        return np.where(strips > 0, first + strip, NO_NODE)

    def points(self, chosen: Ints) -> Points:
        """Receivers where light falls on the chosen nodes, whose numbers are their places."""
        steps = (np.arange(POINTS_A_STRIP) + 0.5) / POINTS_A_STRIP
        at = self.start[chosen, None] + (self.stop - self.start)[chosen, None] * steps[None, :, None]
        node = np.repeat(chosen, POINTS_A_STRIP)
        facing = np.where(self.is_hazy[node, None], -self.normal[node], self.normal[node])
        inside = self.inside[node] ^ self.is_hazy[node]
        return Points(at.reshape(-1, 2), facing, self.pane[node], node, len(self), inside)

    @property
    def sends_on(self) -> Ints:
        """Numbers of the nodes that send on what falls on them."""
        return np.flatnonzero(self.sends > 0)


def nodes_of(section: Section, panes: Panes, mirroring: Mirroring) -> Nodes:
    rows: list[tuple[Array, Array, Array, int, bool, float]] = []
    first = np.zeros((len(section.along) + 1, 2), dtype=np.int64)
    strips = np.zeros_like(first)

    def add(
        pane: int, start: Array, stop: Array, *, inward: Array, inside: bool, count: int, r: float
    ) -> None:
        first[pane, int(inside)], strips[pane, int(inside)] = len(rows), count
        edges = start + (stop - start) * np.linspace(0, 1, count + 1)[:, None]
        number = -1 if pane == len(section.along) else pane
        normal = inward if inside else -inward
        rows.extend((a, b, normal, number, inside, r) for a, b in pairwise(edges))

    feet = np.array([[section.foot_m[0], 0.0], [section.foot_m[1], 0.0]])
    floor = len(section.along)
    add(floor, *feet, inward=np.array([0.0, 1.0]), inside=True, count=FLOOR_STRIPS, r=mirroring.floor)
    for pane in range(floor):
        ends, inward = section.points[pane : pane + 2], section.inward[pane]
        if panes.is_opaque[pane]:
            count = max(1, round(section.widths[pane] / STRIP_M))
            add(pane, *ends, inward=inward, inside=True, count=count, r=mirroring.wall)
            if abs(inward[0]) < 0.5:  # a gutter lies in its valley's light
                add(pane, *ends, inward=inward, inside=False, count=1, r=mirroring.wall)
        elif panes.is_hazy[pane]:
            share = float(panes.scatters[panes.kind[pane]])
            add(pane, *ends, inward=inward, inside=True, count=1, r=share)
            if not section.is_convex:  # what leaves here may enter another span
                add(pane, *ends, inward=inward, inside=False, count=1, r=share)
    columns = zip(*rows, strict=True)
    start, stop, normal, pane_of, inside_of, sends = (np.array(column) for column in columns)
    is_hazy = (pane_of >= 0) & panes.is_hazy[pane_of]
    return Nodes(start, stop, normal, pane_of, inside_of, sends, is_hazy, first, strips)
