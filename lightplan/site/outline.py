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


def hoop_inset(height: float, *, width: float, eave: float, ridge: float, circle: bool) -> float | None:
    """How far a hoop's skin stands in from its side at a height, or None above the crown."""
    if height <= eave:
        return 0.0
    rise, up = ridge - eave, height - eave
    if up >= rise:
        return None
    if not circle:
        return width / 2 * (1 - math.sqrt(1 - (up / rise) ** 2))
    radius = (width**2 / 4 + rise**2) / (2 * rise)
    return width / 2 - math.sqrt(radius**2 - (up + radius - rise) ** 2)
