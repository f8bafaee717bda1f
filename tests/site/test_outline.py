"""Cross-sections and faces: what is refused as impossible rests on them."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from lightplan.site.faces import face_towards, high_wall, opaque_faces
from lightplan.site.outline import (
    GOTHIC_BULGE,
    clear_at,
    crosses_itself,
    gable_points,
    gothic_points,
    hoop_points,
    lean_to_points,
    section_eave,
    section_width,
    set_down,
)

SIZES = st.floats(2, 20)


@given(st.lists(st.floats(0.01, 2 * math.pi - 0.01), min_size=4, max_size=9, unique=True))
def test_a_convex_outline_never_crosses_itself_and_two_corners_swapped_always_do(turns: list[float]) -> None:
    turns.sort()
    assume(min(b - a for a, b in pairwise(turns)) > 0.05)
    points = tuple((math.cos(turn), math.sin(turn)) for turn in turns)
    assert not crosses_itself(points)
    assert crosses_itself((points[1], points[0], *points[2:]))


def test_an_outline_that_touches_itself_is_refused() -> None:
    assert crosses_itself(((0, 0), (0, 3), (3, 0), (6, 3), (6, 0)))  # the roof dips to the floor


@given(SIZES, st.floats(0, 3), st.floats(0.5, 6), st.floats(0.01, 0.9))
def test_a_hoop_is_an_ellipse(width: float, eave: float, rise: float, share: float) -> None:
    """Ellipse equation at a height: half the clear width is w/2 · √(1 − (z/rise)²).

    Near the crown a facet's chord cuts deeper into the flat top than the tolerance; no bench stands there.
    """
    clear = clear_at(hoop_points(width, eave, eave + rise, circle=False), eave + share * rise)
    assert clear is not None
    assert clear[1] - clear[0] == pytest.approx(width * math.sqrt(1 - share**2), rel=0.02, abs=0.02)
    assert clear[0] + clear[1] == pytest.approx(width)


@given(SIZES, st.floats(0, 3), st.floats(0.3, 1), st.floats(0.05, 0.95))
def test_a_hoop_as_a_circle_s_segment(width: float, eave: float, share: float, high: float) -> None:
    """Every point of the arc is one radius from a centre on the axis, R = (w²/4 + h²) / 2h."""
    rise = share * width / 2
    radius = (width**2 / 4 + rise**2) / (2 * rise)
    arc = hoop_points(width, eave, eave + rise, circle=True)[1:-1]
    for x, z in arc:
        assert math.hypot(x - width / 2, z - (eave + rise - radius)) == pytest.approx(radius, rel=1e-9)
    assert max(z for _, z in arc) == pytest.approx(eave + rise)


@given(SIZES, st.floats(0, 3), st.floats(1, 6))
def test_a_gothic_arc_bulges_out_of_its_chord(width: float, eave: float, rise: float) -> None:
    points = gothic_points(width, eave, eave + rise, bulge=None)
    chord = math.hypot(width / 2, rise)
    off = [((z - eave) * width / 2 - x * rise) / chord for x, z in points[1:33]]  # off the chord, outward
    assert max(off) == pytest.approx(GOTHIC_BULGE * chord, rel=1e-6)
    assert section_width(points) >= width - 1e-9
    if rise > 0.5 * width / 2:  # a lower arc rises above its own crown
        assert max(z for _, z in points) == pytest.approx(eave + rise)


def test_straight_roofs() -> None:
    assert clear_at(gable_points(8, 2, 4), 3) == pytest.approx((2, 6))
    assert clear_at(gable_points(8, 2, 4), 1) == pytest.approx((0, 8))
    assert clear_at(gable_points(8, 2, 4), 4.01) is None
    assert clear_at(lean_to_points(4, 2, 3, wall_left=True), 2.5) == pytest.approx((0, 2))
    assert clear_at(lean_to_points(4, 2, 3, wall_left=False), 2.5) == pytest.approx((2, 4))


def test_own_outlines_are_put_in_order() -> None:
    assert set_down(((9, 0), (5, 3), (2, 0))) == ((0, 0), (3, 3), (7, 0))
    assert set_down(((2, 0), (5, 3), (9, 0), (2, 0))) == ((0, 0), (3, 3), (7, 0))
    assert section_eave(((0, 0), (0, 2), (3, 4), (6, 3), (6, 0))) == 2


# By hand: looking along the ridge, left is 90° anticlockwise of it and end-a is behind you.
@pytest.mark.parametrize(
    ("ridge", "faces"),
    [
        (0, {"north": "end-b", "east": "side-right", "south": "end-a", "west": "side-left"}),
        (90, {"north": "side-left", "east": "end-b", "south": "side-right", "west": "end-a"}),
        (30, {"north": "end-b", "east": "side-right", "south": "end-a", "west": "side-left"}),
        (60, {"north": "side-left", "east": "end-b", "south": "side-right", "west": "end-a"}),
        (135.1, {"north": "end-a", "east": "side-left", "south": "end-b", "west": "side-right"}),
        (179, {"north": "end-a", "east": "side-left", "south": "end-b", "west": "side-right"}),
        (45, dict.fromkeys(("north", "east", "south", "west"))),
    ],
)
def test_compass_faces(ridge: float, faces: dict[str, str | None]) -> None:
    assert {name: face_towards(name, ridge) for name in faces} == faces


@pytest.mark.parametrize(
    ("ridge", "faces", "wall"),
    [
        (90, 180, "side-left"),
        (90, 0, "side-right"),
        (0, 90, "side-left"),
        (0, 270, "side-right"),
        (170, 80, "side-right"),
    ],
)
def test_a_lean_to_s_wall_is_behind_what_it_faces(ridge: float, faces: float, wall: str) -> None:
    assert high_wall(faces, ridge) == wall
    assert opaque_faces(("end-a",), ends=False, ridge_azimuth_deg=ridge, faces_deg=faces) == {"end-a", wall}
