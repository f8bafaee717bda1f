"""Readings on their way in: worked out in µmol, held against sun and site, then kept whole."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta, timezone, tzinfo
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import numpy as np
import pandas as pd

from lightplan.clock import at_local
from lightplan.house.transmission import HouseLight
from lightplan.learn.checks import Moment, Seen, check_lamps, check_light
from lightplan.learn.logger import LONGEST_LAG_MIN, Table, check_clock, clock_lag_min, values_of
from lightplan.learn.meters import NoConversion, Photons, photons
from lightplan.measured_light import held_against, sun_deg
from lightplan.problems import InputError
from lightplan.records_readings import New
from lightplan.site.models import Bench, House, Site
from lightplan.weather.clear_sky import clear_sky_ghi

COLDEST_C, HOTTEST_C = -40.0, 70.0  # of air in a house; judgement


@dataclass(frozen=True)
class Place:
    house: House
    bench: Bench | None


def place_of(site: Site, house: str | None, bench: str | None) -> Place:
    """The place that options name. Raises InputError."""
    if bench is not None:
        found = next((b for b in site.benches if b.id == bench), None)
        if found is None:
            raise InputError(f"There is no bench {bench!r}; site.toml has {_ids(site.benches)}.")
        if house is not None and house != found.house:
            raise InputError(f"Bench {bench!r} stands in house {found.house!r}, not in {house!r}.")
        return Place(site.house(found.house), found)
    if house is None:
        raise InputError(
            f"Where was it? Give --bench ({_ids(site.benches)}) or --house ({_ids(site.houses)})."
        )
    if house not in {h.id for h in site.houses}:
        raise InputError(f"There is no house {house!r}; site.toml has {_ids(site.houses)}.")
    return Place(site.house(house), None)


def _ids(things: tuple[House, ...] | tuple[Bench, ...]) -> str:
    return ", ".join(thing.id for thing in things) or "none"


def not_ahead(at: datetime, now: datetime) -> None:
    if at > now:
        raise InputError(
            f"{at:%Y-%m-%d %H:%M} is still to come (the site's clock shows {now:%Y-%m-%d %H:%M}); "
            "give the time it was read with --at."
        )


def _photons(value: float, unit: str, source: str) -> Photons:
    try:
        return photons(value, unit, source)
    except NoConversion as error:
        raise InputError(str(error)) from None


def light_reading(
    site: Site,
    place: Place,
    *,
    at: datetime,
    inside: float,
    outside: float | None,
    unit: str,
    source: str,
    meter: str,
    spots: int,
    clear: bool,
    under: str | None,
    tent: str | None,
    lights: Mapping[str, HouseLight],
) -> New:
    """A daylight reading, checked. Raises InputError."""
    bench = place.bench
    has_tent = bench is not None and bench.tent is not None
    if tent is not None and not has_tent:
        raise InputError("--tent was given, but site.toml has no tent over that bench; leave it out.")
    tent = (tent or "closed") if has_tent else None
    if under is not None:
        covers = (*(bench.covers if bench else ()), *place.house.covers)
        if under not in {c.name for c in covers}:
            names = ", ".join(c.name for c in covers) or "none"
            raise InputError(f"No cover {under!r} is at hand there; site.toml has {names}.")
    seen_in = _photons(inside, unit, source)
    seen_out = None if outside is None else _photons(outside, unit, source)
    held = held_against(
        site,
        house=place.house,
        bench=bench,
        at=at,
        outside_umol=None if seen_out is None else seen_out.umol_m2_s,
        lights=lights,
        tent_open=tent == "open",
    )
    check_light(
        Seen(seen_in.umol_m2_s, None if seen_out is None else seen_out.umol_m2_s, unit, clear),
        Moment(f"{at:%H:%M}", sun_deg(site, at), held.clear_umol, held.expected_umol),
    )
    detail = {
        "inside": inside,
        "outside": outside,
        "unit": unit,
        "source": source,
        "meter": meter,
        "spots": spots,
        "clear": clear,
        "under": under,
        "tent": tent,
        "inside_umol": round(seen_in.umol_m2_s, 2),
        "outside_umol": None if seen_out is None else round(seen_out.umol_m2_s, 2),
        "sd": round(seen_in.sd, 4),
        # as the model had it then: enough to see a house go dim without working it all out again
        "share": round(held.share, 5),
        "clear_umol": round(held.clear_umol, 2),
    }
    return New("light", at, place.house.id, bench.id if bench else None, detail)


def lamp_reading(
    site: Site, bench: Bench, *, at: datetime, value: float, unit: str, meter: str, spots: int
) -> New:
    """Lamps read after dark, in the light of their own kind. Raises InputError."""
    if bench.lamps is None:
        raise InputError(f"Bench {bench.id!r} has no lamps in site.toml.")
    kind = bench.lamps.kind
    seen = _photons(value, unit, kind)
    check_lamps(
        seen.umol_m2_s,
        sun_deg=sun_deg(site, at),
        clock=f"{at:%H:%M}",
        meant_umol=bench.lamps.ppfd_now_umol_m2_s,
        unit=unit,
    )
    detail = {
        "value": value,
        "unit": unit,
        "source": kind,
        "meter": meter,
        "spots": spots,
        "umol": round(seen.umol_m2_s, 2),
        "sd": round(seen.sd, 4),
    }
    return New("lamps", at, bench.house, bench.id, detail)


def temperature_reading(
    site: Site, place: Place, *, day: date, lowest: float | None, highest: float | None, fahrenheit: bool
) -> New:
    """A min-max thermometer, read once for a date. Raises InputError."""
    low, high = (
        None if t is None else round((t - 32) / 1.8 if fahrenheit else t, 2) for t in (lowest, highest)
    )
    if low is None and high is None:
        raise InputError("Give --min, --max or both.")
    for typed, value in ((lowest, low), (highest, high)):
        if value is not None and not COLDEST_C <= value <= HOTTEST_C:
            raise InputError(
                f"{typed:g} would be {value:.0f} °C, which no house has: say --unit f or --unit c."
            )
    if low is not None and high is not None and low > high:
        raise InputError(f"The lowest, {lowest:g}, lies above the highest, {highest:g}: swap them.")
    detail = {"min_c": low, "max_c": high, "day": day.isoformat()}
    at = at_local(day, 720, site.timezone)
    return New("temperature", at, place.house.id, place.bench.id if place.bench else None, detail)


def germination_count(site: Site, bench: Bench, *, day: date, up: int, of: int) -> New:
    """Seedlings up of seeds sown. Raises InputError."""
    if not 0 <= up <= of or of == 0:
        raise InputError(f"{up} up of {of} sown can't be: give --up no larger than --of.")
    if not any(b.from_date <= day <= b.to_date for b in bench.batches):
        raise InputError(f"By site.toml nothing stood on bench {bench.id!r} on {day}; look at the date.")
    detail = {"day": day.isoformat(), "up": up, "of": of}
    return New("germination", at_local(day, 720, site.timezone), bench.house, bench.id, detail)


def washed(site: Site, house: House, day: date) -> New:
    return New("washed", at_local(day, 720, site.timezone), house.id, None, {"day": day.isoformat()})


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
) -> New:
    """A logger's file, its clock held against the sun. Neither house nor bench: it hangs outside.

    Raises InputError; nothing is kept then.
    """
    shift = timedelta(minutes=shift_min)
    rows = [(at + shift, value) for at, value in values_of(table, zone)]
    if not rows:
        raise InputError(f"{table.name}: column {table.value!r} holds no numbers.")
    not_ahead(rows[-1][0].astimezone(site.timezone), now)
    if quantity == "light":
        rows = _as_photons(rows, table.name, unit, source)
        check_clock(lag_min(site, rows), table.name)
    elif unit == "f":
        rows = [(at, (value - 32) / 1.8) for at, value in rows]
    if quantity == "temperature":
        odd = next((v for _, v in rows if not COLDEST_C <= v <= HOTTEST_C), None)
        if odd is not None:
            raise InputError(f"{table.name} would hold {odd:.0f} °C: say --unit f or --unit c.")
    detail = {
        "file": table.name,
        "quantity": quantity,
        "unit": unit,
        "source": source,
        "rows": len(rows),
        "first": rows[0][0].astimezone(UTC).isoformat(),
        "last": rows[-1][0].astimezone(UTC).isoformat(),
        "sum": round(sum(v for _, v in rows), 3),
    }
    return New("log", rows[0][0], house, bench, detail, tuple((at, round(v, 3)) for at, v in rows))


def _as_photons(
    rows: list[tuple[datetime, float]], name: str, unit: str, source: str
) -> list[tuple[datetime, float]]:
    most = max(v for _, v in rows)
    factor = _photons(1.0, unit, source).umol_m2_s
    if most * factor > 3000:  # brighter than any sun with cloud edges, 2,600 µmol or so; judgement
        also = " The numbers look like lux: give --unit lux." if unit in ("fc", "umol") else ""
        raise InputError(
            f"{name} reaches {most:g}, which would be {most * factor:.0f} µmol, more than the sun.{also}"
        )
    return [(at, max(v, 0.0) * factor) for at, v in rows]


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
