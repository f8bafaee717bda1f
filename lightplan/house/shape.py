"""A house → its cross-section: flat panes in order from the left foot over the top to the right foot.

The house is that section drawn out along the ridge, closed by two upright ends. x runs across from
the left wall (looking along the ridge azimuth), z up, y along from the end behind you.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from lightplan.site.models import OWN, Glazing, House, Shape
from lightplan.site.outline import (
    Points,
    clear_at,
    crosses_itself,
    gable_points,
    gothic_points,
    hoop_points,
    lean_to_points,
)

Array = NDArray[np.float64]

BENCH_HEIGHT_M = 0.8  # where house light is told: the site file's contract
ARC_PANES = 60  # an arc as so many flat panes; 120 change the light by less than 0.02 points
UPRIGHT = math.sin(
    math.radians(75)
)  # an own outline's first panes steeper than this are its walls (judgement)
NO_LENGTH_M = 1e-9
# Between the films of a double film roof; the inner one bounds the clear floor. Reference houses of the
# design; common practice.
INFLATED_GAP_M = 0.10


@dataclass(frozen=True)
class Section:
    """The cross-section as panes between consecutive `points`, and what each is made of.

    points : (panes + 1, 2) x, z [m]. glazings : one per pane, None = opaque.
    ends : glazing of end-a (y = 0) and end-b (y = length), None = opaque.
    clear_m : from where to where the floor is clear at `height_m`. foot_m : the same on the ground.
    """

    points: Array
    glazings: tuple[Glazing | None, ...]
    ends: tuple[Glazing | None, Glazing | None]
    length_m: float
    knee_wall_m: float
    height_m: float
    clear_m: tuple[float, float]
    clear_along_m: tuple[float, float]
    foot_m: tuple[float, float]

    @cached_property
    def along(self) -> Array:
        """(panes, 2) vectors from each pane's start to its end."""
        return np.diff(self.points, axis=0)

    @cached_property
    def widths(self) -> Array:
        """(panes,) length of each pane in the section [m]."""
        return np.asarray(np.hypot(*self.along.T))

    @cached_property
    def inward(self) -> Array:
        """(panes, 2) unit normals that point into the house."""
        return np.stack([self.along[:, 1], -self.along[:, 0]], axis=1) / self.widths[:, None]

    @cached_property
    def area_m2(self) -> float:
        """Area of the section, which is that of each end."""
        x, z = np.vstack([self.points, self.points[:1]]).T
        return float(abs(x[:-1] @ z[1:] - x[1:] @ z[:-1]) / 2)

    @cached_property
    def band_edges_m(self) -> tuple[float, ...]:
        """Heights that cut the ends into bands: at the top of the knee wall, else at bench height."""
        top = float(self.points[:, 1].max())
        cut = self.knee_wall_m if self.knee_wall_m > 0 else self.height_m
        return (0.0, cut, top) if 0 < cut < top else (0.0, top)

    @cached_property
    def band_is_open(self) -> tuple[bool, ...]:
        """Whether each band of the ends lies above the knee wall."""
        return tuple(low >= self.knee_wall_m for low in self.band_edges_m[:-1])

    @cached_property
    def band_areas_m2(self) -> Array:
        """(bands,) area of one end in each band."""
        x, z = np.vstack([self.points, self.points[:1]]).T
        below = []
        for edge in self.band_edges_m:
            low = np.minimum(z, edge)
            below.append(abs(((x[1:] - x[:-1]) * (low[1:] + low[:-1])).sum()) / 2)
        return np.diff(below)

    def holds(self, at: Array) -> NDArray[np.bool_]:
        """(points,) whether points (points, 2) lie inside: an odd number of panes above each."""
        (x1, z1), (x2, z2) = self.points[:-1].T[..., None], self.points[1:].T[..., None]
        x, z = at.T
        over = (x1 <= x) != (x2 <= x)
        with np.errstate(divide="ignore", invalid="ignore"):
            height = z1 + (z2 - z1) * (x - x1) / (x2 - x1)
        return np.asarray((over & (height > z)).sum(axis=0) % 2 == 1)

    @cached_property
    def is_convex(self) -> bool:
        """Whether light that has left through a pane can never meet another."""
        before, after = self.along[:-1], self.along[1:]
        return bool((before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0] <= 1e-12).all())

    @cached_property
    def is_mirror_image(self) -> bool:
        """Whether left and right halves are alike in form and glazing."""
        turned = self.points[::-1] * (-1, 1) + (self.points[0, 0] + self.points[-1, 0], 0)
        return bool(np.allclose(turned, self.points, atol=1e-9)) and self.glazings == self.glazings[::-1]


