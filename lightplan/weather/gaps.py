"""Hours that one source lacks, taken from the next; and hours that need no source, because it is night."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from lightplan.site.models import Site
from lightplan.sun import position, unix_seconds
from lightplan.weather.answer import Asked
from lightplan.weather.bands import mixed
from lightplan.weather.steps import on_step
from lightplan.weather.table import LIGHT, Kind, Weather

TEMPERATURE = "temp_air_c"
HELD_H = (
    12  # a temperature holds so long back over hours already past; only the past day's figures rest on it
)
DRAWN_H = 3  # a line is drawn across so many hours without temperature


def dark_hours_known(table: pd.DataFrame, site: Site, asked: Asked) -> pd.DataFrame:
    """Light of unknown hours set to nothing where the sun is down all through; short gaps of air temperature
    drawn through, and held back from the first known over hours already past."""
    table = table.copy()
    index = pd.DatetimeIndex(table.index)
    step = pd.Timedelta(index[1] - index[0])
    heights = [position(site, unix_seconds(index + step * part))[1] for part in (0.0, 0.25, 0.5, 0.75, 1.0)]
    dark = (np.max(heights, axis=0) < 0) & table["ghi_w_m2"].isna().to_numpy()
    table.loc[dark, list(LIGHT)] = 0.0
    air = table[TEMPERATURE]
    run = air.isna().groupby(air.notna().cumsum()).transform("sum")
    drawn = air.interpolate(limit_area="inside")
    air = air.where((run > DRAWN_H).to_numpy() | air.notna().to_numpy(), drawn)
    held = air.bfill(limit=HELD_H).where(index < pd.Timestamp(asked.now))
    table[TEMPERATURE] = air.fillna(held)
    return table


def lacking(table: pd.DataFrame, until: pd.Timestamp | None = None) -> pd.DataFrame:
    """Which rows lack light and which lack temperature, as two columns of truth."""
    gaps = pd.DataFrame({"light": table["ghi_w_m2"].isna(), "temperature": table[TEMPERATURE].isna()})
    return gaps if until is None else gaps[gaps.index < until]


def filled(found: Weather, stand_in: Weather, asked: Asked, site: Site) -> Weather:
    """The gaps of one source filled from the next, light apart from temperature, and what is said of it.

    Light is taken with its parts, so that beam and diffuse agree with the whole.
    """
    step = min(_step(found.table), _step(stand_in.table))
    table, spare = on_step(found.table, step, site), on_step(stand_in.table, step, site)
    spare = spare.reindex(table.index)
    gaps = lacking(table)
    take_light = gaps["light"] & spare["ghi_w_m2"].notna()
    take_air = gaps["temperature"] & spare[TEMPERATURE].notna()
    merged = table.copy()
    merged.loc[take_light, list(LIGHT)] = spare.loc[take_light, list(LIGHT)]
    merged.loc[take_air, TEMPERATURE] = spare.loc[take_air, TEMPERATURE]
    for column in table.columns.difference([*LIGHT, TEMPERATURE]):
        merged[column] = table[column].where(~(take_light & table[column].isna()), spare[column])
    until = pd.Timestamp(asked.needed_until)
    needed_light = take_light & (table.index < until)
    needed_air = take_air & (table.index < until)
    return replace(
        found,
        table=merged,
        fallback_reason=_said(found, stand_in, needed_light, needed_air, site),
        spread=mixed(
            found.spread,
            stand_in.spread,
            _by_day(table["ghi_w_m2"].where(~take_light, 0.0), site, asked),
            _by_day(spare["ghi_w_m2"].where(take_light, 0.0), site, asked),
        ),
        notes=tuple(dict.fromkeys((*found.notes, *(stand_in.notes if needed_light.any() else ())))),
    )


def _step(table: pd.DataFrame) -> pd.Timedelta:
    return pd.Timedelta(table.index[1] - table.index[0])


def _by_day(light: pd.Series, site: Site, asked: Asked) -> NDArray[np.float64]:
    sums = light.groupby(pd.DatetimeIndex(light.index).tz_convert(site.timezone).date).sum()
    return np.array([float(sums.get(day, 0.0)) for day in asked.dates])


def _said(found: Weather, stand_in: Weather, light: pd.Series, air: pd.Series, site: Site) -> str | None:
    """What was missing before, and what now, in words."""
    parts = [] if found.fallback_reason is None else [found.fallback_reason]
    same = light.any() and (light == air).all()
    for what, hours in (("", light), ("temperature of ", air)):
        if hours.any() and not (what and same):
            lacks = f"{name_of(found)} lacks {what}{stretches(hours, site)}"
            parts.append(f"{lacks}; {name_of(stand_in)} stands in")
    return "; ".join(parts) or None


def name_of(weather: Weather) -> str:
    """A source as it is called in a sentence."""
    return {
        Kind.TYPICAL_YEAR: "the typical year",
        Kind.CLEAR_SKY: "a dimmed clear sky",
        Kind.OBSERVED: "the weather file",
    }.get(weather.kind, weather.source)


def stretches(needed: pd.Series, site: Site) -> str:
    """Which hours, in the site's time: "2026-04-21 09:00 to 12:00"."""
    step = pd.Timedelta(needed.index[1] - needed.index[0])
    runs: list[tuple[pd.Timestamp, pd.Timestamp]] = []
    for moment in pd.DatetimeIndex(needed.index[needed]).tz_convert(site.timezone):
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
