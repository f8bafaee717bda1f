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

from lightplan.problems import InputError

# column: unit. nan = unknown, which only ghi_w_m2 and temp_air_c may not be
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
    # of the days around the first date in the typical year, light over a clear sky's; () without one
    usual_clearness: tuple[float, ...] = ()
    notes: tuple[str, ...] = ()  # plain sentences for the sheet about how sure the light is
    before: pd.DataFrame | None = None  # the source's hours before the first date, for yesterday's score


class WeatherError(InputError):
    """A weather file or its place in the site file is wrong; the sentence says what would do."""


class SourceFault(Exception):
    """A source gave no usable answer; the chain goes on to the next."""


HIGHEST_IRRADIANCE_W_M2 = 1500.0  # above the solar constant 1361 W/m² plus what cloud edges add; judgement
COLDEST_C, HOTTEST_C = (
    -70.0,
    60.0,
)  # lowest and highest air ever measured lie inside (WMO archive; from memory)
LIGHT = ("ghi_w_m2", "dni_w_m2", "dhi_w_m2")


def check_table(table: pd.DataFrame, name: str = "the weather table") -> None:
    """Refuse a table that is not what every step after this one relies on.

    Raises WeatherError with one sentence: what was seen, and which unit or slip it looks like.
    """
    index = table.index
    if not isinstance(index, pd.DatetimeIndex) or str(index.tz) != "UTC":
        raise WeatherError(f"{name} is not indexed by UTC times; give each time its offset.")
    if index.has_duplicates:
        raise WeatherError(
            f"{name} holds {index[index.duplicated()][0]:%Y-%m-%d %H:%M} UTC twice; keep one row."
        )
    if not index.is_monotonic_increasing:
        raise WeatherError(f"{name} is not in time order; sort it by time.")
    steps = pd.Series(index).diff().dropna().unique()
    if len(steps) > 1:
        raise WeatherError(f"{name} has steps of {steps.min()} and {steps.max()}; one fixed step is needed.")
    missing = [column for column in COLUMNS if column not in table]
    if missing:
        raise WeatherError(f"{name} lacks the columns {', '.join(missing)}.")
    for column in LIGHT:
        _check_light(table[column], f"{name}: {column}")
    _check_temperature(table["temp_air_c"], f"{name}: temp_air_c")


def _check_light(light: pd.Series, name: str) -> None:
    highest, lowest = light.max(), light.min()
    if highest > HIGHEST_IRRADIANCE_W_M2:
        looks = "lux" if highest > 3000 else "µmol m⁻² s⁻¹"
        raise WeatherError(f"{name} reaches {highest:g}, which looks like {looks}; give W/m².")
    if lowest < 0:
        raise WeatherError(f"{name} goes down to {lowest:g}; light can't be negative.")


def _check_temperature(air: pd.Series, name: str) -> None:
    highest, lowest = air.max(), air.min()
    if lowest > 150:
        raise WeatherError(
            f"{name} lies between {lowest:g} and {highest:g}, which looks like kelvin; give °C."
        )
    if highest > HOTTEST_C:
        raise WeatherError(f"{name} reaches {highest:g}, which looks like °F; give °C.")
    if lowest < COLDEST_C:
        raise WeatherError(
            f"{name} goes down to {lowest:g} °C, colder than any air; leave unknown values empty."
        )


def empty_table(index: pd.DatetimeIndex) -> pd.DataFrame:
    """A table of unknowns on an index of interval starts."""
    return pd.DataFrame(np.nan, index=index, columns=list(COLUMNS))
