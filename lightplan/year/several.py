"""Light of the other years that a weather file holds: how far a week of this year may lie from another's."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from lightplan.clock import grid_over
from lightplan.house.transmission import HouseLight
from lightplan.light import daily_light_integral
from lightplan.site.models import Site, SourceName
from lightplan.sky import make_sky
from lightplan.weather.file import read_weather_csv
from lightplan.weather.year import MOST_OF_THEM, year_weather
from lightplan.year.light import benches_sun, house_light_year, house_sun
from lightplan.year.stretches import Stretch, same_days

Array = NDArray[np.float64]

MOST_YEARS = 12  # the latest ones: each costs a second; judgement


@dataclass(frozen=True)
class YearsLight:
    """Mean light of each week in each of several years [mol m⁻² d⁻¹], (years, weeks), by house and bench id.

    nan where a year lacks the week.
    """

    years: tuple[int, ...]
    houses: dict[str, Array]
    benches: dict[str, Array]


def years_held(site: Site) -> tuple[int, ...]:
    """Calendar years that the site's own weather file holds almost whole; () for a typical year."""
    choice = site.weather
    if choice.source is not SourceName.FILE or choice.file is None:
        return ()
    table = read_weather_csv(site.folder / choice.file)
    local = pd.DatetimeIndex(table["ghi_w_m2"].dropna().index).tz_convert(site.timezone)
    days = Counter(day.year for day in set(local.date))
    return tuple(sorted(year for year, count in days.items() if count >= MOST_OF_THEM * 365))[-MOST_YEARS:]


def years_light(
    site: Site, years: tuple[int, ...], weeks: tuple[Stretch, ...], lights: Mapping[str, HouseLight]
) -> YearsLight | None:
    """Light of several years, each by its own sky; None for fewer than two."""
    if len(years) < 2:
        return None
    each = [_one(site, year, weeks, lights) for year in years]
    return YearsLight(
        years,
        {house.id: np.array([one[0][house.id] for one in each]) for house in site.houses},
        {bench.id: np.array([one[1][bench.id] for one in each]) for bench in site.benches},
    )


def _one(
    site: Site, year: int, weeks: tuple[Stretch, ...], lights: Mapping[str, HouseLight]
) -> tuple[dict[str, Array], dict[str, Array]]:
    first, end = date(year, 1, 1), date(year + 1, 1, 1)
    grid = grid_over(first, (end - first).days, site.timezone)
    sky = make_sky(site, year_weather(site, grid).table, grid)
    suns = {house.id: house_sun(house, lights[house.id], sky, grid) for house in site.houses}
    days = [same_days(grid.dates, week) for week in weeks]

    def by_week(daily: Array) -> Array:
        return np.array([daily[held].mean() if held else np.nan for held in days])

    return (
        {h.id: by_week(house_light_year(suns[h.id], sky, grid).inside_mol) for h in site.houses},
        {
            name: by_week(daily_light_integral(light.open, grid))
            for name, light in benches_sun(site, suns, sky, grid).items()
        },
    )
