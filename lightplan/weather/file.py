"""The grower's own weather file: a documented CSV, read strictly and said plainly.

Columns: `time` (ISO with offset, start of the interval), `ghi_w_m2`, `temp_air_c`; optional the other
columns of `table.COLUMNS`. An empty cell is unknown.
"""

from __future__ import annotations

import csv
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pandas as pd

from lightplan.site.models import Site
from lightplan.weather.answer import Asked
from lightplan.weather.clear_sky import clear_sky_ghi
from lightplan.weather.table import COLUMNS, Kind, Spread, Weather, WeatherError, check_table, empty_table

NEEDED = ("time", "ghi_w_m2", "temp_air_c")
STEPS_MIN = (15, 30, 60)


def read_weather_csv(path: Path) -> pd.DataFrame:
    """The file's table on its own fixed step, rows that are missing filled with unknowns.

    Raises WeatherError with one sentence naming the file, the line and what would do.
    """
    try:
        text = path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        raise WeatherError(f"the weather file {path.name} is not there; put it beside site.toml.") from None
    except (OSError, UnicodeDecodeError) as error:
        raise WeatherError(f"{path.name} can't be read as text ({error}); save it as a UTF-8 CSV.") from None
    rows = list(csv.reader(text.splitlines()))
    if not rows or not any(rows[0]):
        raise WeatherError(f"{path.name} is empty; it needs a header line with {', '.join(NEEDED)}.")
    header = [cell.strip() for cell in rows[0]]
    _check_header(header, path.name)
    times: list[datetime] = []
    values: list[list[float]] = []
    for line, row in enumerate(rows[1:], start=2):
        if not any(cell.strip() for cell in row):
            continue
        if len(row) != len(header):
            raise WeatherError(
                f"{path.name} line {line} has {len(row)} cells, the header {len(header)}; make them equal."
            )
        times.append(_time(row[header.index("time")], path.name, line))
        values.append(
            [
                _number(cell, column, path.name, line)
                for cell, column in zip(row, header, strict=True)
                if column != "time"
            ]
        )
    if len(times) < 2:
        raise WeatherError(f"{path.name} has fewer than two rows; give one row for each hour.")
    index = pd.DatetimeIndex(times)
    table = pd.DataFrame(values, index=index, columns=[c for c in header if c != "time"])
    return _on_fixed_step(table, path.name)


def _check_header(header: list[str], name: str) -> None:
    for column in NEEDED:
        if column not in header:
            raise WeatherError(f"{name} has no column {column}; its header is {', '.join(header)[:80]}.")
    strange = [column for column in header if column != "time" and column not in COLUMNS]
    if strange:
        raise WeatherError(
            f"{name} has a column {strange[0]} that is not known; known are time, {', '.join(COLUMNS)}."
        )
    if len(set(header)) < len(header):
        raise WeatherError(f"{name} names a column twice in its header; keep one.")


def _time(cell: str, name: str, line: int) -> datetime:
    try:
        moment = datetime.fromisoformat(cell.strip())
    except ValueError:
        raise WeatherError(
            f'{name} line {line}: "{cell}" is not a time; write it like 2026-02-14T06:00+00:00.'
        ) from None
    if moment.tzinfo is None:
        raise WeatherError(f'{name} line {line}: "{cell}" has no offset; write it like {cell.strip()}+00:00.')
    return moment.astimezone(UTC)


def _number(cell: str, column: str, name: str, line: int) -> float:
    text = cell.strip()
    if not text:
        return np.nan
    try:
        value = float(text)
    except ValueError:
        value = np.nan
    if not np.isfinite(value):
        raise WeatherError(
            f'{name} line {line}: {column} is "{text}", not a number; leave it empty where unknown.'
        )
    return value


