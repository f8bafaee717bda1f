"""What a house loses beside geometry and clean glazing, each factor kept apart."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from lightplan.clock import STEPS_PER_H, Grid
from lightplan.house.bars import bars_leave, bars_leave_of_even_sky
from lightplan.house.condensation import condensation_leaves
from lightplan.house.snow import snow_leaves
from lightplan.site.models import House

Array = NDArray[np.float64]

DAYS_PER_YEAR = 365.25
DIRT_GATHERS_DAYS = 180  # from a wash until the full `dirt_loss` lies on the glazing again; judgement


@dataclass(frozen=True)
class Outdoors:
    """What lies on a house outside, arrays (steps,). temp_air_c, snow_m : nan = unknown. sun_w_m2 : level."""

    zenith_deg: Array
    azimuth_deg: Array
    temp_air_c: Array
    sun_w_m2: Array
    snow_m: Array


@dataclass(frozen=True)
class Losses:
    """Share of light left by each cause, 1 = nothing lost; arrays (steps,) unless said.

    frame, bars_diffuse : one number for all steps. bars_beam, snow_beam : of the beam, by
    the sun's direction.
    """

    frame: float
    bars_beam: Array
    bars_diffuse: float
    dirt: Array
    overhead: Array
    shade: Array
    condensation: Array
    snow_beam: Array
    snow_diffuse: Array
    calibration: Array  # what meter readings put on all of it; 1 = none

    @property
    def beam(self) -> Array:
        """Share of the beam left by all of them together."""
        return self._both * self.bars_beam * self.snow_beam

    @property
    def diffuse(self) -> Array:
        """Share of the diffuse light left by all of them together."""
        return self._both * self.bars_diffuse * self.snow_diffuse

    @property
    def _both(self) -> Array:
        return self.frame * self.dirt * self.overhead * self.shade * self.condensation * self.calibration


def losses_of(house: House, outdoors: Outdoors, grid: Grid) -> Losses:
    """What a house loses at each step of a grid. Whitewash counts at the middle of its range."""

    def daily(share: list[float]) -> Array:
        return np.array(share)[grid.day]

    days = grid.dates
    snow_beam, snow_diffuse = snow_leaves(
        house,
        zenith_deg=outdoors.zenith_deg,
        azimuth_deg=outdoors.azimuth_deg,
        temp_air_c=outdoors.temp_air_c,
        snow_m=outdoors.snow_m,
    )
    return Losses(
        frame=1 - house.frame_loss,
        bars_beam=bars_leave(house, outdoors.zenith_deg, outdoors.azimuth_deg),
        bars_diffuse=bars_leave_of_even_sky(house),
        dirt=daily([1 - house.dirt_loss * gathered(house.washed, day) for day in days]),
        overhead=daily([_overhead(house, day) for day in days]),
        shade=daily([_shade(house, day) for day in days]),
        condensation=condensation_leaves(
            house, temp_air_c=outdoors.temp_air_c, sun_wh_m2=outdoors.sun_w_m2 / STEPS_PER_H, day=grid.day
        ),
        snow_beam=snow_beam,
        snow_diffuse=snow_diffuse,
        calibration=daily([_calibration(house, day) for day in days]),
    )


def _overhead(house: House, day: date) -> float:
    return math.prod(1 - row.loss for row in house.overhead if row.from_date <= day <= row.to_date)


def _shade(house: House, day: date) -> float:
    drawn = (row for row in house.shade if row.from_date <= day <= row.to_date)
    return math.prod(sum(row.cover.transmittance) / 2 for row in drawn)


def gathered(washed: date | None, day: date) -> float:
    """Share of the full dirt that lies on the glazing."""
    if washed is None or day < washed:
        return 1.0
    return min((day - washed).days / DIRT_GATHERS_DAYS, 1.0)


def _calibration(house: House, day: date) -> float:
    """The house's measured factor on a day; its drift is not drawn out past the last calibration."""
    found = house.measured
    if found is None:
        return 1.0
    years = max((min(day, found.until) - found.since).days, 0) / DAYS_PER_YEAR
    still_lies = house.washed is None or house.washed <= min(day, found.until)
    soil = found.soil if still_lies else 0.0
    return math.exp(found.level + found.dirt * gathered(house.washed, day) + found.per_year * years + soil)
