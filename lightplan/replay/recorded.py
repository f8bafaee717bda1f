"""The forecasts that the sheets of those mornings really had, as the site's records kept them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd

from lightplan.clock import grid_over
from lightplan.house.transmission import HouseLight
from lightplan.light import benches_light
from lightplan.records_issued import IssuedForecast
from lightplan.replay.forecasts import Ahead, Forecast, model_low, persistence
from lightplan.replay.season import Season
from lightplan.sky import make_sky


@dataclass(frozen=True)
class Recorded:
    """forecast : of every morning. missing : those that had none as far as they look; yesterday stood in."""

    forecast: Forecast
    missing: tuple[date, ...]


def recorded(
    season: Season, kept: Mapping[date, IssuedForecast], lights: Mapping[str, HouseLight]
) -> Recorded:
    """kept : by the sheet's date. lights : by id, of every house with lamps.

    The low point of the day itself is its sheet's; further ahead it is no higher than the error model's.
    """
    stand_in = persistence(season)
    zone = season.grid.zone

    def whole(issued: IssuedForecast | None, day: date, days: int) -> bool:
        return issued is not None and _covers(
            issued.table, pd.DatetimeIndex(grid_over(day, days, zone).times)
        )

    asked = ((day, season.looked_ahead(number)) for number, day in enumerate(season.dates))
    missing = tuple(day for day, days in asked if days and not whole(kept.get(day), day, days))

    def of(morning: int, days: int) -> Ahead:
        day = season.grid.dates[morning]
        issued = kept.get(day)
        if issued is None or not whole(issued, day, days):
            return stand_in(morning, days)
        grid = grid_over(day, days, zone)
        sky = make_sky(season.site, issued.table, grid)
        benches = [b.bench for b in season.benches]
        light = benches_light(season.site, benches, sky, grid=grid, lights=lights)
        sun = tuple(light[bench.id].open for bench in benches)
        low = model_low(days)
        return Ahead(sun, np.array([issued.low, *np.minimum(low[1:], issued.low)]))

    return Recorded(of, missing)


def _covers(table: pd.DataFrame, times: pd.DatetimeIndex) -> bool:
    step = table.index[1] - table.index[0]
    light = table["ghi_w_m2"].notna().all() and table["temp_air_c"].notna().all()
    return bool(light and table.index[0] <= times[0] and table.index[-1] + step > times[-1])
