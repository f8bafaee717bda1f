"""Light that comes to given points straight through the panes: rays from each point to the sun."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lightplan.house.along import Fates, pour
from lightplan.house.panes import Panes
from lightplan.house.rays import SKY, next_meeting
from lightplan.house.shape import Section

Array = NDArray[np.float64]
Light = NDArray[np.float32]
Ints = NDArray[np.int64]


@dataclass(frozen=True)
class Points:
    """Receiving points in the cross-section, each at the middle of an equal part of its place.

    at : (points, 2) [m]. facing : (points, 2) unit normal of the receiver. pane : the pane each lies on
    (negative: none). place : (points,) number of the place each stands for. inside : which side of its pane.
    """

    at: Array
    facing: Array
    pane: Ints
    place: Ints
    places: int
    inside: bool = True


def straight_light(
    section: Section, panes: Panes, *, points: Points, heights_rad: Array, across: Fates, passed_end: Array
) -> Light:
    """Straight light at each place over the light on the level outdoors.

    heights_rad : the sun's height in the plane of the cross-section, from the right round to the left.
    passed_end : (2, angles) what the ends' glazing passes straight.
    Returns (2 sides, heights, angles, places, cells along).
    """
    sun = np.stack([np.cos(heights_rad), np.sin(heights_rad)], axis=1)
    facing = sun @ points.facing.T  # (heights, points)
    height, point = np.nonzero(facing > 1e-9)
    share = facing[height, point] / sun[height, 1] / np.bincount(points.place)[points.place[point]]
    light = np.repeat(share[:, None], len(panes.across), axis=1).astype(np.float32)
    row = height * points.places + points.place[point]
    rows = len(heights_rad) * points.places
    total = np.zeros((2, len(panes.across), rows, across.kept.shape[3]), dtype=np.float32)
    at, way, leaving = points.at[point], sun[height], points.pane[point]
    gone, inside = np.zeros(len(row)), np.full(len(row), points.inside)

    while len(row):
        met = next_meeting(section, at, way, leaving)
        total += _through_ends(row, gone, met.distance_m, light, rows, inside, across, passed_end)
        in_the_open = met.target == SKY
        if in_the_open.any():
            _add(total, pour(row[in_the_open], gone[in_the_open], light[in_the_open], rows), across.kept)
        on = np.flatnonzero((met.target >= 0) & (panes.kind[met.target] >= 0))
        pane = met.target[on]
        cos = (way[on] * section.inward[pane]).sum(axis=1)
        passed, _ = panes.meet(pane, cos, inside[on])
        light = light[on] * passed * panes.straight_share(pane)[:, None].astype(np.float32)
        at = at[on] + way[on] * met.distance_m[on, None]
        row, way, leaving, inside, gone = row[on], way[on], pane, ~inside[on], gone[on] + met.distance_m[on]
    shape = (2, len(panes.across), len(heights_rad), points.places, -1)
    return total.reshape(shape).transpose(0, 2, 1, 3, 4)


def _add(total: Light, poured: Light, fate: Light) -> None:
    for side in (0, 1):
        total[side] += poured @ fate[side]


def _through_ends(
    row: Ints,
    gone: Array,
    distance: Array,
    light: Light,
    rows: int,
    inside: NDArray[np.bool_],
    across: Fates,
    passed_end: Array,
) -> Light:
    """Light that comes onto each leg through an end instead of over the leg's far end."""
    total = np.zeros((2, light.shape[1], rows, across.kept.shape[3]), dtype=np.float32)
    for indoors in (True, False):
        of = (inside == indoors) & np.isfinite(distance)
        if not of.any():
            continue
        onto = pour(row[of], gone[of] + distance[of], light[of], rows) - pour(
            row[of], gone[of], light[of], rows
        )
        for side in (0, 1):
            if indoors:
                total[side] += (
                    onto @ across.entered[side] * passed_end[side][:, None, None].astype(np.float32)
                )
            else:
                total[side] += onto @ across.left[side]
    return total
