"""Days with a thermometer's lowest and highest, each with the heat model ready to be run for it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import Any

import numpy as np

from lightplan.calibrated import site_on
from lightplan.clock import day_start, grid_over
from lightplan.heat.house_air import AUTOMATIC
from lightplan.heat.parameters import UNCALIBRATED
from lightplan.heat.runs import HouseHeat
from lightplan.heat_day import house_ready
from lightplan.house.transmission import HouseLight
from lightplan.learn.heat_fit import HeatDay, Run
from lightplan.learn.kinds import TemperatureReading
from lightplan.light import benches_light
from lightplan.observed import filled_day, observed_day
from lightplan.records import first_plan, read_history
from lightplan.records_issued import issued_forecasts
from lightplan.records_readings import Row, logged_values
from lightplan.site.models import Site
from lightplan.sky import make_sky

MOST_DAYS = 60  # the latest; a season's more say little more
WHOLE_DAY_H = 20  # that a logger has to have of a day for its lowest and highest


def heat_days(
    site: Site,
    temperatures: Sequence[TemperatureReading],
    rows: Sequence[Row],
    *,
    lights: Mapping[str, HouseLight],
    now: datetime,
) -> dict[str, list[HeatDay]]:
    """By house, days whose weather a sheet has kept. site : its light calibrated. Raises RecordsError."""
    read = [*temperatures, *_logged(site, rows, {(t.house, t.day) for t in temperatures})]
    read = sorted(read, key=lambda t: (t.day, t.number))
    found: dict[str, list[HeatDay]] = {}
    for house in site.houses:
        if not any(b.house == house.id for b in site.benches):
            continue
        own = [t for t in read if t.house == house.id and t.day < now.astimezone(site.timezone).date()]
        for reading in own[-MOST_DAYS:]:
            ready = _ready(site, house.id, reading.day, lights, now)
            if ready is not None:
                day = HeatDay(reading.number, reading.day, reading.min_c, reading.max_c, _run(ready))
                found.setdefault(house.id, []).append(day)
    return found


def _logged(site: Site, rows: Sequence[Row], known: set[tuple[str, date]]) -> list[TemperatureReading]:
    """Lowest and highest of each whole day of a house's temperature logger."""
    tented = {b.id for b in site.benches if b.tent is not None}
    found = []
    for row in rows:
        if row.kind != "log" or row.detail["quantity"] != "temperature" or row.house is None:
            continue
        if row.bench in tented or row.house not in {h.id for h in site.houses}:
            continue
        by_day: dict[date, list[tuple[datetime, float]]] = {}
        for at, value in logged_values(site.folder, row.number):
            by_day.setdefault(at.astimezone(site.timezone).date(), []).append((at, value))
        for day, values in by_day.items():
            long_enough = values[-1][0] - values[0][0] >= timedelta(hours=WHOLE_DAY_H)
            if long_enough and (row.house, day) not in known:
                air = [v for _, v in values]
                found.append(TemperatureReading(row.number, day, row.house, min(air), max(air)))
    return found


def _run(ready: HouseHeat) -> Run:
    def run(loss: float, air: float) -> tuple[float, float]:
        found = replace(ready, parameters=replace(UNCALIBRATED, loss=loss, air=air)).air_c()
        return float(found.min()), float(found.max())

    return run


def _ready(
    site: Site, house_id: str, day: date, lights: Mapping[str, HouseLight], now: datetime
) -> HouseHeat | None:
    """The house on a day as its sheet had it; None where no sheet was made."""
    site = site_on(site, day)
    issued = issued_forecasts(site.folder, day, day).get(day)
    plan = first_plan(site.folder, day, now)
    if issued is None or plan is None:
        return None
    grid = grid_over(day, 1, site.timezone)
    table = filled_day(site, day, observed_day(site, day, None), issued.table)
    sky = make_sky(site, table, grid)
    own = tuple(b for b in site.benches if b.house == house_id)
    end = day_start(day + timedelta(days=1), site.timezone)
    history = read_history(site.folder, day + timedelta(days=1), end)
    lit = {}
    for bench in own:
        burning = np.zeros(len(grid), dtype=bool)
        for on, off in history.set_since(bench.id, grid.moment(0), end)[1]:
            burning[grid.index(on) : grid.index(off)] = True
        lit[bench.id] = burning
    ready = house_ready(
        site,
        sky,
        house=site.house(house_id),
        house_light=lights[house_id],
        light=benches_light(site, own, sky, grid=grid, lights=lights),
        lit=lit,
        grid=grid,
        steps=len(grid),
    )
    vents = _vents(plan, house_id)
    if site.house(house_id).vents_by == "automatic" or vents is None:
        return ready
    opened = np.zeros(len(grid))
    opened[grid.index(vents[0]) : grid.index(vents[1])] = 1.0
    return replace(ready, vents=replace(AUTOMATIC, most=opened))


def _vents(plan: Mapping[str, Any], house_id: str) -> tuple[datetime, datetime] | None:
    for order in plan["orders"]:
        if order["action"] == "vent" and order["house"] == house_id and order["until"]:
            return datetime.fromisoformat(order["time"]), datetime.fromisoformat(order["until"])
    return None
