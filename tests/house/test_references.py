"""Two reference houses, ray traced with Radiance (see the README of the reference data): same definitions.

Points are hundredths of outdoor light; area means at 0.8 m. A gable in single glass (A) and a half-ellipse
hoop under two films taken as one stack (C_stack).
"""

from __future__ import annotations

import dataclasses
from functools import cache

import numpy as np
import pandas as pd
import pytest

from lightplan.house.transmission import HouseLight, house_light
from lightplan.site.models import House
from tests.house.houses import glazing, hoop_of_reference, house
from tests.house.straight_only import straight_only

CASES = {"A": house, "C_stack": hoop_of_reference}


def _reference(shared, case: str) -> tuple[pd.DataFrame, pd.Series]:
    folder = shared / "reference_transmission"
    beam = pd.read_csv(folder / "beam_table.csv").query("case == @case")
    diffuse = pd.read_csv(folder / "diffuse.csv").query("case == @case and sky == 'uniform'").iloc[0]
    return beam, diffuse


@cache
def _light(case: str) -> HouseLight:
    return house_light(CASES[case]())


def _points_off(light: HouseLight, beam: pd.DataFrame, column: str, turned_deg: float = 0.0) -> np.ndarray:
    zenith = 90 - beam["elevation_deg"].to_numpy(dtype=float)
    azimuth = light.ridge_azimuth_deg + turned_deg + beam["rel_azimuth_deg"].to_numpy(dtype=float)
    return 100 * (light.beam(zenith, azimuth) - beam[column].to_numpy())


@pytest.mark.parametrize("case", CASES)
def test_all_light(shared, case):
    beam, diffuse = _reference(shared, case)
    light = _light(case)
    assert 100 * abs(light.diffuse() - diffuse.T_total) < 0.5
    off = np.abs(_points_off(light, beam[beam.elevation_deg >= 20], "T_total"))
    assert off.mean() < 0.4
    assert off.max() < 2.0
    low = np.abs(_points_off(light, beam[beam.elevation_deg < 20], "T_total"))
    assert low.mean() < 2.0


def test_wrong_models_fail(shared):
    """One percentage, opaque ends and a house turned across are all far outside the tolerance."""
    beam, diffuse = _reference(shared, "A")
    high = beam[beam.elevation_deg >= 20]
    one_figure = 100 * (diffuse.T_total - high.T_total)
    assert np.abs(one_figure).mean() > 1.0
    blind: House = dataclasses.replace(house(), opaque=frozenset({"end-a", "end-b"}))
    assert np.abs(_points_off(house_light(blind), high, "T_total")).max() > 5
    turned = _points_off(_light("A"), high, "T_total", turned_deg=90.0)
    assert np.abs(turned).max() > 2


@pytest.mark.parametrize("case", CASES)
def test_straight_light(shared, case):
    """`T_straight`: straight rays through each pane at their own angle, and the ends; within 0.3 points.

    Below 20 degrees the look-up table rounds the edges of shadows: up to 0.7 there.
    """
    beam, diffuse = _reference(shared, case)
    light = straight_only(CASES[case]())
    off = np.abs(_points_off(light, beam, "T_straight"))
    high = (beam.elevation_deg >= 20).to_numpy()
    assert off[high].max() < 0.3
    assert off.max() < 0.7
    assert off.mean() < 0.1
    assert 100 * abs(light.diffuse() - diffuse.T_straight) < 0.3


@pytest.mark.parametrize("case", CASES)
def test_wrong_models_of_straight_light_fail(shared, case):
    """End walls left out, or taken as solid, miss every one of the tolerances above."""
    beam, diffuse = _reference(shared, case)
    high = (beam.elevation_deg >= 20).to_numpy()
    right = CASES[case]()
    without_ends = dataclasses.replace(right, end_glazing=glazing())
    solid_ends = dataclasses.replace(right, opaque=frozenset({"end-a", "end-b"}))
    for wrong in (without_ends, solid_ends):
        light = straight_only(wrong)
        off = np.abs(_points_off(light, beam, "T_straight"))
        assert off[high].max() > 2
        assert off.max() > 5
        assert off.mean() > 0.3
        assert 100 * abs(light.diffuse() - diffuse.T_straight) > 1
