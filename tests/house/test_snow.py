"""Snow on the roof: when it lies, how much light comes through, and by which faces."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from lightplan.house.entering import entering, even_sky
from lightplan.house.shape import section_of
from lightplan.house.snow import snow_leaves
from lightplan.site.glazings import known_glazing
from lightplan.site.models import Shape
from tests.house.houses import house

# so wide that walls and ends let in next to nothing
WIDE = {"width_m": 900.0, "length_m": 900.0, "eave_m": 0.81, "ridge_m": 0.81, "heat_to_c": -40.0}
COLD_FRAME = house(Shape.FLAT, known_glazing("single-poly"), **WIDE)


def shares(of, *, air_c, snow_m, zenith=70.0, azimuth=180.0):
    air, depth = np.broadcast_arrays(np.atleast_1d(air_c).astype(float), np.atleast_1d(snow_m).astype(float))
    steps = np.ones(len(air))
    return snow_leaves(
        of, zenith_deg=zenith * steps, azimuth_deg=azimuth * steps, temp_air_c=air, snow_m=depth
    )


def of_even_sky(of, **given):
    return float(shares(of, **given)[1][0])


def test_ten_centimetres_pass_a_twentieth():
    """Perovich 2007: 10 cm of snow reduced visible transmission to about 5 %."""
    beam, diffuse = shares(COLD_FRAME, air_c=-5.0, snow_m=0.10)
    assert diffuse[0] == pytest.approx(0.05, abs=0.006)
    assert beam[0] == pytest.approx(0.05, abs=0.006)


def test_more_snow_passes_less_and_none_passes_all():
    found = [of_even_sky(COLD_FRAME, air_c=-5.0, snow_m=depth) for depth in (0.0, 0.005, 0.02, 0.05, 0.3)]
    assert found[:2] == [1.0, 1.0]
    assert found[1] > found[2] > found[3] > found[4] > 0


def test_a_heated_house_melts_it_off_unless_it_is_very_cold_or_well_glazed():
    glass = house(pane=known_glazing("single-glass"), heat_to_c=18.0)
    double = house(pane=known_glazing("double-poly"), heat_to_c=18.0)
    assert of_even_sky(glass, air_c=-4.0, snow_m=0.1) == 1.0
    assert of_even_sky(double, air_c=-4.5, snow_m=0.1) < 0.6
    assert of_even_sky(glass, air_c=-15.0, snow_m=0.1) < 0.6


def test_a_thaw_clears_the_roof_until_more_falls():
    air = np.array([-5.0, -5.0, 2.0, -5.0, -5.0, -5.0])
    depth = np.array([0.10, 0.10, 0.09, 0.09, 0.095, 0.12])
    _, diffuse = shares(COLD_FRAME, air_c=air, snow_m=depth)
    assert (diffuse[:2] < 0.1).all()
    assert diffuse[2:5] == pytest.approx([1.0, 1.0, 1.0])
    assert diffuse[5] == pytest.approx(np.exp(-30 * 0.03), abs=0.01)  # the new 3 cm alone


def test_unknown_weather_leaves_the_roof_clear():
    assert of_even_sky(COLD_FRAME, air_c=2.0, snow_m=0.2) == 1.0
    assert of_even_sky(COLD_FRAME, air_c=-5.0, snow_m=np.nan) == 1.0
    assert of_even_sky(COLD_FRAME, air_c=np.nan, snow_m=0.2) == 1.0


def test_slope_sheds_as_the_load_rule_says():
    """Between 5° and 70° along a straight line: half of it stays at 37.5° (ASCE 7, Cs; from memory)."""
    rise = 450.0 * np.tan(np.radians(37.5))
    steep = house(
        pane=known_glazing("single-poly"), **(WIDE | {"ridge_m": 0.81 + rise, "length_m": 90_000.0})
    )
    assert of_even_sky(steep, air_c=-5.0, snow_m=0.04) == pytest.approx(np.exp(-30 * 0.04 * 0.5), abs=0.01)


def test_low_sun_comes_in_under_the_snow_by_walls_and_ends():
    gable = dataclasses.replace(house(pane=known_glazing("single-glass")), heat_to_c=-40.0)
    low = shares(gable, air_c=-9.0, snow_m=0.1, zenith=75.0)[0][0]
    high = shares(gable, air_c=-9.0, snow_m=0.1, zenith=20.0)[0][0]
    assert high < 0.25 < 0.4 < low
    solid = dataclasses.replace(gable, opaque=frozenset({"side-left", "side-right", "end-a", "end-b"}))
    assert shares(solid, air_c=-9.0, snow_m=0.1, zenith=75.0)[0][0] < 0.25
    directions, share = even_sky()
    light = (entering(section_of(gable), directions).light * share).sum(axis=1)
    roof = light[1:3].sum() / light.sum()
    stays = (70 - np.degrees(np.arctan(2.275 / 4.55))) / 65
    expected = roof * np.exp(-3 * stays) + 1 - roof
    assert of_even_sky(gable, air_c=-9.0, snow_m=0.1) == pytest.approx(expected, abs=1e-6)
