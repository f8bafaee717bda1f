"""The weather that a year or a season is told from: what is usual or was recorded, never a forecast."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pandas as pd

from lightplan.clock import Grid
from lightplan.site.models import Site, SourceName, WeatherChoice
from lightplan.weather.fetch import weather_for
from lightplan.weather.file import read_weather_csv
from lightplan.weather.table import Weather
from lightplan.weather.typical import (
    FETCHED_NAME,
    LEAST_DAYS,
    SEASON_SO_FAR,
    read_typical_year,
    usual_clearness,
)

MOST_OF_THEM = 0.9  # share of the dates, as 330 days are of a year; judgement
NO_YEAR = "no typical year or year of weather is at hand; a dimmed clear sky stands in"


def year_weather(site: Site, grid: Grid) -> Weather:
    """Weather over the grid from the site's own typical year or weather file, else a dimmed clear sky.

    A file that holds most of these dates is used as it is, one that holds most of a year by month and
    day. Raises WeatherError where a named file can't be read.
    """
    usual = _usual(site, grid.dates)
    end = grid.moment(len(grid))  # looked back at: nothing is still to come
    found = weather_for(replace(site, weather=usual), grid, needed_until=end, now=end)
    if usual.source is SourceName.CLEAR_SKY is not site.weather.source:
        return replace(found, fallback_reason=NO_YEAR)
    return found


def usual_of_dates(site: Site, dates: tuple[date, ...]) -> tuple[tuple[float, ...], ...]:
    """What is usual by each date, of the days before it alone; () where the site has no typical year.

    A replay's sun may be that very year's: the days around a date, as the sheet takes them, would tell it
    what is still to come.
    """
    choice = _usual(site, dates)
    if choice.source is not SourceName.TYPICAL_YEAR or choice.file is None:
        return ()
    year = read_typical_year(choice.file, site.folder)
    return usual_clearness(site, year, dates, SEASON_SO_FAR)


def _usual(site: Site, dates: tuple[date, ...]) -> WeatherChoice:
    choice = replace(site.weather, then=())
    if choice.typical is not None:
        return replace(choice, source=SourceName.TYPICAL_YEAR, file=choice.typical)
    if choice.source is SourceName.TYPICAL_YEAR:
        return choice
    if choice.source is SourceName.FILE and choice.file is not None:
        table = read_weather_csv(site.folder / choice.file)
        there = pd.DatetimeIndex(table["ghi_w_m2"].dropna().index).tz_convert(site.timezone)
        if len(set(there.date) & set(dates)) >= MOST_OF_THEM * len(dates):
            return choice
        if len({(day.month, day.day) for day in there.date}) >= LEAST_DAYS:
            return replace(choice, source=SourceName.TYPICAL_YEAR)
    if (site.folder / FETCHED_NAME).is_file():
        return replace(choice, source=SourceName.TYPICAL_YEAR, file=FETCHED_NAME)
    return replace(choice, source=SourceName.CLEAR_SKY)
