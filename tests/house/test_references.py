"""Two reference houses, ray traced with Radiance (see the README of the reference data): same definitions.

Points are hundredths of outdoor light; area means at 0.8 m. A gable in single glass (A) and a half-ellipse
hoop under two films taken as one stack (C_stack). Every tolerance is one that wrong models, below, miss.
"""

from __future__ import annotations

import dataclasses
from functools import cache

import numpy as np
import pandas as pd
import pytest

from lightplan.house.transmission import HouseLight, house_light
from lightplan.site.models import House
from tests.house.houses import glazing, hoop_of_reference, house, light_of
from tests.house.straight_only import straight_only
from tests.house.switched_off import without_floor_return, without_mirrored_sun

CASES = {"A": house, "C_stack": hoop_of_reference}


@cache
def straight_of(case: str) -> HouseLight:
    return straight_only(CASES[case]())


def _reference(shared, case: str) -> tuple[pd.DataFrame, pd.Series]:
    folder = shared / "reference_transmission"
    beam = pd.read_csv(folder / "beam_table.csv").query("case == @case")
    diffuse = pd.read_csv(folder / "diffuse.csv").query("case == @case and sky == 'uniform'").iloc[0]
    return beam, diffuse


def _points_off(light: HouseLight, beam: pd.DataFrame, column: str, turned_deg: float = 0.0) -> np.ndarray:
    zenith = 90 - beam["elevation_deg"].to_numpy(dtype=float)
    azimuth = light.ridge_azimuth_deg + turned_deg + beam["rel_azimuth_deg"].to_numpy(dtype=float)
    return 100 * (light.beam(zenith, azimuth) - beam[column].to_numpy())


def _days_off(
    shared, case: str, light: HouseLight, column: str, *, turned_deg: float = 0.0, one_figure=False
):
    """Points that each clear day's total is off: both ridges, latitudes 35 to 55, solstices and equinox."""
    folder = shared / "reference_transmission"
    days = pd.read_csv(folder / "daily.csv").query("case == @case")
    steps = pd.read_csv(folder / "clear_day_inputs.csv")
    found = []
    for day in days.itertuples():
        sun = steps[(steps.lat == day.latitude) & (steps.date == day.date)]
        ridge = 0.0 if day.ridge == "NS" else 90.0
        zenith, shift = 90 - sun.elev.to_numpy(), light.ridge_azimuth_deg - ridge + turned_deg
        morning, evening = (
            light.beam(zenith, a + shift) for a in (sun.azim.to_numpy(), 360 - sun.azim.to_numpy())
        )
        beam = light.diffuse() if one_figure else (morning + evening) / 2
        total = (beam * sun.bhi + light.diffuse() * sun.dhi).sum() / (sun.bhi + sun.dhi).sum()
        found.append(100 * (total - getattr(day, column)))
    assert len(found) == {"A": 18, "C_stack": 9}[case]  # the hoop was traced north-south only
    return np.abs(found)


@pytest.mark.parametrize("case", CASES)
def test_all_light(shared, case):
    beam, diffuse = _reference(shared, case)
    light = light_of(CASES[case]())
    assert 100 * abs(light.diffuse() - diffuse.T_total) < 0.5
    off = np.abs(_points_off(light, beam[beam.elevation_deg >= 20], "T_total"))
    assert off.mean() < 0.4
    assert off.max() < 2.0
    low = np.abs(_points_off(light, beam[beam.elevation_deg < 20], "T_total"))
    assert low.mean() < 2.0


@pytest.mark.parametrize("case", CASES)
def test_clear_days(shared, case):
    off = _days_off(shared, case, light_of(CASES[case]()), "T_day_total")
    assert off.mean() < 0.4
    assert off.max() < 1.5
    straight = _days_off(shared, case, straight_of(case), "T_day_straight")
    assert straight.mean() < 0.05
    assert straight.max() < 0.3


