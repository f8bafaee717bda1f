"""A table by sun position: height in the plane of the cross-section × angle to the ridge."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.ndimage import map_coordinates

from lightplan.house.panes import RidgeAngles

Array = NDArray[np.float64]
Light = NDArray[np.float32]

# Over the half turn from the right horizon to the left. Odd, so that one stands upright: walls start to shade
# on either side of it, and a table that steps over it puts 0.25 points of shade at the zenith.
HEIGHTS = 91


def heights_rad() -> Array:
    """The sun's heights in the plane of the cross-section that are traced, mid-step [rad]."""
    return np.asarray((np.arange(HEIGHTS) + 0.5) / HEIGHTS * np.pi)


@dataclass(frozen=True)
class SunTable:
    """Shares by sun and cell: cells (heights, ridge angles, across, along), kept to half a thousandth.

    ridge_angle_deg : between the sun and the ridge's azimuth, rising, 90 in its middle.
    """

    ridge_angle_deg: Array
    cells: NDArray[np.float16]

    def at(self, zenith_deg: ArrayLike, from_ridge_deg: ArrayLike, shares: Array) -> Array:
        """Mean over cells, weighted by `shares` (across, along), at each position of the sun."""
        means = self.cells.astype(np.float32).reshape(-1, shares.size) @ shares.ravel().astype(np.float32)
        means = means.reshape(self.cells.shape[:2])
        where = self._where(zenith_deg, from_ridge_deg)
        found = map_coordinates(means, where.reshape(2, -1), order=1, mode="nearest")
        return np.asarray(found, dtype=np.float64).reshape(where.shape[1:])

    def sums(
        self, zenith_deg: Array, from_ridge_deg: Array, light: Array, group: NDArray[np.int64], groups: int
    ) -> Array:
        """(groups, across, along): light from many positions of the sun, summed at each cell by group.

        zenith_deg, from_ridge_deg, light, group : (positions,); group : number of each one's sum.
        """
        rows, columns = self.cells.shape[:2]
        row, column = self._where(zenith_deg, from_ridge_deg)
        low_row = np.minimum(row.astype(np.int64), rows - 2)
        low_column = np.minimum(column.astype(np.int64), columns - 2)
        down, across = row - low_row, column - low_column
        at = (group * rows + low_row) * columns + low_column
        weights = np.zeros(groups * rows * columns)
        for step, share in (
            (0, (1 - down) * (1 - across)),
            (1, (1 - down) * across),
            (columns, down * (1 - across)),
            (columns + 1, down * across),
        ):
            weights += np.bincount(at + step, weights=light * share, minlength=len(weights))
        by_group = weights.reshape(groups, -1).astype(np.float32)
        summed = by_group @ self.cells.astype(np.float32).reshape(rows * columns, -1)
        return np.asarray(summed, dtype=np.float64).reshape(groups, *self.cells.shape[2:])

    def cells_at(self, zenith_deg: float, from_ridge_deg: float) -> Array:
        """(across, along) values at one position of the sun."""
        found: Light | NDArray[np.float16] = self.cells
        for where in self._where(zenith_deg, from_ridge_deg):
            low = int(min(where, len(found) - 1.001))
            below, above = found[low].astype(np.float32), found[low + 1].astype(np.float32)
            found = below + (above - below) * np.float32(where - low)
        return np.asarray(found, dtype=np.float64)

    def _where(self, zenith_deg: ArrayLike, from_ridge_deg: ArrayLike) -> Array:
        """(2, …) fractional row and column of positions of the sun, held within the table."""
        zenith, turn = np.radians(zenith_deg), np.radians(from_ridge_deg)
        up, out = np.cos(zenith), np.sin(zenith)
        height = np.arctan2(np.maximum(up, 0.0), out * np.sin(turn))
        ridge_angle = np.degrees(np.arccos(np.clip(out * np.cos(turn), -1, 1)))
        row = np.clip(height / np.pi * HEIGHTS - 0.5, 0, HEIGHTS - 1)
        return np.stack(
            [row, np.interp(ridge_angle, self.ridge_angle_deg, np.arange(len(self.ridge_angle_deg)))]
        )

    def over_the_dome(self) -> Light:
        """(across, along) values under a uniform sky: the same function summed over all directions.

        In these two angles even light has the weight sin(height) · sin²(ridge angle).
        """
        by_height = np.sin(heights_rad())
        by_angle = np.sin(np.radians(self.ridge_angle_deg)) ** 2 * np.gradient(self.ridge_angle_deg)
        weights = by_height[:, None] * by_angle[None, :]
        weights = (weights / weights.sum()).ravel().astype(np.float32)
        by_cell = weights @ self.cells.astype(np.float32).reshape(len(weights), -1)
        return np.asarray(by_cell, dtype=np.float32).reshape(self.cells.shape[2:])


def joined_sides(angles: RidgeAngles, light: Light) -> SunTable:
    """Light from end-a's side and end-b's, (2, heights, angles, …), as one table from ridge to ridge."""
    ridge_angle = np.concatenate([angles.gamma_deg, 180 - angles.gamma_deg[-2::-1]])
    cells = np.concatenate([light[1], light[0][:, -2::-1]], axis=1)
    return SunTable(ridge_angle, cells.astype(np.float16))
