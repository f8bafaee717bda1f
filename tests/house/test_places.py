"""A bench's own place against the cells of the floor, and what lies off it."""

from __future__ import annotations

import dataclasses

import numpy as np
import pandas as pd
import pytest

from lightplan.house.transmission import house_light
from lightplan.site.models import House, Place
from tests.house.houses import hoop_of_reference, light_of
from tests.house.straight_only import straight_only
from tests.house.traced_houses import HOUSES

LIGHT = light_of(HOUSES["small"]().house)  # 3 by 4 m, end-a solid: light differs much from place to place
ZENITH_DEG, AZIMUTH_DEG = 65.0, 120.0


def _cell(across: int, along: int) -> Place:
    floor = LIGHT.floor
    x, y = np.linspace(*floor.across_m, floor.across + 1), np.linspace(*floor.along_m, floor.along + 1)
    return Place((x[across], x[across + 1]), (y[along], y[along + 1]))


@pytest.mark.parametrize("cell", [(0, 0), (5, 17), (20, 20)])
def test_a_place_the_size_of_a_cell_is_that_cell(cell):
    assert LIGHT.diffuse(_cell(*cell)) == pytest.approx(LIGHT.diffuse_cells[cell], abs=1e-6)
    cells = LIGHT.beam_cells(ZENITH_DEG, AZIMUTH_DEG)
    assert LIGHT.beam(ZENITH_DEG, AZIMUTH_DEG, _cell(*cell)) == pytest.approx(cells[cell], abs=0.001)


def test_places_that_tile_the_floor_sum_to_its_mean():
    """By area, however the cuts lie to the cells."""
    edges = (0.0, 0.7, 1.1, 3.0), (0.0, 0.9, 2.2, 4.0)
    total_beam = total_diffuse = 0.0
    for x1, x2 in zip(edges[0][:-1], edges[0][1:], strict=True):
        for y1, y2 in zip(edges[1][:-1], edges[1][1:], strict=True):
            place, share = Place((x1, x2), (y1, y2)), (x2 - x1) * (y2 - y1) / 12.0
            total_beam += share * LIGHT.beam(ZENITH_DEG, AZIMUTH_DEG, place)
            total_diffuse += share * LIGHT.diffuse(place)
    assert total_beam == pytest.approx(LIGHT.beam(ZENITH_DEG, AZIMUTH_DEG), abs=1e-5)
    assert total_diffuse == pytest.approx(LIGHT.diffuse(), abs=1e-5)


def test_places_differ_where_light_does():
    """By the solid end it is darker than by the glazed one; a model of the house's mean would miss both."""
    dark, bright = (Place((0.5, 2.5), along) for along in ((0.2, 0.8), (3.2, 3.8)))
    assert LIGHT.diffuse(dark) < LIGHT.diffuse() - 0.04
    assert LIGHT.diffuse(bright) > LIGHT.diffuse() + 0.005


def test_across_runs_from_the_left_wall_and_along_from_end_a():
    """Ridge azimuth 90, so left is north and end-a west, whose shadow falls beside it in the evening."""
    lean_to = light_of(HOUSES["lean-to"]().house)  # its solid wall is on the left
    by_the_wall, by_the_glass = (Place(across, (2.0, 10.0)) for across in ((0.2, 0.8), (3.2, 3.8)))
    assert lean_to.diffuse(by_the_wall) < lean_to.diffuse(by_the_glass) - 0.05
    near_a, near_b = (Place((0.5, 2.5), along) for along in ((0.1, 1.0), (3.0, 3.9)))
    west, east = 270.0, 90.0
    assert LIGHT.beam(60.0, west, near_a) < LIGHT.beam(60.0, west, near_b) - 0.2
    assert abs(LIGHT.beam(60.0, east, near_a) - LIGHT.beam(60.0, east, near_b)) < 0.2


def test_a_place_off_the_floor_is_refused():
    with pytest.raises(ValueError, match="lies off the clear floor"):
        LIGHT.diffuse(Place((3.5, 4.0), (1.0, 2.0)))


def test_area_mean_is_not_the_mean_of_a_coarse_grid(shared):
    """Reference case C_stack where `T_straight` and its grid mean differ most."""
    beam = pd.read_csv(shared / "reference_transmission" / "beam_table.csv").query("case == 'C_stack'")
    light = straight_only(hoop_of_reference())
    worst = beam.loc[(beam.T_straight - beam.T_straight_grid).abs().idxmax()]
    assert abs(worst.T_straight - worst.T_straight_grid) > 0.004
    found = light.beam(90 - worst.elevation_deg, worst.rel_azimuth_deg)
    assert found == pytest.approx(worst.T_straight, abs=0.003)


def test_height_of_a_bench_counts():
    """A bench under the eave of a knee-walled house gains by standing above the wall."""
    model: House = dataclasses.replace(HOUSES["knee-walls"]().house, knee_wall_m=1.4)
    assert house_light(model, 1.5).diffuse() > house_light(model, 0.3).diffuse() + 0.02