def _on_fixed_step(table: pd.DataFrame, name: str) -> pd.DataFrame:
    index = pd.DatetimeIndex(table.index)
    if index.has_duplicates:
        twice = index[index.duplicated()][0]
        raise WeatherError(f"{name} holds {twice:%Y-%m-%dT%H:%M}+00:00 twice; keep one row for each time.")
    if not index.is_monotonic_increasing:
        late = index[1:][np.diff(index) < pd.Timedelta(0)][0]
        raise WeatherError(f"{name} is not in time order at {late:%Y-%m-%dT%H:%M}+00:00; sort it by time.")
    gaps = pd.Series(index).diff().dropna()
    step = gaps.min()
    if step not in [pd.Timedelta(minutes=m) for m in STEPS_MIN]:
        raise WeatherError(f"{name} has steps of {step.total_seconds() / 60:g} min; give 15, 30 or 60 min.")
    if ((gaps / step) % 1 != 0).any() or index[0].value % step.value:
        raise WeatherError(
            f"{name} has times off its step of {step.total_seconds() / 60:g} min; give one fixed step."
        )
    whole = empty_table(pd.date_range(index[0], index[-1], freq=step))
    whole.update(table)
    check_table(whole, name)
    return whole


def weather_from_file(site: Site, asked: Asked) -> Weather:
    """The file's own dates where it has them, else its month and day where it holds a year.

    A file with the dates counts as observed up to the sheet's clock; what it says of later hours is
    somebody's forecast, and gets the band that a forecast of this moment would. Raises WeatherError.
    """
    from lightplan.weather.typical import LEAST_DAYS, TypicalYear, typical_weather

    name = site.weather.file
    if name is None:
        raise WeatherError('site.toml: weather: source is "file" but no file is named; give file = "...".')
    table = read_weather_csv(site.folder / name)
    there = table["ghi_w_m2"].notna()
    until = pd.Timestamp(asked.needed_until.astimezone(UTC))
    needed = (table.index >= asked.times[0]) & (table.index < until)
    if (there & needed).any():
        return _own_dates(name, table, asked, site)
    if TypicalYear(name, table[there], 0.0).days >= LEAST_DAYS:
        year = TypicalYear(name, table, 0.0)
        found = typical_weather(site, year, asked.times, asked.dates)
        return replace(found, source="file", attribution=f"Weather file {name}")
    raise WeatherError(
        f"{name} holds {table.index[0]:%Y-%m-%d} to {table.index[-1]:%Y-%m-%d}, none of the time from "
        f"{asked.times[0]:%Y-%m-%d %H:%M} to {until:%Y-%m-%d %H:%M} UTC; give a file with these dates."
    )


def _own_dates(name: str, table: pd.DataFrame, asked: Asked, site: Site) -> Weather:
    step = pd.Timedelta(table.index[1] - table.index[0])
    times = pd.date_range(asked.times[0], asked.end, freq=step, inclusive="left")
    found = table.reindex(times)
    return Weather(
        table=found,
        source="file",
        kind=Kind.OBSERVED,
        issued_at=None,
        attribution=f"Weather file {name}",
        fallback_reason=None,
        spread=_band(found["ghi_w_m2"], step, asked, site),
        usual_dli_mol_m2_d=None,
        before=table[table.index < asked.times[0]].tail(int(pd.Timedelta(days=1) / step)),
    )


def _band(light: pd.Series, step: pd.Timedelta, asked: Asked, site: Site) -> Spread:
    """The assumed band of a forecast made now, on the part of each day's light that is still to come."""
    from lightplan.weather.bands import NOTHING_LEARNED, assumed_spread, clearness_of_days, spread_measure

    index = pd.DatetimeIndex(light.index)
    clear = clear_sky_ghi(site, index, step)
    clearness = clearness_of_days(light, clear, site, asked.dates)
    measure = [
        spread_measure(site, day, issued_at=asked.now, cloud=None, learned=NOTHING_LEARNED)
        for day in asked.dates
    ]
    whole = assumed_spread(asked.dates, clearness, np.array(measure))
    local = index.tz_convert(site.timezone).date
    ahead = light.where(index >= pd.Timestamp(asked.now), 0.0).groupby(local).sum()
    own = light.groupby(local).sum()
    share = np.array([float(ahead[d] / own[d]) if own.get(d, 0.0) > 0 else 0.0 for d in asked.dates])
    return Spread(
        asked.dates,
        1 - share * (1 - whole.low),
        1 - share * (1 - whole.high),
        1 - share * (1 - whole.sample),
    )
