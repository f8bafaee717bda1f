"""Houses of every shape against a general-purpose ray tracer: the table that `ray_traced` made, and live.

Same targets as for the reference houses. The tracer is told outlines and panes drawn by other means than the
model's, and counts straight light by a caster of its own.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from lightplan.house.transmission import HouseLight
from tests.house.houses import light_of
from tests.house.ray_traced import REFERENCE, trace
from tests.house.straight_only import straight_only
from tests.house.switched_off import without_neighbours_mirrors
from tests.house.traced_houses import HOUSES

# A block under hazy glass misses the target of 0.4 and 2 with the sun at 20 degrees: 0.57 and 2.9. The table,
# traced with fewer rays there, is noisier too.
MISSES = {"hazy-spans": (0.7, 3.2)}
TABLE = pd.read_csv(REFERENCE, comment="#")
TABLE["total"] = TABLE.straight + TABLE.interreflected


def _rows(name: str) -> tuple[pd.DataFrame, pd.Series]:
    rows = TABLE[TABLE.house == name]
    is_sky = rows.elevation_deg == "uniform"
    beam = rows[~is_sky].astype({"elevation_deg": float, "azimuth_from_ridge_deg": float})
    assert len(beam) == 8 * (7 if HOUSES[name]().symmetric else 12)
    return beam, rows[is_sky].iloc[0]


def _points_off(light: HouseLight, beam: pd.DataFrame, column: str, turned_deg: float = 0.0) -> np.ndarray:
    azimuth = light.ridge_azimuth_deg + turned_deg + beam.azimuth_from_ridge_deg.to_numpy()
    return 100 * (light.beam(90 - beam.elevation_deg.to_numpy(), azimuth) - beam[column].to_numpy())


def test_the_table_holds_every_house():
    assert list(TABLE.house.unique()) == list(HOUSES)


@pytest.mark.parametrize("name", HOUSES)
def test_all_light(name):
    beam, sky = _rows(name)
    light = light_of(HOUSES[name]().house)
    assert 100 * abs(light.diffuse() - sky.total) < 0.5
    high = beam.elevation_deg >= 20
    off = np.abs(_points_off(light, beam[high], "total"))
    mean, worst = MISSES.get(name, (0.4, 2.0))
    assert off.mean() < mean
    assert off.max() < worst
    assert np.abs(_points_off(light, beam[~high], "total")).mean() < 2
    # Under a uniform sky nowhere is brighter than outdoors.
    assert light.diffuse_cells.max() < 1
    # What must not pass: one figure, and the sun read 15 degrees off.
    assert np.abs(100 * (sky.total - beam[high].total)).max() > 4
    assert np.abs(_points_off(light, beam[high], "total", turned_deg=15.0)).max() > 2


@pytest.mark.parametrize("name", HOUSES)
def test_straight_light(name):
    """Exact in the table; the model starts from other points and is read between its suns.

    Solid walls and gutters throw sharp shadows, which the steps of its table blunt: worst 1.1 points
    for two spans with a solid wall, 0.6 else. The reference houses meet the target of 0.05 and 0.3.
    """
    beam, sky = _rows(name)
    light = straight_only(HOUSES[name]().house)
    off = np.abs(_points_off(light, beam, "straight"))
    assert 100 * abs(light.diffuse() - sky.straight) < 0.07
    assert off.mean() < 0.2
    assert off.max() < 1.2


def test_a_block_without_its_neighbours_mirrors_fails():
    """Under three spans what neighbouring roofs mirror and let through counts."""
    beam, sky = _rows("three-spans")
    without = without_neighbours_mirrors(HOUSES["three-spans"]().house)
    high = beam.elevation_deg >= 20
    assert 100 * abs(without.diffuse() - sky.total) > 0.5
    off = np.abs(_points_off(without, beam[high], "total"))
    assert off.mean() > 0.4
    assert off.max() > 2


def test_live():
    """The table's recipe, run anew on the smallest house with few rays; and a house told wrong is seen."""
    pytest.importorskip("pyradiance", reason="the optional ray tracer pyradiance is not installed")
    found = trace(HOUSES["small"](), 2**14)
    _, sky = _rows("small")
    assert found.diffuse == pytest.approx(sky.total, abs=0.003)
    assert light_of(HOUSES["small"]().house).diffuse() == pytest.approx(found.diffuse, abs=0.005)
    assert abs(light_of(HOUSES["knee-walls"]().house).diffuse() - found.diffuse) > 0.01
