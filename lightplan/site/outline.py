"""A house's cross-section in numbers: width, heights, and where it is clear at a height.

Used to refuse impossible houses and benches; the light itself is traced in `house`.
"""

from __future__ import annotations

import math
from itertools import combinations, pairwise

Points = tuple[tuple[float, float], ...]

GOTHIC_BULGE = 0.105  # of the chord, where `bulge_m` is not given; the site file's contract
GUTTER_M = 0.2  # multispan, where `gutter_m` is not given; the site file's contract
SAME_M = 1e-6  # two lengths closer than this are one
ARC_STEPS = 32  # an arc as so many straight pieces: off by less than 2 mm in a 6 m arc


def set_down(section: Points) -> Points:
    """An own outline put in order: left to right, x from 0, a repeated first point left out."""
    points = section[:-1] if len(section) > 3 and section[0] == section[-1] else section
    if points[0][0] > points[-1][0]:
        points = points[::-1]
    left = min(x for x, _ in points)
    return tuple((x - left, z) for x, z in points)


def section_width(points: Points) -> float:
    return max(x for x, _ in points) - min(x for x, _ in points)


def section_eave(points: Points) -> float:
    """Height of the lower side wall: how high the outline stands over its two ends."""
    lefts, rights = min(x for x, _ in points), max(x for x, _ in points)
    left = max(z for x, z in points if x - lefts < SAME_M)
    right = max(z for x, z in points if rights - x < SAME_M)
    return min(left, right)


def crosses_itself(points: Points) -> bool:
    """Whether two sides that are not neighbours meet (the floor from last to first point is a side)."""
    closed = [*points, points[0]] if points[0] != points[-1] else list(points)
    sides = list(pairwise(closed))
    return any(
        _meet(*sides[a], *sides[b])
        for a, b in combinations(range(len(sides)), 2)
        if b - a > 1 and not (a == 0 and b == len(sides) - 1)
    )


def _turn(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _meet(
    a: tuple[float, float], b: tuple[float, float], c: tuple[float, float], d: tuple[float, float]
) -> bool:
    if max(a[0], b[0]) < min(c[0], d[0]) or max(c[0], d[0]) < min(a[0], b[0]):
        return False
    if max(a[1], b[1]) < min(c[1], d[1]) or max(c[1], d[1]) < min(a[1], b[1]):
        return False
    return _turn(a, b, c) * _turn(a, b, d) <= 0 and _turn(c, d, a) * _turn(c, d, b) <= 0


def clear_at(points: Points, height: float) -> tuple[float, float] | None:
    """From where to where the house is inside at a height; None above its top."""
    found = [
        x1 + (x2 - x1) * (height - z1) / (z2 - z1)
        for (x1, z1), (x2, z2) in pairwise([*points, points[0]])
        if min(z1, z2) <= height <= max(z1, z2) and z1 != z2
    ]
    return (min(found), max(found)) if found and max(found) - min(found) > SAME_M else None


def gable_points(width: float, eave: float, ridge: float) -> Points:
    return (0.0, 0.0), (0.0, eave), (width / 2, ridge), (width, eave), (width, 0.0)


def lean_to_points(width: float, eave: float, ridge: float, *, wall_left: bool) -> Points:
    left, right = (ridge, eave) if wall_left else (eave, ridge)
    return (0.0, 0.0), (0.0, left), (width, right), (width, 0.0)


def hoop_points(width: float, eave: float, ridge: float, *, circle: bool, steps: int = ARC_STEPS) -> Points:
    """A half ellipse, or a circle's segment, on the side walls."""
    rise, half = ridge - eave, width / 2
    if not circle:
        turns = [math.pi * step / steps for step in range(steps + 1)]
        arc = [(half - half * math.cos(turn), eave + rise * math.sin(turn)) for turn in turns]
    else:
        arc = _arc((0.0, eave), (width, eave), rise, steps=steps)
    return (0.0, 0.0), *arc, (width, 0.0)


def gothic_points(
    width: float, eave: float, ridge: float, *, bulge: float | None, steps: int = ARC_STEPS
) -> Points:
    """Two circle arcs from the eaves to the crown, each bulging outward of its chord."""
    if bulge is None:
        bulge = GOTHIC_BULGE * math.hypot(width / 2, ridge - eave)
    left = _arc((0.0, eave), (width / 2, ridge), bulge, steps=steps)
    right = [(width - x, z) for x, z in reversed(left)]
    return (0.0, 0.0), *left, *right[1:], (width, 0.0)


def _arc(
    start: tuple[float, float], end: tuple[float, float], bulge: float, *, steps: int
) -> list[tuple[float, float]]:
    """Points of the circle arc that bulges to the left of the way from start to end."""
    (x1, z1), (x2, z2) = start, end
    chord = math.hypot(x2 - x1, z2 - z1)
    half_turn = 2 * math.atan2(2 * bulge, chord)  # half the angle that the arc spans
    if half_turn < SAME_M:
        return [start, end]
    radius = chord / (2 * math.sin(half_turn))
    along, up = ((x2 - x1) / chord, (z2 - z1) / chord), (-(z2 - z1) / chord, (x2 - x1) / chord)
    found = []
    for step in range(steps + 1):
        turn = half_turn * (2 * step / steps - 1)
        on, off = chord / 2 + radius * math.sin(turn), radius * (math.cos(turn) - math.cos(half_turn))
        found.append((x1 + along[0] * on + up[0] * off, z1 + along[1] * on + up[1] * off))
    return found
