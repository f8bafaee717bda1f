"""What the site's records bring to a morning: factors in use, forecast errors, the score, dim houses."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from typing import Any

from lightplan.calibrate import house_dates
from lightplan.calibrated import calibrated, washed_on, washes_of
from lightplan.dayplan import Dimmed, Learned
from lightplan.house.kept import kept_house_light
from lightplan.house.transmission import HouseLight
from lightplan.in_force import reading_basis
from lightplan.learn.calibration import Calibration
from lightplan.learn.kinds import LightReading
from lightplan.learn.light_fit import fit_light
from lightplan.learn.light_terms import HeldReading
from lightplan.measured_light import held_against
from lightplan.readings_typed import light_readings
from lightplan.records import History, RecordsError
from lightplan.records_readings import readings
from lightplan.scored import learned_errors, score_yesterday, scores_of
from lightplan.site.models import Site, SourceName
from lightplan.weather.bands import NOTHING_LEARNED, SiteErrors
from lightplan.weather.table import Kind, Weather


@dataclass(frozen=True)
class Known:
    """raw : the site as its file has it. site : as it is calibrated. troubles : what could not be read.

    said : what else the grower should hear.
    """

    raw: Site
    site: Site
    found: Calibration | None = None
    errors: Mapping[SourceName, SiteErrors] = field(default_factory=dict)
    troubles: tuple[str, ...] = ()
    said: tuple[str, ...] = ()


def known_of(site: Site, today: date | None = None) -> Known:
    """What is known on a day, by the scores of those before it.

    Never fails: records that can't be read cost what they hold, not the sheet."""
    in_use = calibrated(site)
    if in_use.trouble is not None and in_use.found is None:
        return Known(site, in_use.site, troubles=(in_use.trouble,))
    try:
        errors = learned_errors(scores_of(site, before=today), in_use.found)
    except RecordsError as error:
        return Known(site, in_use.site, in_use.found, troubles=(str(error),))
    said = () if in_use.trouble is None else (in_use.trouble,)
    return Known(site, in_use.site, in_use.found, errors, said=said)


def errors_in(known: Known, weather: Weather) -> SiteErrors:
    """What the site's past put on a weather's light and its range."""
    of = {source.value: errors for source, errors in known.errors.items()}
    return of.get(weather.source, NOTHING_LEARNED) if weather.kind is Kind.FORECAST else NOTHING_LEARNED


def learned_for(
    known: Known,
    weather: Weather,
    *,
    today: date,
    now: datetime,
    history: History,
    lights: Mapping[str, HouseLight],
) -> tuple[Learned, str]:
    """What to say of yesterday and of dim houses; and a sentence where the records gave out on the way."""
    errors = errors_in(known, weather)
    so_far = Learned(known.found, stretch=errors.spread, cloud_light=errors.cloud_light)
    if known.troubles:
        return so_far, ""
    try:
        yesterday = score_yesterday(known.site, weather, today=today, now=now, history=history, lights=lights)
        return replace(so_far, yesterday=yesterday, dimmed=dimmed_houses(known.raw, today, now, lights)), ""
    except RecordsError as error:
        return so_far, str(error)
    except Exception as error:  # a sheet is worth more than yesterday's score: what went wrong is ours
        return so_far, f"Yesterday could not be scored, by a fault of lightplan ({error!r:.120})."


def dimmed_houses(
    site: Site, today: date, now: datetime, lights: Mapping[str, HouseLight]
) -> tuple[Dimmed, ...]:
    """Houses surely dimmer than when they were clean, by the meter readings so far. Raises RecordsError.

    By what the model said of each reading when it was entered, while the site file and the washes say the
    same as then: dimming is told by the house's own past, so that what the model has wrong of it drops out.
    """
    rows = [row for row in readings(site.folder, until=now) if row.kind == "light" and "share" in row.detail]
    if not rows:
        return ()
    of_row, washes = {row.number: row.detail for row in rows}, washes_of(site)
    held = [_held(site, r, of_row[r.number], washes, lights) for r in light_readings(rows, site)]
    held = [one for one in held if one.share > 0]
    read = [(h.reading.house, h.reading.at.astimezone(site.timezone).date()) for h in held]
    found = fit_light(site, held, (), dates=house_dates(site, washes, read, today), today=today)
    return tuple(
        Dimmed(site.house(h.id), *h.dim, at_once=h.jump)
        for h in found.houses
        if h.is_dim and h.dim is not None
    )


def _held(
    site: Site,
    reading: LightReading,
    kept: Mapping[str, Any],
    washes: Mapping[str, tuple[date, ...]],
    lights: Mapping[str, HouseLight],
) -> HeldReading:
    """A reading with the model's share as it was kept, or worked out again where its house is told anew."""
    day = reading.at.astimezone(site.timezone).date()
    house = washed_on(site.house(reading.house), washes[reading.house], day)
    bench = next((b for b in site.benches if b.id == reading.bench), None)
    basis = reading_basis(house, bench)
    if kept.get("basis", basis) == basis:
        return HeldReading(reading, kept["share"], kept["clear_umol"])
    light = lights.get(house.id) or kept_house_light(house, site.folder / "cache")
    held = held_against(
        site,
        house=house,
        bench=bench,
        at=reading.at,
        outside_umol=reading.outside_umol,
        lights={house.id: light},
        tent_open=reading.tent == "open",
    )
    return HeldReading(reading, held.share, held.clear_umol)
