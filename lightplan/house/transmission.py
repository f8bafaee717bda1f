"""One house's light: for every direction of the sun, the share that reaches each part of the floor.

`house_light` works it out once from geometry and glazing alone; a `HouseLight` answers by sun position.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lightplan.house.along import fates
from lightplan.house.mirrored import mirrored_light
from lightplan.house.nodes import Mirroring, nodes_of
from lightplan.house.places import Floor, floor_of
from lightplan.house.returned import returned_light
from lightplan.house.shape import BENCH_HEIGHT_M, section_of
from lightplan.house.straight import straight_light
from lightplan.house.sun_table import SunTable, heights_rad, joined_sides
from lightplan.house.tent import tent_transmittance
from lightplan.house.traced import traced
from lightplan.site.models import House, Place

__all__ = ["HouseLight", "house_light", "tent_transmittance"]

Array = NDArray[np.float64]
AS_AGREED = Mirroring()


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
        shape; may pass 1 at low sun; 0 with the sun on or below the horizon, where no beam is.
        """
        zenith = np.asarray(zenith_deg, dtype=np.float64)
        from_ridge = np.asarray(azimuth_deg, dtype=np.float64) - self.ridge_azimuth_deg
        found = self.table.at(zenith, from_ridge, self.floor.shares(place))
        return np.where(zenith < 90.0, found, 0.0)

    def diffuse(self, place: Place | None = None) -> float:
        """Share of a uniform sky's light that reaches the floor (or a bench's place), mean over its area."""
        return float((self.diffuse_cells * self.floor.shares(place)).sum())

    def beam_cells(self, zenith_deg: float, azimuth_deg: float) -> Array:
        """(across, along) share of the beam at each cell of the floor, for one position of the sun."""
        return self.table.cells_at(zenith_deg, azimuth_deg - self.ridge_azimuth_deg)


def house_light(
    house: House, height_m: float = BENCH_HEIGHT_M, mirroring: Mirroring = AS_AGREED
) -> HouseLight:
    """Trace a house. Raises ValueError, one sentence, where its geometry or glazing cannot be."""
    section = section_of(house, height_m)
    traced_house, floor = traced(section), floor_of(section, spans=house.spans)
    across = fates(traced_house.ends, traced_house.angles, section)
    heights = heights_rad()
    nodes = nodes_of(section, traced_house.panes, mirroring)
    straight = straight_light(
        traced_house,
        points=floor.points(height_m),
        heights_rad=heights,
        across=across,
        entrance=traced_house.ends.passed,
    )
    caught = mirrored_light(traced_house, floor=floor, nodes=nodes, heights_rad=heights)
    mirrored = caught.floor.settle(across, traced_house.ends.passed).reshape(straight.shape)
    returned = returned_light(
        traced_house,
        floor=floor,
        nodes=nodes,
        caught=caught,
        heights_rad=heights,
        across=across,
        mirroring=mirroring,
    )
    table = joined_sides(traced_house.angles, (straight + mirrored + returned).transpose(0, 2, 1, 3, 4))
    return HouseLight(house.ridge_azimuth_deg, floor, table, table.over_the_dome())
