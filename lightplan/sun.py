"""Where the sun is, and when it crosses a height: NREL's solar position algorithm through pvlib."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from pvlib import spa
from pvlib.atmosphere import alt2pres

from lightplan.clock import at_local, day_start
from lightplan.site.models import Site

Array = NDArray[np.float64]

SUNRISE_DEG = -0.833  # sun's centre: 34' of refraction and 16' of radius (US Naval Observatory; from memory)
CIVIL_DEG = -6.0  # civil twilight (US Naval Observatory; from memory)
DELTA_T_S = 69.2  # terrestrial less universal time, 2020s; a second of it moves sunrise by a second
REFRACTION_DEG = 0.5667  # at the horizon, as the SPA report sets it (Reda & Andreas 2004)
USUAL_AIR_C = 12.0  # for refraction alone


@dataclass(frozen=True)
class SunTimes:
    """Local instants of one civil day; None where it does not occur (polar day or night)."""

    day: date
    civil_dawn: datetime | None
    sunrise: datetime | None  # sun's centre at −0.833°
    solar_noon: datetime | None
    sunset: datetime | None
    civil_dusk: datetime | None
    day_length_h: float  # 0 in polar night, the whole day in polar day


def position(site: Site, unix_s: Array) -> tuple[Array, Array, Array]:
    """Apparent zenith, true elevation and azimuth from north [degrees] at instants (UTC seconds).

    Reda & Andreas 2004, NREL/TP-560-34302, through pvlib.
    """
    pressure_hpa = float(alt2pres(site.elevation_m)) / 100
    apparent_zenith, _, _, elevation, azimuth, _ = spa.solar_position(
        np.asarray(unix_s, dtype=float),
        site.latitude,
        site.longitude,
        site.elevation_m,
        pressure_hpa,
        USUAL_AIR_C,
        DELTA_T_S,
        REFRACTION_DEG,
    )
    return apparent_zenith, elevation, azimuth


def unix_seconds(times: pd.DatetimeIndex) -> Array:
    return np.asarray((times - pd.Timestamp(0, tz="UTC")) / pd.Timedelta(seconds=1), dtype=float)


SAMPLE_S = 300.0  # a bracket of five minutes; two secant steps within it reach a tenth of a second


def crossings(site: Site, day: date, angle_deg: float) -> tuple[tuple[datetime, bool], ...]:
    """Instants of a civil day at which the sun's centre passes a true height, and whether it rises there."""
    start = day_start(day, site.timezone).timestamp()
    end = day_start(day + timedelta(days=1), site.timezone).timestamp()
    at = np.arange(start, end + SAMPLE_S, SAMPLE_S).clip(max=end)
    height = position(site, at)[1] - angle_deg
    before = np.flatnonzero((height[:-1] < 0) != (height[1:] < 0))
    found = []
    for n in before:
        low, high, f_low, f_high = at[n], at[n + 1], height[n], height[n + 1]
        for _ in range(3):
            middle = low - f_low * (high - low) / (f_high - f_low)
            f_middle = float(position(site, np.array([middle]))[1][0] - angle_deg)
            if (f_middle < 0) == (f_low < 0):
                low, f_low = middle, f_middle
            else:
                high, f_high = middle, f_middle
            if abs(f_middle) < 1e-6:
                break
        moment = datetime.fromtimestamp(round(float(middle)), UTC).astimezone(site.timezone)
        found.append((moment, bool(height[n] < 0)))
    return tuple(found)


def hours_above(site: Site, day: date, angle_deg: float) -> float:
    """Hours of a civil day with the sun's centre above a true height."""
    start, end = day_start(day, site.timezone), day_start(day + timedelta(days=1), site.timezone)
    marks = crossings(site, day, angle_deg)
    above = bool(position(site, np.array([start.timestamp()]))[1][0] >= angle_deg)
    total, since = 0.0, start.timestamp()
    for moment, rises in marks:
        total += 0.0 if rises else moment.timestamp() - since
        above, since = rises, moment.timestamp()
    return (total + (end.timestamp() - since if above else 0.0)) / 3600


def sun_times(site: Site, day: date) -> SunTimes:
    """Rise, noon, set and civil twilight of a civil day."""

    def first(angle_deg: float, rises: bool) -> datetime | None:
        marks = [moment for moment, up in crossings(site, day, angle_deg) if up is rises]
        return (marks[0] if rises else marks[-1]) if marks else None

    return SunTimes(
        day=day,
        civil_dawn=first(CIVIL_DEG, True),
        sunrise=first(SUNRISE_DEG, True),
        solar_noon=solar_noon(site, day),
        sunset=first(SUNRISE_DEG, False),
        civil_dusk=first(CIVIL_DEG, False),
        day_length_h=hours_above(site, day, SUNRISE_DEG),
    )


def solar_noon(site: Site, day: date) -> datetime:
    """The instant of a civil day at which the sun passes the meridian on its upper arc."""
    guess = at_local(day, 720, site.timezone).timestamp()
    for _ in range(3):
        eot_min = float(
            spa.solar_position(
                np.array([guess]),
                site.latitude,
                site.longitude,
                0.0,
                1013.25,
                12.0,
                DELTA_T_S,
                REFRACTION_DEG,
            )[5][0]
        )
        midnight = guess - guess % 86400
        noon = midnight + (720 - 4 * site.longitude - eot_min) * 60
        guess = min(
            (noon - 86400, noon, noon + 86400),
            key=lambda s: abs(s - at_local(day, 720, site.timezone).timestamp()),
        )
    return datetime.fromtimestamp(round(guess), UTC).astimezone(site.timezone)
