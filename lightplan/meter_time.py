"""When the meter tells most: the clearest, highest half hour of the day while somebody is there."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np

from lightplan.clock import Grid, Window, at_local
from lightplan.dayplan import MeterTime
from lightplan.site.models import House, Site
from lightplan.sky import Sky
from lightplan.weather.table import Kind, Weather

# All judgement: what makes a pair of readings worth the walk
CLEAR, BEAM, SURE = 0.85, 0.6, 0.75  # of the clear sky; of all light; the 10 % point of the day
LOWEST_DEG, OF_HIGHEST = 12.0, 0.8  # height of the sun; of its highest that day
AGAIN_DAYS = 28  # a calibration older than this is worth another look


def meter_time(
    site: Site, sky: Sky, *, grid: Grid, window: Window | None, weather: Weather
) -> MeterTime | None:
    """None where no house needs a reading, or the day gives no steady sun while somebody is there."""
    house = _house(site, grid.dates[0])
    crew = site.crew_on(grid.dates[0])
    looked_at = weather.kind in (Kind.FORECAST, Kind.OBSERVED)
    if house is None or window is None or crew is None or not looked_at or weather.spread.low[0] < SURE:
        return None
    today = grid.day == 0
    light, clear = sky.ppfd_umol_m2_s, sky.clear_ppfd_umol_m2_s
    with np.errstate(divide="ignore", invalid="ignore"):
        good = (light >= CLEAR * clear) & (sky.beam_ppfd_umol_m2_s >= BEAM * light) & (clear > 0)
    high = max(LOWEST_DEG, OF_HIGHEST * float(sky.elevation_deg[today].max()))
    good &= today & (sky.elevation_deg >= high)
    begin = grid.index(window.start)
    end = grid.index(at_local(grid.dates[0], crew[1], site.timezone))
    # the half hour and a quarter on either side of it: a cloud may come early
    steady = [n for n in range(max(begin, 1), min(end, len(grid)) - 2) if good[n - 1 : n + 3].all()]
    if not steady:
        return None
    best = max(steady, key=lambda n: sky.elevation_deg[n : n + 2].sum())
    return MeterTime(grid.moment(best), grid.moment(best + 2), house)


def _house(site: Site, day: date) -> House | None:
    """The house that has waited longest: one with benches, never read or not for some weeks."""
    asked = [
        (house.measured.until if house.measured else date.min, n)
        for n, house in enumerate(site.houses)
        if any(b.house == house.id for b in site.benches)
    ]
    since, n = min(asked, default=(date.max, 0))
    fresh = since > date.min and day - since < timedelta(days=AGAIN_DAYS)
    return None if fresh or not asked else site.houses[n]