@pytest.mark.parametrize("case", CASES)
def test_uniformity_and_the_grid(shared, case):
    """Point by point on the 7 × 21 grid: rays to each point's own, the model's to the cell around it."""
    _, diffuse = _reference(shared, case)
    light = light_of(CASES[case]())
    grid = light.floor.grid(light.diffuse_cells)
    assert grid.shape == (7, 21)
    assert grid.min() / grid.mean() == pytest.approx(diffuse.min_over_mean, abs=0.03)
    assert grid.mean() == pytest.approx(diffuse.T_total_grid, abs=0.005)
    table = pd.read_csv(shared / "reference_transmission" / "diffuse_grid.csv").query("case == @case")
    points = table.sort_values(["x", "y"]).T_uniform.to_numpy().reshape(7, 21)
    assert np.abs(grid - points).mean() < 0.005
    assert np.abs(grid - points).max() < 0.03
    assert np.abs(grid - points).mean() < 0.7 * np.abs(grid.mean() - points).mean()  # one mean everywhere


@pytest.mark.parametrize("case", CASES)
def test_wrong_models_of_all_light_fail(shared, case):
    beam, diffuse = _reference(shared, case)
    high = beam[beam.elevation_deg >= 20]
    light = light_of(CASES[case]())
    one_figure = np.abs(100 * (diffuse.T_total - high.T_total))
    assert one_figure.mean() > 1
    assert one_figure.max() > 5
    for turned, seen in ((15.0, 0.4), (90.0, 1.0)):  # a site file's ridge told wrong
        assert np.abs(_points_off(light, high, "T_total", turned_deg=turned)).mean() > seen
    without = without_mirrored_sun(CASES[case]())
    assert 100 * abs(without.diffuse() - diffuse.T_total) > 1
    assert np.abs(_points_off(without, high, "T_total")).mean() > 0.4
    assert np.abs(_points_off(without, high, "T_total")).max() > 2
    assert 100 * abs(without_floor_return(CASES[case]()).diffuse() - diffuse.T_total) > 0.5
    solid = house_light(dataclasses.replace(CASES[case](), opaque=frozenset({"end-a", "end-b"})))
    assert np.abs(_points_off(solid, high, "T_total")).max() > 5
    for days in (
        _days_off(shared, case, light, "T_day_total", one_figure=True),
        _days_off(shared, case, light, "T_day_total", turned_deg=90.0),
        _days_off(shared, case, without, "T_day_total"),
    ):
        assert days.mean() > 0.4
        assert days.max() > 1.5


@pytest.mark.parametrize("case", CASES)
def test_straight_light(shared, case):
    """`T_straight`: straight rays through each pane at their own angle, and the ends."""
    beam, diffuse = _reference(shared, case)
    light = straight_of(case)
    off = np.abs(_points_off(light, beam, "T_straight"))
    assert off.mean() < 0.05
    assert off.max() < 0.3
    assert 100 * abs(light.diffuse() - diffuse.T_straight) < 0.05


@pytest.mark.parametrize("case", CASES)
def test_wrong_models_of_straight_light_fail(shared, case):
    """End walls left out, or taken as solid, and a ridge a degree off, miss the tolerances above."""
    beam, diffuse = _reference(shared, case)
    right: House = CASES[case]()
    without_ends = dataclasses.replace(right, end_glazing=glazing())
    solid_ends = dataclasses.replace(right, opaque=frozenset({"end-a", "end-b"}))
    for wrong in (without_ends, solid_ends):
        light = straight_only(wrong)
        off = np.abs(_points_off(light, beam, "T_straight"))
        assert off.mean() > 0.3
        assert off.max() > 5
        assert 100 * abs(light.diffuse() - diffuse.T_straight) > 1
    turned = np.abs(_points_off(straight_of(case), beam, "T_straight", turned_deg=1.0))
    assert turned.mean() > 0.05
