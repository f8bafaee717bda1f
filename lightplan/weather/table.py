"""The one weather table that every source returns, and the one check that every source passes.

Index: start of each interval, UTC, fixed step; values are means over the interval.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from enum import Enum

import numpy as np
import pandas as pd
from numpy.typing import NDArray

# column: unit. The first and temp_air_c must be there; nan = unknown (only ghi and temperature may not be nan)
COLUMNS = {
    "ghi_w_m2": "W/m², global on the horizontal",
    "dni_w_m2": "W/m², direct on a plane facing the sun",
    "dhi_w_m2": "W/m², diffuse on the horizontal",
    "temp_air_c": "°C",
    "wind_m_s": "m/s at 10 m",
    "gust_m_s": "m/s, highest of the interval",
    "cloud_pct": "%, total cover",
    "snow_m": "m, depth on the ground",
}


class Kind(Enum):
    FORECAST = "forecast"
    OBSERVED = "observed"
    TYPICAL_YEAR = "typical-year"
    CLEAR_SKY = "clear-sky"


@dataclass(frozen=True)
class Spread:
    """How far the light of each civil day may lie from the table's, as factors on that day's light.

    low, high : (days,) the 10 and 90 % points.
    sample : (members, days) equally likely factors, the ground for odds.
    """

    dates: tuple[date, ...]
    low: NDArray[np.float64]
    high: NDArray[np.float64]
    sample: NDArray[np.float64]


@dataclass(frozen=True)
class Weather:
    table: pd.DataFrame
    source: str  # as in the site file: "open-meteo", "typical-year", ...
    kind: Kind
    issued_at: datetime | None  # when the service made it; None for a typical year, a file, a clear sky
    attribution: str
    fallback_reason: str | None
    spread: Spread
    usual_dli_mol_m2_d: float | None  # outdoors, mean of this week in the typical year
    notes: tuple[str, ...] = ()  # plain sentences for the sheet about how sure the light is
