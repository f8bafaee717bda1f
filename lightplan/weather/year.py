"""The weather that a whole year is told from: what is usual, never a forecast."""

from __future__ import annotations

from dataclasses import replace

from lightplan.clock import Grid
from lightplan.site.models import Site, SourceName, WeatherChoice
from lightplan.weather.fetch import weather_for
from lightplan.weather.table import Weather

NAMES_A_YEAR = (SourceName.FILE, SourceName.TYPICAL_YEAR)


def year_weather(site: Site, grid: Grid) -> Weather:
    """Weather over the grid from the site's own typical year or weather file, else a dimmed clear sky.

    Raises WeatherError where a named file can't be read, or holds neither these dates nor a year.
    """
    usual = replace(site, weather=_usual(site.weather))
    return weather_for(usual, grid, needed_until=grid.moment(len(grid)))


def _usual(choice: WeatherChoice) -> WeatherChoice:
    if choice.typical is not None:
        return replace(choice, source=SourceName.TYPICAL_YEAR, file=choice.typical, then=())
    if choice.source in NAMES_A_YEAR:
        return replace(choice, then=())
    return replace(choice, source=SourceName.CLEAR_SKY, then=())
