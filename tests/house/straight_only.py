"""The model's straight rays alone, as the reference houses tabulate them."""

from __future__ import annotations

import dataclasses

import numpy as np

from lightplan.house.along import fates
from lightplan.house.places import floor_of
from lightplan.house.shape import BENCH_HEIGHT_M, section_of
from lightplan.house.straight import straight_light
from lightplan.house.sun_table import heights_rad, joined_sides
from lightplan.house.traced import traced
from lightplan.house.transmission import HouseLight
from lightplan.site.models import House


def straight_only(which: House) -> HouseLight:
    """Nothing mirrored by the ends, nothing scattered or returned."""
    section = section_of(which, BENCH_HEIGHT_M)
    house_traced, floor = traced(section), floor_of(section, spans=which.spans)
    ends = dataclasses.replace(house_traced.ends, mirrored=np.zeros_like(house_traced.ends.mirrored))
    light = straight_light(
        dataclasses.replace(house_traced, ends=ends),
        points=floor.points(BENCH_HEIGHT_M),
        heights_rad=heights_rad(),
        across=fates(ends, house_traced.angles, section),
        entrance=ends.passed,
    )
    table = joined_sides(house_traced.angles, light.transpose(0, 2, 1, 3, 4))
    return HouseLight(which.ridge_azimuth_deg, floor, table, table.over_the_dome())
