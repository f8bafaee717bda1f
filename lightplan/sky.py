"""Weather table and place → sun position and outdoor photon flux on the working step.

Interface (being built): see `Sky` and `SunTimes`.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

import numpy as np
import pandas as pd
from numpy.typing import NDArray


@dataclass(frozen=True)
class SunTimes:
    """Local instants of one civil day; None where it does not occur (polar day or night)."""

    day: date
    civil_dawn: datetime | None
    sunrise: datetime | None  # sun's centre at −0.833°
    solar_noon: datetime | None
    sunset: datetime | None
    civil_dusk: datetime | None
    day_length_h: float  # 0 in polar night, 24 in polar day


@dataclass(frozen=True)
class Sky:
    """Outdoor light at the site per working step, after the horizon's obstructions.

    Arrays (steps,). `beam_*` is what comes from the sun's direction on a horizontal plane (direct
    plus circumsolar), `diffuse_*` the rest, taken as equally bright all over the dome.
    """

    times: pd.DatetimeIndex  # UTC, start of each step
    zenith_deg: NDArray[np.float64]  # apparent, at mid-step
    azimuth_deg: NDArray[np.float64]  # from north, clockwise
    beam_ppfd_umol_m2_s: NDArray[np.float64]
    diffuse_ppfd_umol_m2_s: NDArray[np.float64]
    beam_w_m2: NDArray[np.float64]
    diffuse_w_m2: NDArray[np.float64]
    clear_ppfd_umol_m2_s: NDArray[np.float64]  # global under a clear sky
    temp_air_c: NDArray[np.float64]
    wind_m_s: NDArray[np.float64]  # nan = unknown
    gust_m_s: NDArray[np.float64]
    snow_m: NDArray[np.float64]

    @property
    def ppfd_umol_m2_s(self) -> NDArray[np.float64]:
        """Outdoor photon flux on the horizontal."""
        return self.beam_ppfd_umol_m2_s + self.diffuse_ppfd_umol_m2_s
