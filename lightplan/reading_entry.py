"""Readings on their way in: worked out in µmol, held against sun and site, then kept whole."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime

from lightplan.clock import at_local
from lightplan.house.transmission import HouseLight
from lightplan.in_force import reading_basis
from lightplan.learn.checks import Moment, Seen, check_lamps, check_light
from lightplan.learn.meters import NoConversion, Photons, photons
from lightplan.measured_light import held_against, sun_deg
from lightplan.problems import InputError
from lightplan.records_readings import New, readings
from lightplan.site.models import Bench, House, Site

COLDEST_C, HOTTEST_C = -40.0, 70.0  # of air in a house; judgement
FAR_BELOW_K, LIKELY_C = 8.0, 50.0  # a highest so far under the heating, or over this: asked; judgement


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


def conversion(value: float, unit: str, source: str) -> Photons:
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
    seen_in = conversion(inside, unit, source)
    seen_out = None if outside is None else conversion(outside, unit, source)
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
        # as the model had it then: enough to see a house go dim without working it all out again, while the
        # site file stays as it is
        "basis": reading_basis(place.house, bench),
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
    seen = conversion(value, unit, kind)
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
    site: Site, place: Place, *, day: date, lowest: float | None, highest: float | None, unit: str | None
) -> New:
    """A min-max thermometer, read once for a date. unit : "c", "f" or None, the site's.

    Raises InputError, for what only the other unit makes likely too, and for what stands already; raises
    RecordsError.
    """
    fahrenheit = site.us_units if unit is None else unit == "f"
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
    if unit is None:
        _ask_unit(site, place.house, highest, high)
    for row in readings(site.folder):
        of_it = row.kind == "temperature" and row.detail["day"] == day.isoformat()
        if of_it and (row.house, row.bench) == (place.house.id, place.bench.id if place.bench else None):
            both = (row.detail["min_c"], low), (row.detail["max_c"], high)
            if any(old is not None and new is not None and old != new for old, new in both):
                raise InputError(
                    f"Another lowest or highest of that place on {day} stands as reading {row.number}; "
                    "strike that one out first if it is wrong."
                )
    detail = {"min_c": low, "max_c": high, "day": day.isoformat(), "fahrenheit": fahrenheit}
    at = at_local(day, 720, site.timezone)
    return New("temperature", at, place.house.id, place.bench.id if place.bench else None, detail)


def _ask_unit(site: Site, house: House, typed: float | None, high_c: float | None) -> None:
    """A day's highest that the site's own unit makes unlikely and the other one does not."""
    if typed is None or high_c is None:
        return
    other_c = typed if site.us_units else (typed - 32) / 1.8

    def likely(celsius: float) -> bool:
        return house.heat_to_c - FAR_BELOW_K <= celsius <= LIKELY_C

    if likely(other_c) and not likely(high_c):
        mine, other = ("f", "c") if site.us_units else ("c", "f")
        raise InputError(
            f"A highest of {typed:g} would be {high_c:.0f} °C in a house heated to {house.heat_to_c:.0f} °C: "
            f"say --unit {other}, or --unit {mine} if it was so."
        )


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
