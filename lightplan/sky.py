"""Weather table and place → sun position and outdoor photon flux on the working step."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from pvlib import irradiance
from pvlib.atmosphere import alt2pres
from pvlib.location import Location

from lightplan.clock import STEP, Grid
from lightplan.par import photons_per_joule
from lightplan.refine import spread_over_steps
from lightplan.site.models import Site
from lightplan.sun import SunTimes, position, unix_seconds

__all__ = ["Sky", "SunTimes", "make_sky"]

Array = NDArray[np.float64]

LOWEST_SUN_DEG = 87.0  # zenith past which beam and diffuse can't be told apart; all is taken as diffuse


@dataclass(frozen=True)
class Sky:
    """Outdoor light at the site per working step, after the horizon's obstructions.

    Arrays (steps,). `beam_*` is what comes from the sun's direction on a horizontal plane (direct
    plus circumsolar), `diffuse_*` the rest, taken as equally bright all over the dome.
    """

    times: pd.DatetimeIndex  # UTC, start of each step
    zenith_deg: Array  # apparent, at mid-step
    elevation_deg: Array  # true (without refraction), at mid-step
    azimuth_deg: Array  # from north, clockwise
    beam_ppfd_umol_m2_s: Array
    diffuse_ppfd_umol_m2_s: Array
    beam_w_m2: Array
    diffuse_w_m2: Array
    clear_ppfd_umol_m2_s: Array  # global under a clear sky
    temp_air_c: Array
    wind_m_s: Array  # nan = unknown
    gust_m_s: Array
    snow_m: Array

    @property
    def ppfd_umol_m2_s(self) -> Array:
        """Outdoor photon flux on the horizontal."""
        return self.beam_ppfd_umol_m2_s + self.diffuse_ppfd_umol_m2_s


def make_sky(site: Site, table: pd.DataFrame, grid: Grid) -> Sky:
    """Sun and light on the grid's steps from a checked weather table of steps of 15, 30 or 60 min.

    Hourly light is refined through the clear-sky index, energy kept; beam comes from the source where
    it gives it, else from dirint (Perez et al. 1992), else Erbs et al. 1982; circumsolar light goes to
    the beam by Hay & Davies 1980.
    """
    step = pd.Timedelta(table.index[1] - table.index[0])
    parts = step // STEP
    steps = pd.date_range(table.index[0], table.index[-1] + step, freq=STEP, inclusive="left")
    middle = steps + STEP / 2
    zenith, elevation, azimuth = position(site, unix_seconds(middle))
    cos_zenith = np.clip(np.cos(np.radians(zenith)), 0.0, None)
    extra_normal = np.asarray(irradiance.get_extra_radiation(middle), dtype=float)
    top = extra_normal * cos_zenith
    clear = _clear_sky(site, middle, zenith)

    means = table["ghi_w_m2"].to_numpy(dtype=float)
    ghi = spread_over_steps(means, clear, top)
    share = np.repeat(_diffuse_share(site, table), parts)
    dhi = ghi * share
    beam_flat = ghi - dhi
    low_sun = zenith > LOWEST_SUN_DEG
    dhi = np.where(low_sun, ghi, dhi)
    beam_flat = np.where(low_sun, 0.0, beam_flat)
    with np.errstate(divide="ignore", invalid="ignore"):
        anisotropy = np.where(
            low_sun, 0.0, np.clip(beam_flat / top, 0.0, 1.0)
        )  # Hay & Davies: beam over top of air
    circumsolar = dhi * anisotropy
    beam_flat, dhi = beam_flat + circumsolar, dhi - circumsolar

    beam_flat = np.where(90.0 - zenith > obstruction_deg(site, azimuth), beam_flat, 0.0)
    dhi = dhi * open_sky_share(site)
    with np.errstate(divide="ignore", invalid="ignore"):
        clearness = np.where(top > 0, ghi / top, 0.0)
        clear_clearness = np.where(top > 0, clear / top, 0.0)
    photons = photons_per_joule(clearness, zenith)
    at = np.asarray(steps.get_indexer(grid.times))

    def on_grid(values: Array) -> Array:
        return np.asarray(values[at], dtype=float)

    def held(column: str) -> Array:
        return on_grid(np.repeat(table[column].to_numpy(dtype=float), parts))

    return Sky(
        times=grid.times,
        zenith_deg=on_grid(zenith),
        elevation_deg=on_grid(elevation),
        azimuth_deg=on_grid(azimuth),
        beam_ppfd_umol_m2_s=on_grid(beam_flat * photons),
        diffuse_ppfd_umol_m2_s=on_grid(dhi * photons),
        beam_w_m2=on_grid(beam_flat),
        diffuse_w_m2=on_grid(dhi),
        clear_ppfd_umol_m2_s=on_grid(clear * photons_per_joule(clear_clearness, zenith)),
        temp_air_c=_between_middles(table["temp_air_c"], middle, at),
        wind_m_s=held("wind_m_s"),
        gust_m_s=held("gust_m_s"),
        snow_m=held("snow_m"),
    )


def _clear_sky(site: Site, middle: pd.DatetimeIndex, zenith: Array) -> Array:
    place = Location(site.latitude, site.longitude, altitude=site.elevation_m)
    position_table = pd.DataFrame(
        {"apparent_zenith": zenith, "zenith": zenith, "apparent_elevation": 90 - zenith}, index=middle
    )
    return np.asarray(
        place.get_clearsky(middle, model="ineichen", solar_position=position_table)["ghi"], dtype=float
    )


def _diffuse_share(site: Site, table: pd.DataFrame) -> Array:
    """Diffuse over global light of every source interval."""
    middle = pd.DatetimeIndex(table.index) + (table.index[1] - table.index[0]) / 2
    zenith = position(site, unix_seconds(middle))[0]
    ghi = table["ghi_w_m2"].to_numpy(dtype=float)
    given = table["dhi_w_m2"].to_numpy(dtype=float)
    from_beam = ghi - table["dni_w_m2"].to_numpy(dtype=float) * np.clip(np.cos(np.radians(zenith)), 0, None)
    diffuse = np.where(np.isfinite(given), given, from_beam)
    if not np.isfinite(diffuse).all():
        diffuse = np.where(np.isfinite(diffuse), diffuse, _modelled_diffuse(site, ghi, zenith, middle))
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.where(ghi > 0, diffuse / ghi, 1.0)
    return np.asarray(np.clip(np.nan_to_num(share, nan=1.0), 0.0, 1.0))


def _modelled_diffuse(site: Site, ghi: Array, zenith: Array, middle: pd.DatetimeIndex) -> Array:
    pressure = np.full(len(middle), float(alt2pres(site.elevation_m)))
    dni = np.asarray(
        irradiance.dirint(
            pd.Series(ghi, index=middle), pd.Series(zenith, index=middle), middle, pressure=pressure
        ),
        dtype=float,
    )
    by_dirint = ghi - dni * np.clip(np.cos(np.radians(zenith)), 0, None)
    by_erbs = np.asarray(irradiance.erbs(ghi, zenith, middle)["dhi"], dtype=float)
    return np.where(np.isfinite(by_dirint), by_dirint, by_erbs)


def _between_middles(air: pd.Series, middle: pd.DatetimeIndex, at: NDArray[np.intp]) -> Array:
    """Air temperature per step, drawn straight between the middles of the source's intervals."""
    half = (air.index[1] - air.index[0]) / 2
    known_at = unix_seconds(pd.DatetimeIndex(air.index) + half)
    return np.asarray(np.interp(unix_seconds(middle)[at], known_at, air.to_numpy(dtype=float)))


def obstruction_deg(site: Site, azimuth_deg: Array) -> Array:
    """Height of what stands on the horizon in a direction, straight between the points given [degrees]."""
    if not site.horizon:
        return np.full_like(azimuth_deg, -90.0)
    azimuths, heights = zip(*site.horizon, strict=True)
    return np.asarray(np.interp(azimuth_deg, azimuths, heights, period=360.0))


def open_sky_share(site: Site) -> float:
    """Share of a uniform sky's light on the horizontal that the horizon leaves: mean cos² of its height."""
    if not site.horizon:
        return 1.0
    heights = np.clip(obstruction_deg(site, np.arange(0.0, 360.0, 1.0)), 0.0, 90.0)
    return float(np.mean(np.cos(np.radians(heights)) ** 2))
