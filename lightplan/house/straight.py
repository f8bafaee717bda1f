"""Light that comes to given points straight through the panes: rays from each point to the sun."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lightplan.house.along import Fates, Tally
from lightplan.house.rays import SKY, next_meeting
from lightplan.house.traced import TracedHouse

Array = NDArray[np.float64]
Light = NDArray[np.float32]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

EDGE_ON = 1e-9  # a receiver that the light meets at a smaller cosine is in shade


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
    inside: Bools


def straight_light(
    house: TracedHouse, *, points: Points, heights_rad: Array, across: Fates, entrance: Array
) -> Light:
    """Straight light at each place over the light on the level outdoors.

    heights_rad : the sun's height in the plane of the cross-section, from the right round to the left.
    entrance : (2, angles) what the ends' glazing passes straight.
    Returns (2 sides, angles, heights, places, cells along).
    """
    section, panes = house.section, house.panes
    sun = np.stack([np.cos(heights_rad), np.sin(heights_rad)], axis=1)
    facing = sun @ points.facing.T  # (heights, points)
    height, point = np.nonzero(facing > EDGE_ON)
    share = facing[height, point] / sun[height, 1] / np.bincount(points.place)[points.place[point]]
    light = np.repeat(share[:, None], len(panes.across), axis=1).astype(np.float32)
    place = height * points.places + points.place[point]
    at, way, leaving = points.at[point], sun[height], points.pane[point]
    gone, inside = np.zeros(len(place)), points.inside[point]
    tally = Tally(len(heights_rad) * points.places, len(panes.across))

    while len(place):
        met = next_meeting(section, at, way, leaving)
        far = gone + met.distance_m
        over_knee = gone + np.clip((section.knee_wall_m - at[:, 1]) / way[:, 1], 0, met.distance_m)
        tally.add("entered", place[inside], far[inside], light[inside])
        tally.add("entered", place[inside], over_knee[inside], -light[inside])
        between = ~inside & (met.target >= 0)  # out in a valley, where the ends are open
        tally.add("left", place[between], far[between], light[between])
        tally.add("left", place[between], gone[between], -light[between])
        free = met.target == SKY
        tally.add("kept", place[free], gone[free], light[free])
        on = np.flatnonzero((met.target >= 0) & ~panes.is_opaque[met.target])
        pane = met.target[on]
        facing = (way[on] * section.inward[pane]).sum(axis=1)
        passed, _ = panes.meet(pane, facing, from_inside=inside[on])
        light = light[on] * passed
        at = at[on] + way[on] * met.distance_m[on, None]
        place, way, leaving, inside, gone = place[on], way[on], pane, ~inside[on], far[on]
    total = tally.settle(across, entrance)
    return total.reshape(2, len(panes.across), len(heights_rad), points.places, -1)
