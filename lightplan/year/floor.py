"""Light over a house's floor in plan: a month's light cell by cell, its darkest and brightest strips."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lightplan.clock import STEP_S, Grid
from lightplan.sky import Sky
from lightplan.year.light import HouseSun
from lightplan.year.stretches import Stretch

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Strip:
    """A lengthwise strip of the floor: from where to where across [m from the left wall], its light."""

    across_m: tuple[float, float]
    mol: float


@dataclass(frozen=True)
class FloorMonth:
    """cells : (across, along) mean light of the month's days [mol m⁻² d⁻¹], from the left wall and end-a.

    across_m, along_m : from where to where the clear floor lies.
    """

    cells: Array
    across_m: tuple[float, float]
    along_m: tuple[float, float]

    @property
    def min_over_mean(self) -> float | None:
        mean = float(self.cells.mean())
        return float(self.cells.min()) / mean if mean > 0 else None

    def strips(self) -> tuple[Strip, ...]:
        """Lengthwise strips from the left wall on, as wide as a cell."""
        edges = np.linspace(*self.across_m, len(self.cells) + 1)
        light = self.cells.mean(axis=1)
        return tuple(
            Strip((float(a), float(b)), float(mol))
            for a, b, mol in zip(edges[:-1], edges[1:], light, strict=True)
        )

    @property
    def darkest(self) -> Strip:
        return min(self.strips(), key=lambda strip: strip.mol)

    @property
    def brightest(self) -> Strip:
        return max(self.strips(), key=lambda strip: strip.mol)


def floor_months(sun: HouseSun, sky: Sky, grid: Grid, months: tuple[Stretch, ...]) -> tuple[FloorMonth, ...]:
    """Every month's light cell by cell; the cells' mean is the house's inside light of the month."""
    bright = np.flatnonzero(sky.beam_ppfd_umol_m2_s > 0)
    beam = (sky.beam_ppfd_umol_m2_s * sun.losses.beam)[bright] * STEP_S / 1e6
    even = sky.diffuse_ppfd_umol_m2_s * sun.losses.diffuse * STEP_S / 1e6
    month = _month_of_days(months)[grid.day]
    from_ridge = sky.azimuth_deg[bright] - sun.light.ridge_azimuth_deg
    sums = sun.light.table.sums(sky.zenith_deg[bright], from_ridge, beam, month[bright], len(months))
    spread = np.bincount(month, weights=even, minlength=len(months))
    floor = sun.light.floor
    return tuple(
        FloorMonth(
            (sums[n] + spread[n] * sun.light.diffuse_cells) / len(stretch), floor.across_m, floor.along_m
        )
        for n, stretch in enumerate(months)
    )


def _month_of_days(months: tuple[Stretch, ...]) -> NDArray[np.int64]:
    return np.repeat(np.arange(len(months)), [len(month) for month in months])
