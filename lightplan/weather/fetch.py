"""Choose where the weather comes from, fill what it lacks from the next in the chain, and say so."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta

import pandas as pd

from lightplan.clock import Grid
from lightplan.site.models import Site, SourceName
from lightplan.weather.clear_sky import clear_sky_weather
from lightplan.weather.file import file_weather, known, read_weather_csv
from lightplan.weather.table import Weather, WeatherError, check_table
from lightplan.weather.typical import LEAST_DAYS, TypicalYear, read_typical_year, typical_weather

HOUR = pd.Timedelta(hours=1)
SERVICES = (SourceName.OPEN_METEO, SourceName.NWS, SourceName.MET_NORWAY)


@dataclass(frozen=True)
class Span:
    """What is asked: the dates of the grid as UTC hours, and the part that the sheet can't do without."""

    times: pd.DatetimeIndex
    dates: tuple[date, ...]
    needed_until: datetime


def weather_for(site: Site, grid: Grid, *, needed_until: datetime) -> Weather:
    """Weather over the whole grid on a fixed step of an hour or finer.

    needed_until : end of the time that orders rest on; only gaps before it count as a fallback.
    Raises WeatherError when a configured file is wrong or covers none of the needed time.
    """
    start = pd.Timestamp(grid.times[0]).floor("h")
    end = pd.Timestamp(grid.moment(len(grid)).astimezone(UTC)).ceil("h")
    span = Span(pd.date_range(start, end, freq=HOUR, inclusive="left"), grid.dates, needed_until)
    typical = _typical_year(site)
    found = next(chain := _chain(site, span, typical))
    if typical is not None and found.usual_dli_mol_m2_d is None:
        found = replace(found, usual_dli_mol_m2_d=typical.usual_dli(grid.dates[0]))
    for stand_in in chain:
        if known(found.table).all():
            break
        found = _filled(found, stand_in, span, site)
    check_table(found.table)
    return found


def _typical_year(site: Site) -> TypicalYear | None:
    choice = site.weather
    if choice.source is SourceName.TYPICAL_YEAR and choice.file is not None:
        return read_typical_year(choice.file, site.folder)
    return None if choice.typical is None else read_typical_year(choice.typical, site.folder)


def _chain(site: Site, span: Span, typical: TypicalYear | None) -> Iterator[Weather]:
    """Sources in the order they are asked; the last always answers."""
    source, said = site.weather.source, None
    if source is SourceName.FILE:
        yield _from_file(site, span)
    elif source in SERVICES:
        said = f"this version asks no weather service, so {source.value} was not asked"
    if typical is not None:
        yield replace(
            typical_weather(site, typical, span.times, span.dates),
            fallback_reason=_instead(said, "the typical year"),
        )
    elif source is SourceName.TYPICAL_YEAR:
        raise WeatherError(
            'site.toml: weather: source is "typical-year" but no file is named; give file = "...".'
        )
    clear = clear_sky_weather(site, span.times, span.dates)
    yield replace(clear, fallback_reason=_instead(said, "a dimmed clear sky"))


def _instead(said: str | None, what: str) -> str | None:
    return None if said is None else f"{said}; {what} stands in"


def _from_file(site: Site, span: Span) -> Weather:
    """The file's own dates where it has them, else its month and day where it holds a year."""
    name = site.weather.file
    if name is None:
        raise WeatherError('site.toml: weather: source is "file" but no file is named; give file = "...".')
    table = read_weather_csv(site.folder / name)
    there = known(table)
    needed = (table.index >= span.times[0]) & (table.index < pd.Timestamp(span.needed_until.astimezone(UTC)))
    if (there & needed).any():
        return file_weather(name, table, _times_on(table, span), span.dates)
    days = TypicalYear(name, table[there], 0.0).days
    if days >= LEAST_DAYS:
        year = TypicalYear(name, table, 0.0)
        return replace(
            typical_weather(site, year, span.times, span.dates),
            source="file",
            attribution=f"Weather file {name}",
        )
    raise WeatherError(
        f"{name} holds {table.index[0]:%Y-%m-%d} to {table.index[-1]:%Y-%m-%d}, none of the time from "
        f"{span.times[0]:%Y-%m-%d %H:%M} to {span.needed_until.astimezone(UTC):%Y-%m-%d %H:%M} UTC; "
        "give a file with these dates."
    )


def _times_on(table: pd.DataFrame, span: Span) -> pd.DatetimeIndex:
    """The asked time on the file's own step."""
    step = pd.Timedelta(table.index[1] - table.index[0])
    return pd.date_range(span.times[0], span.times[-1] + HOUR, freq=step, inclusive="left")


def _filled(found: Weather, stand_in: Weather, span: Span, site: Site) -> Weather:
    """The gaps of one answer filled from the next; rows are filled whole, so light and its parts agree."""
    gaps = ~known(found.table)
    spare = stand_in.table.reindex(found.table.index, method="ffill")
    table = found.table.where(~gaps, spare)
    needed = gaps & (found.table.index < pd.Timestamp(span.needed_until.astimezone(UTC)))
    reason = found.fallback_reason
    if needed.any():
        said = f"{_stretches(needed, site)} missing in {found.attribution}; {stand_in.attribution} stands in"
        reason = said if reason is None else f"{reason}; {said}"
    spread = found.spread
    for number, day in enumerate(span.dates):  # a day that is mostly made up takes the stand-in's band
        of_day = pd.DatetimeIndex(gaps.index).tz_convert(site.timezone).date == day
        if gaps[of_day].mean() > 0.5:
            spread = replace(spread, low=spread.low.copy(), high=spread.high.copy())
            spread.low[number], spread.high[number] = (
                stand_in.spread.low[number],
                stand_in.spread.high[number],
            )
    return replace(found, table=table, fallback_reason=reason, spread=spread)


def _stretches(needed: pd.Series, site: Site) -> str:
    """Which hours, in the site's time: "2026-04-21 09:00–12:00"."""
    local = pd.DatetimeIndex(needed.index[needed]).tz_convert(site.timezone)
    step = pd.Timedelta(needed.index[1] - needed.index[0])
    runs: list[tuple[pd.Timestamp, pd.Timestamp]] = []
    for moment in local:
        if runs and moment == runs[-1][1]:
            runs[-1] = (runs[-1][0], moment + step)
        else:
            runs.append((moment, moment + step))
    words = [
        f"{a:%Y-%m-%d %H:%M} to {b:%H:%M}"
        if b - a <= timedelta(days=1)
        else f"{a:%Y-%m-%d %H:%M} to {b:%Y-%m-%d %H:%M}"
        for a, b in runs
    ]
    return ", ".join(words[:3]) + (f" and {len(words) - 3} more stretches" if len(words) > 3 else "")
