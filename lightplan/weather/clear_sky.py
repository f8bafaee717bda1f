"""The last resort: a clear sky dimmed to what a usual day lets through. Never a silently sunny day."""

from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from pvlib.location import Location
from scipy.stats import norm

from lightplan.clock import day_start
from lightplan.site.models import Site
from lightplan.sun import position, unix_seconds
from lightplan.weather.table import Kind, Spread, Weather, empty_table

# Daily light over clear-sky light where nothing better is known; all four judgement.
USUAL_CLEARNESS = 0.62
DULL_CLEARNESS = 0.25
BRIGHT_CLEARNESS = 1.0
STAND_IN_DULL = 0.45  # so dull may any day be that a stand-in describes: nobody looked at its sky
BRIGHTEST = 1.05  # the Ineichen clear sky reads up to 8 % low (MODEL CHECKS of the project's references)

MEMBERS = 101  # equally likely days that stand for what may come
HOUR = pd.Timedelta(hours=1)
LOOKS = 4  # at the sky within an interval
QUANTILES = (np.arange(MEMBERS) + 0.5) / MEMBERS

NOTE = "no forecast and no typical year at hand: a usual share of clear-sky light is assumed"
NOTE_TEMPERATURE = "air temperature is a rough guess from the latitude and the season"


def clear_sky_ghi(site: Site, times: pd.DatetimeIndex, step: pd.Timedelta = HOUR) -> pd.Series:
    """Clear-sky global light on the horizontal [W/m²] as the mean over each interval that starts at `times`.

    Ineichen & Perez 2002 with pvlib's turbidity climatology, mean of four looks.
    """
    place = Location(site.latitude, site.longitude, altitude=site.elevation_m)
    looks = [times + step * (part + 0.5) / LOOKS for part in range(LOOKS)]
    at = pd.DatetimeIndex(looks[0].append(looks[1:]))
    zenith = position(site, unix_seconds(at))[0]
    sun = pd.DataFrame(
        {"apparent_zenith": zenith, "zenith": zenith, "apparent_elevation": 90 - zenith}, index=at
    )
    ghi = place.get_clearsky(at, model="ineichen", solar_position=sun)["ghi"].to_numpy()
    return pd.Series(ghi.reshape(LOOKS, -1).mean(axis=0), index=times)


def clear_day_sums(site: Site, dates: tuple[date, ...]) -> NDArray[np.float64]:
    """Clear-sky light of civil days [Wh/m²]."""
    start = pd.Timestamp(day_start(dates[0], site.timezone)).tz_convert("UTC")
    hours = pd.date_range(start.floor("h"), periods=25 * len(dates) + 24, freq="h")
    ghi = clear_sky_ghi(site, hours)
    local = pd.Series(hours.tz_convert(site.timezone).date, index=hours)
    sums = ghi.groupby(local).sum()
    return np.array([float(sums.get(day, 0.0)) for day in dates])


def clear_sky_table(site: Site, times: pd.DatetimeIndex) -> pd.DataFrame:
    """Hourly table of a usual day; beam and diffuse are left to be told apart later."""
    table = empty_table(times)
    local = times.tz_convert(site.timezone)
    clearness = np.array([_clearness(site, month) for month in local.month])
    table["ghi_w_m2"] = clear_sky_ghi(site, times).to_numpy() * clearness
    table["temp_air_c"] = usual_temperature_c(site.latitude, local)
    return table


def _clearness(site: Site, month: int) -> float:
    given = site.weather.clearness
    return USUAL_CLEARNESS if given is None else given[month - 1]


def usual_temperature_c(latitude: float, local: pd.DatetimeIndex) -> NDArray[np.float64]:
    """A rough air temperature [°C] by latitude, season and hour (judgement; only where nothing is known)."""
    away = abs(latitude)
    warmest = 200 if latitude >= 0 else 200 - 182.6  # late July north of the equator, late January south
    season = np.cos(2 * np.pi * (local.day_of_year.to_numpy() - warmest) / 365.25)
    hour = np.cos(2 * np.pi * (local.hour.to_numpy() - 15) / 24)
    return np.asarray(30.0 - 0.43 * away + 0.25 * away * season + 4.0 * hour)


def clear_sky_spread(site: Site, dates: tuple[date, ...]) -> Spread:
    """10 and 90 % points at a quarter and the whole of a clear day; the sample follows them evenly."""
    usual = np.array([_clearness(site, day.month) for day in dates])
    low, high = DULL_CLEARNESS / usual, BRIGHT_CLEARNESS / usual
    low, high = np.minimum(low, 1.0), np.maximum(high, 1.0)
    sample = np.array(
        [np.interp(QUANTILES, [0.1, 0.5, 0.9], [lo, 1.0, hi]) for lo, hi in zip(low, high, strict=True)]
    )
    return Spread(dates, low, high, sample.T)


def capped_normal_sample(
    site: Site, dates: tuple[date, ...], day_wh_m2: NDArray[np.float64], sd: float
) -> NDArray[np.float64]:
    """Factors (members, days) of mean 1 and standard deviation `sd`, none brighter than a clear day."""
    most = clear_day_sums(site, dates) * BRIGHTEST / np.maximum(day_wh_m2, 1e-9)
    factors = 1.0 + sd * norm.ppf(QUANTILES)[:, None]
    return np.clip(factors, 0.0, np.maximum(most, 1.0)[None, :])


def clear_sky_weather(site: Site, times: pd.DatetimeIndex, dates: tuple[date, ...]) -> Weather:
    notes = (NOTE_TEMPERATURE,) if site.weather.clearness is not None else (NOTE, NOTE_TEMPERATURE)
    return Weather(
        table=clear_sky_table(site, times),
        source="clear-sky",
        kind=Kind.CLEAR_SKY,
        issued_at=None,
        attribution="Clear-sky model (Ineichen) with a usual share of cloud",
        fallback_reason=None,
        spread=clear_sky_spread(site, dates),
        usual_dli_mol_m2_d=None,
        notes=notes,
    )
