"""The clear floor at bench height, cut into cells, and the share of each that a bench's place takes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lightplan.house.shape import Section
from lightplan.house.straight import Points
from lightplan.site.models import Place

Array = NDArray[np.float64]

GRID_ACROSS, GRID_ALONG = 7, 21  # the grid that uniformity is told on: the site file's contract
GRID_A_SPAN = 5  # across each span of a multispan
POINTS_A_CELL = 8  # with 4, edges of shadow put low sun in blocks off by 2.5 points
CELLS_ENOUGH = 21  # a grid coarser than this across is traced three times as fine


@dataclass(frozen=True)
class Floor:
    """Equal cells over the clear floor; (across, along) everywhere. Metres from the left wall, from end-a."""

    across_m: tuple[float, float]
    along_m: tuple[float, float]
    across: int
    along: int
    grid_across: int

    def shares(self, place: Place | None) -> Array:
        """(across, along) share of each cell in a place's area; sums to 1. None is the whole floor.

        Raises ValueError where the place lies off the clear floor.
        """
        if place is None:
            return np.full((self.across, self.along), 1 / (self.across * self.along))
        parts = [
            _overlaps(self.across_m, self.across, place.across_m),
            _overlaps(self.along_m, self.along, place.along_m),
        ]
        if not all(part.sum() > 0 for part in parts):
            raise ValueError(
                f"a bench at {place.across_m} m across and {place.along_m} m along lies off the clear floor, "
                f"{self.across_m} m by {self.along_m} m"
            )
        across, along = (part / part.sum() for part in parts)
        return np.asarray(across[:, None] * along[None, :])

    @property
    def spans(self) -> int:
        return 1 if self.grid_across == GRID_ACROSS else self.grid_across // GRID_A_SPAN

    def points(self, height_m: float) -> Points:
        """Receivers facing up at a height, several in the width of each cell.

        Spans repeat, so points at the same spots of each would all miss an edge of shadow by as much:
        from span to span they move on by a part of their spacing.
        """
        count = self.across * POINTS_A_CELL
        left, right = self.across_m
        span = np.arange(count) * self.spans // count
        x = left + (np.arange(count) + (span + 0.5) / self.spans) / count * (right - left)
        return Points(
            at=np.stack([x, np.full(count, height_m)], axis=1),
            facing=np.tile([0.0, 1.0], (count, 1)),
            pane=np.full(count, -1, dtype=np.int64),
            inside=np.ones(count, dtype=np.bool_),
            place=np.repeat(np.arange(self.across), POINTS_A_CELL),
            places=self.across,
        )

    def grid(self, cells: NDArray[np.float32]) -> NDArray[np.float32]:
        """The cells around the points of the uniformity grid, (…, grid across, along)."""
        fine = self.across // self.grid_across
        return cells[..., fine // 2 :: fine, :]


def _overlaps(whole: tuple[float, float], cells: int, part: tuple[float, float]) -> Array:
    edges = np.linspace(*whole, cells + 1)
    common = np.minimum(edges[1:], part[1]) - np.maximum(edges[:-1], part[0])
    return np.asarray(np.clip(common, 0, None))


def floor_of(section: Section, *, spans: int) -> Floor:
    grid = GRID_ACROSS if spans == 1 else GRID_A_SPAN * spans
    return Floor(
        across_m=section.clear_m,
        along_m=section.clear_along_m,
        across=grid if grid >= CELLS_ENOUGH else 3 * grid,
        along=GRID_ALONG,
        grid_across=grid,
    )