def outline(house: House) -> Points:
    """Points of the whole cross-section, left foot to right foot."""
    width, eave, ridge = house.width_m, house.eave_m, house.ridge_m
    if house.shape is Shape.SECTION:
        return house.section or ()
    if house.shape is Shape.FLAT:
        return (0.0, 0.0), (0.0, eave), (width, eave), (width, 0.0)
    if house.shape is Shape.HOOP:
        return hoop_points(width, eave, ridge, circle=house.arc == "circle", steps=ARC_PANES)
    if house.shape is Shape.GOTHIC:
        return gothic_points(width, eave, ridge, bulge=house.bulge_m, steps=ARC_PANES // 2)
    if house.shape is Shape.LEAN_TO:
        facing = 0.0 if house.faces_deg is None else house.faces_deg - house.ridge_azimuth_deg
        return lean_to_points(width, eave, ridge, wall_left=facing % 360 < 180)
    if house.shape is Shape.MULTISPAN:
        return multispan_points(width, eave, ridge, spans=house.spans, gutter=house.gutter_m)
    return gable_points(width, eave, ridge)


def multispan_points(width: float, eave: float, ridge: float, *, spans: int, gutter: float) -> Points:
    """Equal gables side by side without inner walls, a level gutter in each valley."""
    inner = []
    for span in range(spans):
        left = span * width + span * gutter
        # not left + width: without gutters it has to be the next left, to the bit
        right = (span + 1) * width + span * gutter
        inner += [(left, eave), (left + width / 2, ridge), (right, eave)]
    return (0.0, 0.0), *inner, (inner[-1][0], 0.0)


def check_shape(house: House, height_m: float = BENCH_HEIGHT_M) -> str | None:
    """What is wrong with a house's geometry, in a sentence; None where it can stand."""
    points = outline(house)
    if len(points) < 3 or max(z for _, z in points) <= 0:
        return f'house "{house.id}": its outline encloses no room'
    if crosses_itself(tuple(p for n, p in enumerate(points) if n == 0 or p != points[n - 1])):
        return f'house "{house.id}": its outline crosses itself'
    top = max(z for _, z in points)
    if height_m >= top:
        return f'house "{house.id}": {height_m:g} m is not below its top at {top:g} m'
    if clear_at(points, height_m) is None:
        return _no_floor(house, height_m)
    return None


def _no_floor(house: House, height_m: float) -> str:
    return f'house "{house.id}" leaves no clear floor {height_m:g} m up'


def section_of(house: House, height_m: float = BENCH_HEIGHT_M) -> Section:
    """The cross-section of a house. Raises ValueError with one sentence where it cannot stand."""
    wrong = check_shape(house, height_m)
    if wrong:
        raise ValueError(wrong)
    points = np.array(outline(house))
    kept = np.hypot(*np.diff(points, axis=0).T) > NO_LENGTH_M
    left, right = _side_walls(house, points)
    glazings: list[Glazing | None] = [
        _pane(house, points[n : n + 2], n < left, n >= len(points) - 1 - right) for n in range(len(kept))
    ]
    points = np.vstack([points[:1], points[1:][kept]])
    glazings = [glazing for glazing, keep in zip(glazings, kept, strict=True) if keep]
    points, glazings = _cut_at_knee(points, glazings, house.knee_wall_m)
    ends = tuple(None if end in house.opaque else house.end_glazing for end in ("end-a", "end-b"))
    return Section(
        points=points,
        glazings=tuple(glazings),
        ends=(ends[0], ends[1]),
        length_m=house.length_m,
        knee_wall_m=house.knee_wall_m,
        height_m=height_m,
        clear_m=_clear_across(house, points, glazings, height_m),
        clear_along_m=(_gap(house, ends[0]), house.length_m - _gap(house, ends[1])),
        foot_m=(float(points[0, 0]), float(points[-1, 0])),
    )


def taken_for_film(house: House, glazing: Glazing) -> bool:
    """Whether a glazing is plastic film: an own one on a curved roof, which glass can't follow, is."""
    return glazing.is_film or (house.shape in (Shape.HOOP, Shape.GOTHIC) and glazing.source == OWN)


def _gap(house: House, glazing: Glazing | None) -> float:
    """How far inside the outline a glazing's inner skin lies [m]: two films are held apart by air."""
    if glazing is None or len(glazing.layers) < 2:
        return 0.0
    return INFLATED_GAP_M if taken_for_film(house, glazing) else 0.0


def _clear_across(
    house: House, points: Array, glazings: list[Glazing | None], height_m: float
) -> tuple[float, float]:
    """The floor between the inner skins at a height: the outline there less each skin's own gap."""
    clear = clear_at(tuple((float(x), float(z)) for x, z in points), height_m)
    assert clear is not None  # check_shape has seen to it
    steps = np.diff(points, axis=0)
    crossing = np.flatnonzero((np.minimum(points[:-1, 1], points[1:, 1]) <= height_m) & (steps[:, 1] != 0))
    crossing = crossing[np.maximum(points[crossing, 1], points[crossing + 1, 1]) >= height_m]
    gaps = [
        _gap(house, glazings[n]) * float(np.hypot(*steps[n]) / abs(steps[n, 1]))
        for n in (crossing[0], crossing[-1])
    ]
    left, right = clear[0] + gaps[0], clear[1] - gaps[1]
    if left >= right:
        raise ValueError(_no_floor(house, height_m))
    return left, right


def _side_walls(house: House, points: Array) -> tuple[int, int]:
    """How many panes from the left foot and from the right foot are side wall."""
    if house.shape is not Shape.SECTION:
        return 1, 1  # of no length where the roof starts at the ground
    steps = np.diff(points, axis=0)
    steep = np.abs(steps[:, 1]) >= UPRIGHT * np.hypot(*steps.T)
    return int(np.argmin(steep)), int(np.argmin(steep[::-1]))


def _pane(house: House, ends: Array, is_left: bool, is_right: bool) -> Glazing | None:
    side = "side-left" if is_left else "side-right" if is_right else None
    if side is not None:
        return None if side in house.opaque else house.wall_glazing
    is_gutter = house.shape is Shape.MULTISPAN and ends[0, 1] == ends[1, 1]
    return None if is_gutter else house.glazing


def _cut_at_knee(
    points: Array, glazings: list[Glazing | None], knee_m: float
) -> tuple[Array, list[Glazing | None]]:
    """Panes cut at the top of the solid knee wall; what lies below it is opaque."""
    found, made = [points[0]], []
    for start, end, glazing in zip(points[:-1], points[1:], glazings, strict=True):
        stops = [end]
        if min(start[1], end[1]) < knee_m - NO_LENGTH_M and max(start[1], end[1]) > knee_m + NO_LENGTH_M:
            stops = [start + (end - start) * (knee_m - start[1]) / (end[1] - start[1]), end]
        for stop in stops:
            below = (found[-1][1] + stop[1]) / 2 < knee_m
            made.append(None if below else glazing)
            found.append(stop)
    return np.array(found), made
