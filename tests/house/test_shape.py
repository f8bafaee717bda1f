"""Cross-sections: what a site file's words make, and what cannot stand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from lightplan.house.shape import INFLATED_GAP_M, check_shape, section_of
from lightplan.site.models import Shape
from tests.house.houses import FILM, GLASS, glazing, hoop_of_reference, house
from tests.house.traced_houses import HOUSES

FILMS = glazing(FILM, FILM, is_film=True)


def opaque(section) -> list[int]:
    return [n for n, pane in enumerate(section.glazings) if pane is None]


@pytest.mark.parametrize("name", HOUSES)
def test_outline_is_the_one_drawn_by_other_means(name):
    traced = HOUSES[name]()
    section = section_of(traced.house)
    assert section.points == pytest.approx(np.array(traced.outline), abs=1e-9)
    assert opaque(section) == [n for n, made in enumerate(traced.panes) if made == "wall"]
    assert [end is None for end in section.ends] == [made == "wall" for made in traced.ends]


def test_normals_point_in_and_areas_are_those_of_the_shape():
    hoop = section_of(hoop_of_reference())
    middle = (hoop.points[:-1] + hoop.points[1:]) / 2
    assert hoop.holds(middle + 0.01 * hoop.inward).all()
    assert not hoop.holds(middle - 0.01 * hoop.inward).any()
    assert hoop.area_m2 == pytest.approx(math.pi * 4.55 * 3.7 / 2, rel=0.002)
    gable = section_of(house())
    assert gable.area_m2 == pytest.approx(9.1 * (2.4 + 4.675) / 2)
    assert gable.band_areas_m2 == pytest.approx([9.1 * 0.8, gable.area_m2 - 9.1 * 0.8])
    assert gable.is_convex
    assert gable.is_mirror_image
    assert not section_of(HOUSES["three-spans"]().house).is_convex
    assert not section_of(HOUSES["lean-to"]().house).is_mirror_image


def test_a_lean_to_leans_away_from_the_side_it_faces():
    """Ridge azimuth 90 looks east: right is south, left is north."""
    for faces, wall in ((180.0, "side-left"), (0.0, "side-right")):
        found = section_of(
            house(Shape.LEAN_TO, width_m=4.0, faces_deg=faces, opaque=frozenset({wall}), eave_m=2, ridge_m=3)
        )
        heights = found.points[:, 1].tolist()
        assert heights == ([0, 3, 2, 0] if wall == "side-left" else [0, 2, 3, 0])
        assert opaque(found) == ([0] if wall == "side-left" else [2])


def test_walls_and_ends_of_other_glazing():
    roof, wall, end = (glazing(GLASS, haze=h) for h in (0.1, 0.2, 0.3))
    found = section_of(house(glazing=roof, wall_glazing=wall, end_glazing=end))
    assert found.glazings == (wall, roof, roof, wall)
    assert found.ends == (end, end)
    hoop = section_of(house(Shape.HOOP, eave_m=0.0, ridge_m=3.7, glazing=roof, wall_glazing=wall))
    assert set(hoop.glazings) == {roof}  # no walls where the arc starts at the ground
    own = ((0.0, 0.0), (0.1, 2.0), (4.0, 4.0), (8.0, 2.0), (8.0, 0.0))
    found = section_of(house(Shape.SECTION, section=own, glazing=roof, wall_glazing=wall))
    assert found.glazings == (wall, roof, roof, wall)


def test_clear_floor_lies_between_the_inner_skins():
    """Case C of the reference: films 0.10 m apart leave 8.67 by 28.8 m clear at 0.8 m under a hoop of 9.1."""
    hoop = section_of(hoop_of_reference())
    assert hoop.clear_m[1] - hoop.clear_m[0] == pytest.approx(8.67, abs=0.01)
    assert hoop.clear_along_m == pytest.approx((INFLATED_GAP_M, 29 - INFLATED_GAP_M))
    assert section_of(house()).clear_m == (0.0, 9.1)
    two_panes = section_of(house(pane=glazing(GLASS, GLASS)))
    assert two_panes.clear_m == (0.0, 9.1)  # sealed glass is thin
    solid_end = section_of(hoop_of_reference(opaque=frozenset({"end-a"})))
    assert solid_end.clear_along_m == pytest.approx((0.0, 28.9))
    higher = section_of(hoop_of_reference(), 2.0)
    assert higher.clear_m[0] > hoop.clear_m[0]


def test_an_own_glazing_of_two_layers_on_an_arc_is_two_films():
    own = glazing(FILM, FILM)
    from_site_file = type(own)(own.name, own.layers, 0.0, 4.0, False, "site file", "site file")
    arc = {"shape": Shape.HOOP, "eave_m": 0.0, "ridge_m": 3.7}
    assert section_of(house(pane=from_site_file, **arc)).clear_along_m[0] == INFLATED_GAP_M
    assert section_of(house(pane=from_site_file)).clear_along_m[0] == 0.0


@pytest.mark.parametrize(
    ("changes", "height_m", "told"),
    [
        ({}, 4.7, "4.7 m is not below its top at 4.675 m"),
        ({"shape": Shape.SECTION, "section": ((0, 0), (4, 3), (0, 3), (4, 0))}, 0.8, "crosses itself"),
        ({"shape": Shape.SECTION, "section": ((0, 0), (4, 0))}, 0.8, "encloses no room"),
        ({"width_m": 0.19, "glazing": FILMS, "wall_glazing": FILMS}, 0.8, "leaves no clear floor 0.8 m up"),
    ],
)
def test_what_cannot_stand(changes, height_m, told):
    shape = changes.pop("shape", Shape.GABLE)
    wrong = house(shape, **changes)
    with pytest.raises(ValueError, match=told):
        section_of(wrong, height_m)
    assert check_shape(house()) is None


@pytest.mark.parametrize("width_m", [9.1, 6.4, 9.6, 7.2])
def test_many_spans_without_gutters_stand(width_m):
    """Neighbouring slopes end in one point: rounding must not make them cross."""
    for spans in range(1, 21):
        block = house(Shape.MULTISPAN, width_m=width_m, spans=spans, gutter_m=0.0)
        assert check_shape(block) is None
        assert len(section_of(block).glazings) == 2 * spans + 2
