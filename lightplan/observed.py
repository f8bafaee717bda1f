"""What a past day's weather was: by a logger in the open, the weather file, or the service's past days."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from lightplan.clock import day_start
from lightplan.learn.meters import SUN_UMOL_PER_J
from lightplan.par import per_joule_of
from lightplan.records_readings import Row, logged_values, readings
from lightplan.site.models import Site
from lightplan.sun import position, unix_seconds
from lightplan.weather.clear_sky import clear_sky_ghi
from lightplan.weather.table import Kind, Weather, empty_table

HOUR = pd.Timedelta(hours=1)
LIGHT_W_M2 = 20.0  # clear light of an hour that has to be known; judgement
FEWEST_LOOKS = 2  # of a logger in an hour


@dataclass(frozen=True)
class Observed:
    """by : "logger" | "file" | "service". table : the day's hours or finer, light known while it matters."""

    by: str
    table: pd.DataFrame


def hours_of(day: date, zone: ZoneInfo) -> pd.DatetimeIndex:
    """Whole UTC hours that hold a civil day."""
    start, end = (pd.Timestamp(day_start(d, zone).astimezone(UTC)) for d in (day, day + timedelta(days=1)))
    return pd.date_range(start.floor("h"), end.ceil("h"), freq=HOUR, inclusive="left")


def observed_day(site: Site, day: date, weather: Weather | None) -> Observed | None:
    """What is known of a past day; None where its light is not. Raises RecordsError.

    weather : of the next day's sheet, with what its source says of the hours before.
    """
    sources = (logger_outdoors(site, day), _source_said(site, day, weather))
    return next((found for found in sources if found is not None and _whole(found.table, site)), None)


def _source_said(site: Site, day: date, weather: Weather | None) -> Observed | None:
    if weather is None or weather.before is None or not len(weather.before):
        return None
    end = day_start(day + timedelta(days=1), site.timezone)
    if weather.kind is Kind.FORECAST and (weather.issued_at is None or weather.issued_at < _dusk(site, day)):
        return None  # what it says of that day was still a forecast
    if weather.kind not in (Kind.FORECAST, Kind.OBSERVED):
        return None
    table = weather.before
    table = table[(table.index >= hours_of(day, site.timezone)[0]) & (table.index < pd.Timestamp(end))]
    return Observed("file" if weather.kind is Kind.OBSERVED else "service", table) if len(table) else None


def _dusk(site: Site, day: date) -> datetime:
    """The end of the last hour of a day with light in it."""
    hours = hours_of(day, site.timezone)
    lit = hours[clear_sky_ghi(site, hours).to_numpy() > LIGHT_W_M2]
    last = lit[-1] if len(lit) else hours[0]
    return (last + HOUR).to_pydatetime()


def logger_outdoors(site: Site, day: date) -> Observed | None:
    """Hourly light of a logger that hangs in the open. Raises RecordsError."""
    hours = hours_of(day, site.timezone)
    start, end = hours[0].to_pydatetime(), (hours[-1] + HOUR).to_pydatetime()
    rows = [row for row in _logs(site, "light", None) if _touches(row, start, end)]
    values = {at: v for row in rows for at, v in logged_values(site.folder, row.number) if start <= at < end}
    if not values:
        return None
    times = pd.DatetimeIndex([pd.Timestamp(at.astimezone(UTC)) for at in values])
    light = pd.Series(list(values.values()), index=times)
    by_hour = light.groupby(times.floor("h")).agg(["mean", "count"])
    known = by_hour["mean"].where(by_hour["count"] >= FEWEST_LOOKS)
    table = empty_table(hours)
    umol = known.reindex(hours)
    of_watts = all(row.detail["unit"] == "w" for row in rows)  # turned into photons by one factor
    table["ghi_w_m2"] = umol / (SUN_UMOL_PER_J if of_watts else _per_joule(site, umol))
    return Observed("logger", table)


def _per_joule(site: Site, umol: pd.Series) -> NDArray[np.float64]:
    middle = pd.DatetimeIndex(umol.index) + HOUR / 2
    zenith, _, _ = position(site, unix_seconds(middle))
    return per_joule_of(umol.fillna(0.0).to_numpy(dtype=float), middle, zenith)


def _logs(site: Site, quantity: str, house: str | None) -> Iterator[Row]:
    for row in readings(site.folder):
        if (
            row.kind == "log"
            and row.detail["quantity"] == quantity
            and (row.house, row.bench) == (house, None)
        ):
            yield row


def _touches(row: Row, start: datetime, end: datetime) -> bool:
    first, last = (datetime.fromisoformat(row.detail[key]) for key in ("first", "last"))
    return first < end and last >= start


def _whole(table: pd.DataFrame, site: Site) -> bool:
    index = pd.DatetimeIndex(table.index)
    step = pd.Timedelta(index[1] - index[0]) if len(index) > 1 else HOUR
    clear = clear_sky_ghi(site, index, step).to_numpy()
    day = index.tz_convert(site.timezone).date
    hours = hours_of(day[len(day) // 2], site.timezone)
    could = float(clear_sky_ghi(site, hours).sum())
    known = table["ghi_w_m2"].notna().to_numpy()
    have = float(clear[known].sum()) * (step / HOUR)
    return could > 0 and have > 0.98 * could


def filled_day(site: Site, day: date, observed: Observed | None, issued: pd.DataFrame | None) -> pd.DataFrame:
    """A whole civil day for the models: observed where known, else as the sheet had it, nights dark."""
    hours = hours_of(day, site.timezone)
    base = observed.table if observed is not None else issued
    step = HOUR
    if base is not None and len(base) > 1:
        step = min(HOUR, pd.Timedelta(base.index[1] - base.index[0]))
    times = pd.date_range(hours[0], hours[-1] + HOUR, freq=step, inclusive="left")
    table = empty_table(times)
    for source in (observed.table if observed else None, issued):
        if source is not None and len(source):
            table = table.fillna(_on(source, times, step))
    table["ghi_w_m2"] = table["ghi_w_m2"].fillna(0.0).clip(lower=0.0)
    table["temp_air_c"] = table["temp_air_c"].interpolate(limit_direction="both").fillna(10.0)
    table["dni_w_m2"], table["dhi_w_m2"] = np.nan, np.nan
    if observed is not None and {"dni_w_m2", "dhi_w_m2"} <= set(observed.table):
        for column in ("dni_w_m2", "dhi_w_m2"):
            table[column] = _on(observed.table[[column]], times, step)[column]
    return table


def _on(source: pd.DataFrame, times: pd.DatetimeIndex, step: pd.Timedelta) -> pd.DataFrame:
    """A table on another fixed step, means kept."""
    own = pd.Timedelta(source.index[1] - source.index[0]) if len(source) > 1 else step
    if own < step:
        return source.groupby(pd.DatetimeIndex(source.index).floor(step)).mean().reindex(times)
    ratio = int(own / step)
    return source.reindex(times, method="ffill", limit=ratio - 1) if ratio > 1 else source.reindex(times)
