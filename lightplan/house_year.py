"""One house's light through a year: month by month, what comes in of what falls outside."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lightplan.clock import Grid
from lightplan.house.losses import losses_of
from lightplan.house.transmission import HouseLight
from lightplan.light import daily_light_integral, outdoors_of
from lightplan.site.models import House
from lightplan.sky import Sky

Array = NDArray[np.float64]

MONTHS = range(1, 13)


@dataclass(frozen=True)
class HouseMonth:
    """Mean DLI of a month's days [mol m⁻² d⁻¹], outdoors and over the house's whole clear floor.

    low, high : the 10 and 90 % points of the days inside, of likely days under a dimmed clear sky.
    All None for a month the grid does not hold.
    """

    month: int
    outdoor_dli: float | None
    inside_dli: float | None
    low: float | None
    high: float | None


def house_year(
    house: House, light: HouseLight, sky: Sky, *, grid: Grid, sample: Array | None = None
) -> tuple[HouseMonth, ...]:
    """Twelve months of a house as it stands, all its losses counted, nothing drawn over benches.

    sample : (members, days) likely factors on each day's light, for a sky whose days do not differ by cloud.
    """
    losses = losses_of(house, outdoors_of(sky), grid)
    beam = sky.beam_ppfd_umol_m2_s * light.beam(sky.zenith_deg, sky.azimuth_deg) * losses.beam
    diffuse = sky.diffuse_ppfd_umol_m2_s * light.diffuse() * losses.diffuse
    inside = daily_light_integral(beam + diffuse, grid)
    return house_months(inside, daily_light_integral(sky.ppfd_umol_m2_s, grid), grid=grid, sample=sample)


def house_months(
    inside: Array, outdoors: Array, *, grid: Grid, sample: Array | None = None
) -> tuple[HouseMonth, ...]:
    """The same from each day's light inside and outdoors [mol m⁻² d⁻¹], (days,)."""
    month_of = np.array([day.month for day in grid.dates])
    found = []
    for month in MONTHS:
        days = month_of == month
        if not days.any():
            found.append(HouseMonth(month, None, None, None, None))
            continue
        likely = inside[days] if sample is None else (inside * sample)[:, days]
        low, high = np.quantile(likely, [0.1, 0.9])
        found.append(
            HouseMonth(
                month, float(outdoors[days].mean()), float(inside[days].mean()), float(low), float(high)
            )
        )
    return tuple(found)
