"""`lightplan calibrate`: from whatever readings a site has to factors on what the models reckon."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime

import numpy as np

from lightplan.calibrate_heat import heat_days
from lightplan.calibrate_loggers import logged_readings
from lightplan.calibrated import washed_on, washes_of, with_found
from lightplan.clock import grid_over
from lightplan.house.kept import kept_house_light
from lightplan.house.losses import Outdoors, losses_of
from lightplan.house.transmission import HouseLight
from lightplan.in_force import heat_basis, light_basis
from lightplan.learn.calibration import Calibration
from lightplan.learn.dirt import HouseDates
from lightplan.learn.heat_fit import fit_heat
from lightplan.learn.kinds import LightReading
from lightplan.learn.light_fit import fit_light
from lightplan.learn.light_terms import HeldReading
from lightplan.learn.source_fit import sources_found
from lightplan.measured_light import held_against
from lightplan.readings_typed import lamp_readings, light_readings, temperature_readings
from lightplan.records_readings import readings
from lightplan.scored import score_logged_days, scores_of
from lightplan.site.models import House, Site

Progress = Callable[[str], None]


def calibrate(
    site: Site, now: datetime, progress: Progress = lambda words: None, *, keep: bool = True
) -> Calibration:
    """All factors of a site by its readings up to `now`. site : as its file says, nothing measured in it.

    keep : the days that it scores by a logger. Raises RecordsError.
    """
    today = now.astimezone(site.timezone).date()
    rows = readings(site.folder, until=now)
    washes = washes_of(site)
    progress("light in the houses …")
    lights = {h.id: kept_house_light(h, site.folder / "cache") for h in site.houses}
    progress("readings against the sun …")
    hand = [_held(site, reading, washes, lights) for reading in light_readings(rows, site)]
    logged = logged_readings(site, rows, washes=washes, lights=lights, today=today)
    held = [h for h in (*hand, *logged) if h.share > 0]
    dates = house_dates(site, washes, [(h.reading.house, _day(site, h.reading.at)) for h in held], today)
    light = fit_light(site, held, lamp_readings(rows, site), dates=dates, today=today)
    found = Calibration(
        houses=tuple(
            replace(
                h,
                computed=_computed(site.house(h.id), lights[h.id], washes[h.id], site, today),
                basis=light_basis(site.house(h.id)),
            )
            for h in light.houses
        ),
        lamps=light.lamps,
        covers=light.covers,
        heat=(),
        sources=(),
        outliers=light.outliers,
        next_reading=light.next_reading,
        made_on=today,
        lamp_ppfd=tuple((b.id, b.lamps.ppfd_umol_m2_s) for b in site.benches if b.lamps is not None),
    )
    progress("thermometers against the heat model …")
    days = heat_days(with_found(site, found), temperature_readings(rows, site), rows, lights=lights, now=now)
    warmth = [fit_heat(house.id, days.get(house.id, ())) for house in site.houses]
    progress("days scored …")
    scored = score_logged_days(with_found(site, found), now, keep=keep)
    known = {score.day: score for score in (*scores_of(site), *scored)}
    return replace(
        found,
        heat=tuple(replace(heat, basis=heat_basis(site.house(heat.id))) for heat, _ in warmth),
        outliers=(*found.outliers, *(out for _, outs in warmth for out in outs)),
        sources=sources_found([known[day] for day in sorted(known)]),
    )


def _day(site: Site, at: datetime) -> date:
    return at.astimezone(site.timezone).date()


def house_dates(
    site: Site,
    washes: Mapping[str, tuple[date, ...]],
    read: Sequence[tuple[str, date]],
    today: date,
) -> dict[str, HouseDates]:
    """By house; readings count from the first of them on. read : house and day of each."""
    found = {}
    for house in site.houses:
        days = [day for house_id, day in read if house_id == house.id]
        past = tuple(w for w in washes.get(house.id, ()) if w <= today)
        found[house.id] = HouseDates(past, min([*days, today]), today)
    return found


def _held(
    site: Site,
    reading: LightReading,
    washes: Mapping[str, tuple[date, ...]],
    lights: Mapping[str, HouseLight],
) -> HeldReading:
    bench = next((b for b in site.benches if b.id == reading.bench), None)
    held = held_against(
        site,
        house=washed_on(site.house(reading.house), washes[reading.house], _day(site, reading.at)),
        bench=bench,
        at=reading.at,
        outside_umol=reading.outside_umol,
        lights=lights,
        tent_open=reading.tent == "open",
    )
    return HeldReading(reading, held.share, held.clear_umol)


def _computed(house: House, light: HouseLight, washes: Sequence[date], site: Site, today: date) -> float:
    """Share of an evenly grey sky's light that the model gives the floor on a day, dry and nothing drawn."""
    grid = grid_over(today, 1, site.timezone)
    steps = len(grid)
    dark = Outdoors(
        zenith_deg=np.full(steps, 90.0),
        azimuth_deg=np.zeros(steps),
        temp_air_c=np.full(steps, 15.0),
        sun_w_m2=np.zeros(steps),
        snow_m=np.zeros(steps),
    )
    losses = losses_of(washed_on(house, washes, today), dark, grid)
    return float(light.diffuse() * losses.diffuse[steps // 2])
