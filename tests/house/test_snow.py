"""Snow on the roof: when it lies, and how much light comes through."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from lightplan.house.snow import snow_leaves
from lightplan.site.glazings import known_glazing
from lightplan.site.models import Shape
from tests.house.houses import house

COLD_FRAME = house(Shape.FLAT, known_glazing("single-poly"), eave_m=2.0, ridge_m=2.0, heat_to_c=-40.0)


def leaves(of, *, air_c, snow_m):
    return float(snow_leaves(of, temp_air_c=np.array([air_c]), snow_m=np.array([snow_m]))[0])


def test_ten_centimetres_pass_a_twentieth():
    """Perovich 2007: 10 cm of snow reduced visible transmission to about 5 %."""
    assert leaves(COLD_FRAME, air_c=-5.0, snow_m=0.10) == pytest.approx(0.05, abs=0.005)


def test_more_snow_passes_less_and_none_passes_all():
    found = [leaves(COLD_FRAME, air_c=-5.0, snow_m=depth) for depth in (0.0, 0.005, 0.02, 0.05, 0.3)]
    assert found[:2] == [1.0, 1.0]
    assert found[1] > found[2] > found[3] > found[4] > 0


def test_a_heated_house_melts_it_off_unless_it_is_very_cold_or_well_glazed():
    glass = house(pane=known_glazing("single-glass"), heat_to_c=18.0)
    double = house(pane=known_glazing("double-poly"), heat_to_c=18.0)
    assert leaves(glass, air_c=-4.0, snow_m=0.1) == 1.0
    assert leaves(double, air_c=-4.5, snow_m=0.1) < 0.3
    assert leaves(glass, air_c=-15.0, snow_m=0.1) < 0.3


def test_thaw_and_unknown_weather_leave_the_roof_clear():
    assert leaves(COLD_FRAME, air_c=2.0, snow_m=0.2) == 1.0
    assert leaves(COLD_FRAME, air_c=-5.0, snow_m=np.nan) == 1.0
    assert leaves(COLD_FRAME, air_c=np.nan, snow_m=0.2) == 1.0


def test_a_steep_roof_sheds_more():
    low = dataclasses.replace(house(), heat_to_c=-40.0, ridge_m=3.0)
    steep = dataclasses.replace(low, ridge_m=8.0)
    assert leaves(low, air_c=-5.0, snow_m=0.1) < leaves(steep, air_c=-5.0, snow_m=0.1) < 1.0
