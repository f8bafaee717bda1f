"""One house's light: for every direction of the sun, the share that reaches each part of the floor.

`house_light` works it out once from geometry and glazing alone; a `HouseLight` answers by sun position.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lightplan.house.along import ends_of, fates
from lightplan.house.panes import panes_of, ridge_angles
from lightplan.house.places import Floor, floor_of
from lightplan.house.shape import BENCH_HEIGHT_M, section_of
from lightplan.house.straight import straight_light
from lightplan.house.sun_table import SunTable, heights_rad, joined_sides
from lightplan.house.tent import tent_transmittance
from lightplan.site.models import House, Place

__all__ = ["HouseLight", "house_light", "tent_transmittance"]

Array = NDArray[np.float64]


@dataclass(frozen=True)
class HouseLight:
    """Light at bench height over light on the level outdoors: clean geometry and glazing alone.

    table : by sun position and cell of the floor. diffuse_cells : (across, along) under a uniform sky.
    """

    ridge_azimuth_deg: float
    floor: Floor
    table: SunTable
    diffuse_cells: NDArray[np.float32]

    def beam(self, zenith_deg: ArrayLike, azimuth_deg: ArrayLike, place: Place | None = None) -> Array:
        """Share of the beam that reaches the floor (or a bench's place), mean over its area.

        zenith_deg, azimuth_deg : arrays of one shape; azimuth from north, clockwise. Result of that
        shape; may pass 1 at low sun. A sun on or below the horizon counts as one just above it.
        """
        from_ridge = np.asarray(azimuth_deg, dtype=np.float64) - self.ridge_azimuth_deg
        return self.table.at(zenith_deg, from_ridge, self.floor.shares(place))

    def diffuse(self, place: Place | None = None) -> float:
        """Share of a uniform sky's light that reaches the floor (or a bench's place), mean over its area."""
        return float((self.diffuse_cells * self.floor.shares(place)).sum())

    def beam_cells(self, zenith_deg: float, azimuth_deg: float) -> Array:
        """(across, along) share of the beam at each cell of the floor, for one position of the sun."""
        return self.table.cells_at(zenith_deg, azimuth_deg - self.ridge_azimuth_deg)


def house_light(house: House, height_m: float = BENCH_HEIGHT_M) -> HouseLight:
    """Trace a house. Raises ValueError, one sentence, where its geometry or glazing cannot be."""
    section, angles = section_of(house, height_m), ridge_angles()
    floor = floor_of(section, spans=house.spans)
    panes, ends = panes_of(section, angles), ends_of(section, angles)
    across = fates(ends, angles, section)
    heights = heights_rad()
    beam = straight_light(
        section,
        panes,
        points=floor.points(section.height_m),
        heights_rad=heights,
        across=across,
        passed_end=ends.passed,
    )
    table = joined_sides(angles, beam)
    return HouseLight(house.ridge_azimuth_deg, floor, table, table.over_the_dome())
