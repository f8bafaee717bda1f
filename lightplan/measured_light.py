"""What a light reading is held against: the sun at that moment, and what the model says passes then."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from lightplan.clock import STEP, Grid, grid_over
from lightplan.house.losses import losses_of
from lightplan.house.transmission import HouseLight
from lightplan.light import bench_light, outdoors_of
from lightplan.site.models import Bench, House, Site
from lightplan.sky import Sky, make_sky
from lightplan.sun import position, unix_seconds
from lightplan.weather.clear_sky import clear_sky_ghi
from lightplan.weather.table import empty_table

Array = NDArray[np.float64]

DRY_C = 15.0  # readings count as taken on dry glazing: warm enough that no drops are reckoned
CLOUDIEST, BRIGHTEST = 0.03, 1.25  # of a clear sky's light


@dataclass(frozen=True)
class Held:
    """A moment's sky at a place. share : of the outdoor light that reaches it by the model, uncalibrated."""

    clear_umol: float
    share: float

    @property
    def expected_umol(self) -> float:
        return self.clear_umol * self.share


def sun_deg(site: Site, at: datetime) -> float:
    """True height of the sun's centre [degrees]."""
    _, elevation, _ = position(site, unix_seconds(pd.DatetimeIndex([pd.Timestamp(at.astimezone(UTC))])))
    return float(elevation[0])


def held_against(
    site: Site,
    *,
    house: House,
    bench: Bench | None,
    at: datetime,
    outside_umol: float | None,
    lights: Mapping[str, HouseLight],
    tent_open: bool = False,
) -> Held:
    """The model's share at a moment, under a sky as bright as was read outside (None: clear).

    Glazing dry and without snow, dirt as the site file reckons it.
    """
    grid = grid_over(at.astimezone(site.timezone).date(), 1, site.timezone)
    step = _step(grid, at)
    clear = _sky(site, grid.dates[0], 1.0)
    clear_umol = float(clear.ppfd_umol_m2_s[step])
    k = 1.0
    sky = clear
    if outside_umol is not None and clear_umol > 0:
        k = round(float(np.clip(outside_umol / clear_umol, CLOUDIEST, BRIGHTEST)), 2)
        sky = _sky(site, grid.dates[0], k)
    share = shares(site, sky, grid=grid, house=house, bench=bench, lights=lights, tent_open=tent_open)
    return Held(clear_umol, float(share[step]))


def shares(
    site: Site,
    sky: Sky,
    *,
    grid: Grid,
    house: House,
    bench: Bench | None,
    lights: Mapping[str, HouseLight],
    tent_open: bool = False,
) -> Array:
    """Share of the outdoor light at a bench, or over the house's floor, (steps,); 0 in the dark."""
    losses = losses_of(house, outdoors_of(sky), grid)
    light = lights[house.id]
    if bench is None:
        inside = sky.beam_ppfd_umol_m2_s * light.beam(sky.zenith_deg, sky.azimuth_deg) * losses.beam
        inside = inside + sky.diffuse_ppfd_umol_m2_s * light.diffuse() * losses.diffuse
    else:
        found = bench_light(bench, sky, grid=grid, house_light=light, losses=losses)
        inside = found.untented if tent_open else found.open
    outside = sky.ppfd_umol_m2_s
    return np.asarray(np.divide(inside, outside, out=np.zeros_like(inside), where=outside > 0))


def _step(grid: Grid, at: datetime) -> int:
    floor = pd.Timestamp(at.astimezone(UTC)).floor(STEP)
    return min(int(grid.times.searchsorted(floor)), len(grid) - 1)


def _sky(site: Site, day: date, k: float) -> Sky:
    return _kept_sky(_Key(site), day, k)


class _Key:
    """A site as a key of what is kept: frozen, but it holds a dict and can't be hashed itself."""

    def __init__(self, site: Site) -> None:
        self.site = site
        self._name = (site.latitude, site.longitude, site.elevation_m, site.timezone.key, site.horizon)

    def __hash__(self) -> int:
        return hash(self._name)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Key) and self._name == other._name


@lru_cache(maxsize=256)
def _kept_sky(key: _Key, day: date, k: float) -> Sky:
    """One civil day under k times a clear sky, the rest of the light worked out as for any weather."""
    site = key.site
    grid = grid_over(day, 1, site.timezone)
    start = pd.Timestamp(grid.times[0]).floor("h")
    end = (pd.Timestamp(grid.times[-1]) + timedelta(minutes=15)).ceil("h")
    hours = pd.date_range(start, end, freq="h", inclusive="left")
    table = empty_table(hours)
    table["ghi_w_m2"] = clear_sky_ghi(site, hours) * k
    table["temp_air_c"] = DRY_C
    table["snow_m"] = 0.0
    return make_sky(site, table, grid)
