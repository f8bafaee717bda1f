"""A logger's file on its way in: its zone, its unit, its clock held against the sun."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone, tzinfo
from itertools import groupby
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import numpy as np
import pandas as pd

from lightplan.learn.logger import (
    CLOCK_OFF_MIN,
    LONGEST_LAG_MIN,
    Table,
    check_clock,
    clock_lag_min,
    values_of,
)
from lightplan.problems import InputError
from lightplan.reading_entry import COLDEST_C, HOTTEST_C, conversion, not_ahead
from lightplan.records_readings import New
from lightplan.site.models import Site
from lightplan.weather.clear_sky import clear_sky_ghi

NO_TEMPERATURE_C = -90.0  # colder than any air on earth: a word for a gap, in either unit
DARKEST_UMOL = -20.0  # a sensor's zero may lie so far off; judgement
OVER_LAMPS = 1.5  # lamps may give so much more at the logger than site.toml says at the trays; judgement
UNDER_LAMPS_MIN = 15.0  # what lamps by one end of the day still bend of a curve so cut; tried, see its test
LONG_ENOUGH = timedelta(days=3)  # for a part of a curve to tell its clock by itself; judgement


def zone_named(text: str, site: Site) -> tzinfo:
    """`site`, `UTC`, an offset like +01:00 or a zone's name. Raises InputError."""
    if text == "site":
        return site.timezone
    try:
        return _offset(text) if text[:1] in "+-" else ZoneInfo(text)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise InputError(
            f"{text!r} is no time zone: say site, UTC, a fixed offset like -05:00, or a name like "
            f"{site.timezone.key}."
        ) from None


def _offset(text: str) -> tzinfo:
    hours, _, minutes = text[1:].partition(":")
    span = timedelta(hours=int(hours), minutes=int(minutes or 0))
    return timezone(-span if text[0] == "-" else span)


def logger_reading(
    site: Site,
    table: Table,
    *,
    house: str | None,
    bench: str | None,
    quantity: str,
    unit: str,
    source: str,
    zone: tzinfo | None,
    shift_min: float,
    now: datetime,
    trust_clock: bool = False,
) -> New:
    """A logger's file, its clock held against the sun. Neither house nor bench: it hangs outside.

    trust_clock : keep it even so.

    Raises InputError; nothing is kept then.
    """
    shift = timedelta(minutes=shift_min)
    rows = [(at + shift, value) for at, value in values_of(table, zone)]
    if not rows:
        raise InputError(f"{table.name}: column {table.value!r} holds no numbers.")
    not_ahead(rows[-1][0].astimezone(site.timezone), now)
    if quantity == "light":
        rows = _as_photons(rows, table.name, unit, source)
        if not trust_clock:
            _check_clock(site, rows, house, bench, table.name)
    elif unit == "f":
        rows = [(at, (value - 32) / 1.8) for at, value in rows]
    if quantity == "temperature":
        if (gap := next((v for _, v in rows if v < NO_TEMPERATURE_C), None)) is not None:
            raise InputError(_no_value(table.name, gap, "temperature"))
        odd = next((v for _, v in rows if not COLDEST_C <= v <= HOTTEST_C), None)
        if odd is not None:
            raise InputError(f"{table.name} would hold {odd:.0f} °C: say --unit f or --unit c.")
    detail = {
        "file": table.name,
        "quantity": quantity,
        "unit": unit,
        "source": source,
    }
    new = New("log", rows[0][0], house, bench, detail)
    return of_rows(new, tuple((at, round(v, 3)) for at, v in rows))


def of_rows(new: New, rows: tuple[tuple[datetime, float], ...]) -> New:
    """A logger's reading with these rows, oldest first."""
    of_them = {
        "rows": len(rows),
        "first": rows[0][0].astimezone(UTC).isoformat(),
        "last": rows[-1][0].astimezone(UTC).isoformat(),
        "sum": round(sum(v for _, v in rows), 3),
    }
    return replace(new, at=rows[0][0], detail={**new.detail, **of_them}, logged=rows)


def _as_photons(
    rows: list[tuple[datetime, float]], name: str, unit: str, source: str
) -> list[tuple[datetime, float]]:
    most, least = max(v for _, v in rows), min(v for _, v in rows)
    factor = conversion(1.0, unit, source).umol_m2_s
    if most * factor > 3000:  # brighter than any sun with cloud edges, 2,600 µmol or so; judgement
        also = " The numbers look like lux: give --unit lux." if unit in ("fc", "umol") else ""
        raise InputError(
            f"{name} reaches {most:g}, which would be {most * factor:.0f} µmol, more than the sun.{also}"
        )
    if least * factor < DARKEST_UMOL:
        raise InputError(_no_value(name, least, "light"))
    return [(at, max(v, 0.0) * factor) for at, v in rows]


def _no_value(name: str, value: float, quantity: str) -> str:
    return f"{name} holds {value:g}, which is no {quantity} but a logger's word for a gap; empty those cells."


def _check_clock(
    site: Site, rows: list[tuple[datetime, float]], house: str | None, bench: str | None, name: str
) -> None:
    """The curve against the sun, and again on either side of each change of the site's clock: a logger may
    have followed it or not. Raises InputError."""
    over = [b.lamps for b in site.benches if (b.house == house if bench is None else b.id == bench)]
    lamps = max((each.ppfd_now_umol_m2_s for each in over if each), default=0.0) * OVER_LAMPS
    sun = [(at, max(v - lamps, 0.0)) for at, v in rows]  # so lamps by night don't pass for a dawn
    off_min = CLOCK_OFF_MIN + (UNDER_LAMPS_MIN if lamps else 0.0)
    by_clock = groupby(sun, key=lambda row: row[0].astimezone(site.timezone).utcoffset())
    parts = [list(part) for _, part in by_clock]
    for part in parts if len(parts) > 1 else ():
        if part[-1][0] - part[0][0] >= LONG_ENOUGH:
            since = f"{name} from {part[0][0].astimezone(site.timezone):%Y-%m-%d} on"
            check_clock(lag_min(site, part), since, off_min=off_min)
    check_clock(lag_min(site, sun), name, off_min=off_min)


def lag_min(site: Site, rows: list[tuple[datetime, float]]) -> float | None:
    """How far a light curve runs behind the sun of the place [min]; None where it can't be told."""
    times = pd.DatetimeIndex([pd.Timestamp(at.astimezone(UTC)) for at, _ in rows])
    start = (times[0] - pd.Timedelta(minutes=LONGEST_LAG_MIN)).floor("15min")
    end = (times[-1] + pd.Timedelta(minutes=LONGEST_LAG_MIN)).ceil("15min")
    quarter = pd.Timedelta(minutes=15)
    steps = pd.date_range(start, end, freq=quarter)
    sky = clear_sky_ghi(site, steps, quarter).to_numpy(dtype=float)
    light = np.array([value for _, value in rows])
    minutes = np.asarray((times - start) / pd.Timedelta(minutes=1), dtype=float)
    middle = np.asarray((steps - start) / pd.Timedelta(minutes=1), dtype=float) + 7.5
    return clock_lag_min(minutes, light, sky_minutes=middle, sky=sky)
