"""What must hold for any house, whatever its shape: no light made, none lost where nothing takes it."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from lightplan.house.along import fates
from lightplan.house.exchange import seen_from, sent_evenly
from lightplan.house.mirrored import mirrored_light
from lightplan.house.nodes import Mirroring, nodes_of
from lightplan.house.optics import hemispherical
from lightplan.house.places import floor_of
from lightplan.house.shape import section_of
from lightplan.house.straight import straight_light
from lightplan.house.sun_table import heights_rad, joined_sides
from lightplan.house.traced import traced
from lightplan.house.transmission import house_light
from lightplan.site.models import Glazing, House, Layer, Shape
from tests.house.houses import GLASS, glazing, house, light_of
from tests.house.traced_houses import HOUSES

LOSSLESS = glazing(Layer(n=1.52, extinction_per_m=0.0, thickness_mm=4.0))
EVERYTHING_WHITE = Mirroring(floor=1.0, ground=1.0, wall=1.0)
EVERYTHING_BLACK = Mirroring(floor=0.0, ground=0.0, wall=0.0)
SUNS = np.array([10.0, 35.0, 60.0, 80.0])  # zenith angles
TURNS = np.array([5.0, 70.0, 200.0, 310.0])


def glazed(model: House, pane: Glazing) -> House:
    return dataclasses.replace(model, glazing=pane, wall_glazing=pane, end_glazing=pane)


# A room where nothing takes light, under an even sky over white ground, is as bright inside as outside:
# 1 exactly. Left over: quadrature, rays let go, and that between spans light is taken as even along the house
# anew: 0.3 points here, where every bounce counts in full.
@pytest.mark.parametrize(
    ("name", "haze", "allowed"),
    [
        ("gable", 0.0, 0.001),
        ("circle-hoop", 0.6, 0.001),
        ("three-spans", 0.0, 0.003),
        ("two-spans-solid", 0.6, 0.003),
        ("hazy-spans", 0.9, 0.003),
        ("lean-to", 0.0, 0.001),
        ("flat", 0.6, 0.001),
        ("knee-walls", 0.0, 0.003),
        ("small", 0.6, 0.003),
    ],
)
def test_an_enclosure_that_takes_nothing_is_as_bright_as_outside(name, haze, allowed):
    model = glazed(HOUSES[name]().house, dataclasses.replace(LOSSLESS, haze=haze))
    found = house_light(model, mirroring=EVERYTHING_WHITE)
    assert found.diffuse() == pytest.approx(1.0, abs=allowed)
    assert found.diffuse_cells == pytest.approx(np.ones(found.diffuse_cells.shape), abs=0.025)


def test_without_mirrors_or_returns_that_enclosure_is_dim():
    """The same check must catch a model that leaves mirrored or returned light out."""
    model = glazed(house(), LOSSLESS)
    assert house_light(model, mirroring=EVERYTHING_BLACK).diffuse() < 0.97
    assert house_light(model, mirroring=Mirroring(floor=1.0, ground=0.0, wall=1.0)).diffuse() < 0.999


def test_no_glazing_passes_everything_and_solid_walls_nothing():
    bare = house_light(glazed(house(), glazing()), mirroring=EVERYTHING_BLACK)
    assert bare.beam(SUNS, TURNS) == pytest.approx(np.ones(4), abs=0.001)
    assert bare.diffuse() == pytest.approx(1.0, abs=0.0005)
    all_solid = frozenset({"end-a", "end-b", "side-left", "side-right"})
    dark = glazing(Layer(n=1.52, normal_transmittance=1e-9))
    closed = house_light(house(pane=dark, opaque=all_solid))
    assert closed.beam(SUNS, TURNS).max() < 1e-6
    assert closed.diffuse() < 1e-6


def test_a_house_and_its_mirror_image():
    """Left and right swapped, the sun on the other side: the same light, cell by cell."""
    outline = ((0.0, 0.0), (0.0, 1.5), (6.5, 4.5), (9.0, 2.5), (9.0, 0.0))
    turned = tuple((9.0 - x, z) for x, z in outline[::-1])
    one, other = (
        house_light(house(Shape.SECTION, section=points, opaque=frozenset({side, "end-a"})))
        for points, side in ((outline, "side-left"), (turned, "side-right"))
    )
    ridge = one.ridge_azimuth_deg
    assert one.beam(SUNS, ridge + TURNS) == pytest.approx(other.beam(SUNS, ridge - TURNS), abs=0.002)
    assert one.beam(SUNS, ridge + TURNS) != pytest.approx(other.beam(SUNS, ridge + TURNS), abs=0.02)
    here, there = one.beam_cells(40, ridge + 70), other.beam_cells(40, ridge - 70)
    assert here == pytest.approx(there[::-1], abs=0.02)


def test_ends_swapped_and_the_house_turned_round():
    """The same house told from its other end: ridge azimuth is the same line, end-a becomes end-b."""
    one = house_light(house(opaque=frozenset({"end-a", "side-left"}), ridge_azimuth_deg=30.0))
    other = house_light(house(opaque=frozenset({"end-b", "side-right"}), ridge_azimuth_deg=30.0))
    assert one.beam(SUNS, TURNS) == pytest.approx(other.beam(SUNS, TURNS + 180), abs=0.005)
    assert one.diffuse_cells == pytest.approx(other.diffuse_cells[::-1, ::-1], abs=0.005)


# Light sent from the sky down (parallel rays for each sun, summed over the dome) and rays sent from the
# floor up must find the same share. The two share the optics but neither directions nor bookkeeping.
@pytest.mark.parametrize("name", ["gothic", "three-spans", "lean-to", "knee-walls", "small"])
def test_light_takes_the_same_way_up_and_down(name):
    model = HOUSES[name]().house
    section = section_of(model)
    traced_house, floor, heights = traced(section), floor_of(section, spans=model.spans), heights_rad()
    across = fates(traced_house.ends, traced_house.angles, section)
    nodes = nodes_of(section, traced_house.panes, EVERYTHING_BLACK)
    points, ends = floor.points(section.height_m), traced_house.ends
    straight = straight_light(
        traced_house, points=points, heights_rad=heights, across=across, entrance=ends.passed
    )
    caught = mirrored_light(traced_house, floor=floor, nodes=nodes, heights_rad=heights)
    down = straight + caught.floor.settle(across, ends.passed).reshape(straight.shape)
    table = joined_sides(traced_house.angles, down.transpose(0, 2, 1, 3, 4))
    up = seen_from(traced_house, sent_evenly(traced_house, points), nodes, across=across, far_ends=ends)
    sky = up.sky.mean(axis=0)
    assert table.over_the_dome().mean() == pytest.approx(sky.mean(), abs=0.0012)
    if section.is_convex:  # rays up that leave by a valley forget where along the house they started
        assert table.over_the_dome() == pytest.approx(sky, abs=0.015)
    without_mirrors = joined_sides(traced_house.angles, straight.transpose(0, 2, 1, 3, 4)).over_the_dome()
    assert abs(without_mirrors.mean() - sky.mean()) > 0.01  # which the check would see


def test_a_level_pane_without_end_is_exact():
    """Far from all walls a flat roof is the endless pane: hemispherical share, and the floor's return."""
    wide = house(Shape.FLAT, width_m=400.0, length_m=400.0, eave_m=2.4, ridge_m=2.4)
    passed, _, inside = hemispherical((GLASS,))
    middle = house_light(wide).diffuse_cells[10, 10]
    assert middle == pytest.approx(passed / (1 - 0.2 * inside), abs=0.0015)
    black = house_light(wide, mirroring=EVERYTHING_BLACK).diffuse_cells[10, 10]
    assert black == pytest.approx(passed, abs=0.001)


def test_no_beam_from_a_sun_that_is_down():
    light = light_of(house())
    found = light.beam([85.0, 89.9, 90.0, 90.1, 120.0], np.full(5, 100.0))
    assert (found[:2] > 0.3).all()
    assert (found[2:] == 0).all()
