"""Light loggers inside against one in the open: the middle of each day as one reading."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from datetime import UTC, date, datetime, timedelta

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from lightplan.calibrated import washed_on
from lightplan.clock import STEP, Grid, at_local, day_start, grid_over
from lightplan.house.transmission import HouseLight
from lightplan.learn.kinds import LightReading
from lightplan.learn.light_terms import SPOT_SD, HeldReading
from lightplan.learn.meters import METER_SD
from lightplan.measured_light import shares
from lightplan.observed import filled_day, logger_outdoors
from lightplan.records import first_plan, read_history
from lightplan.records_readings import Row, logged_values
from lightplan.site.models import Bench, Site
from lightplan.sky import make_sky

Mask = NDArray[np.bool_]

MIDDLE_SHARE = 0.6  # of the day's highest clear light: the hours that count; judgement
FEWEST_STEPS = 8
MOST_DAYS = 40  # of one logger, evenly spread: more say little more


def logged_readings(
    site: Site,
    rows: Sequence[Row],
    *,
    washes: Mapping[str, tuple[date, ...]],
    lights: Mapping[str, HouseLight],
    today: date,
) -> Iterator[HeldReading]:
    """A held reading for each day that a logger inside and one outside share. Raises RecordsError."""
    logs = [r for r in rows if r.kind == "log" and r.detail["quantity"] == "light"]
    outdoors = [r for r in logs if r.house is None]
    for row in logs:
        if row.house is None or row.house not in lights or not outdoors:
            continue
        bench = next((b for b in site.benches if b.id == row.bench), None)
        if row.bench is not None and bench is None:
            continue
        days = sorted(_days(row, site) & {d for o in outdoors for d in _days(o, site)} - {today})
        for day in days[:: max(1, math.ceil(len(days) / MOST_DAYS))]:
            held = _of_day(site, row, bench, day, washes[row.house], lights)
            if held is not None:
                yield held


def _days(row: Row, site: Site) -> set[date]:
    first, last = (
        datetime.fromisoformat(row.detail[key]).astimezone(site.timezone).date() for key in ("first", "last")
    )
    return {first + timedelta(days=n) for n in range((last - first).days + 1)}


def _of_day(
    site: Site,
    row: Row,
    bench: Bench | None,
    day: date,
    washes: Sequence[date],
    lights: Mapping[str, HouseLight],
) -> HeldReading | None:
    assert row.house is not None
    outside = logger_outdoors(site, day)
    if outside is None:
        return None
    grid = grid_over(day, 1, site.timezone)
    hourly = outside.table["ghi_w_m2"]
    sky = make_sky(site, filled_day(site, day, outside, None), grid)
    house = site.house(row.house)
    share = shares(
        site,
        sky,
        grid=grid,
        house=washed_on(house, washes, day),
        bench=bench,
        lights=lights,
    )
    inside = _on_steps(row, site, grid)
    if inside is None:
        return None
    known = hourly.reindex(grid.times.floor("h")).notna().to_numpy()
    high = sky.clear_ppfd_umol_m2_s > MIDDLE_SHARE * sky.clear_ppfd_umol_m2_s.max()
    use = high & known & np.isfinite(inside) & ~_disturbed(site, row.house, bench, grid)
    if use.sum() < FEWEST_STEPS:
        return None
    out = float(sky.ppfd_umol_m2_s[use].sum())
    seen, reckoned = float(inside[use].sum()), float((sky.ppfd_umol_m2_s * share)[use].sum())
    if seen <= 0 or out <= 0 or reckoned <= 0:
        return None
    count = int(use.sum())
    reading = LightReading(
        number=row.number,
        at=at_local(day, 720, site.timezone),
        house=row.house,
        bench=row.bench,
        inside_umol=seen / count,
        outside_umol=out / count,
        spots=1,
        meter=f"logger {row.number}",
        # one place all the season, and two sensors of their own error
        sd=math.hypot(SPOT_SD, METER_SD * math.sqrt(2)),
    )
    return HeldReading(reading, reckoned / out, out / count, logger=True)


def _on_steps(row: Row, site: Site, grid: Grid) -> NDArray[np.float64] | None:
    """The logger's light as means of working steps, nan where it has none (steps,)."""
    start, end = grid.moment(0), grid.moment(len(grid))
    values = [(at, v) for at, v in logged_values(site.folder, row.number) if start <= at < end]
    if len(values) < FEWEST_STEPS:
        return None
    times = pd.DatetimeIndex([pd.Timestamp(at.astimezone(UTC)) for at, _ in values])
    light = pd.Series([v for _, v in values], index=times)
    spacing = pd.Series(times).diff().median()
    by_step = light.groupby(times.floor(STEP)).mean().reindex(grid.times)
    if spacing > pd.Timedelta(STEP):
        by_step = by_step.ffill(limit=max(int(spacing / pd.Timedelta(STEP)) - 1, 0))
    return np.asarray(by_step, dtype=float)


def _disturbed(site: Site, house: str, bench: Bench | None, grid: Grid) -> Mask:
    """When lamps burned, or something was ordered over the bench, by the day's sheet."""
    found = np.zeros(len(grid), dtype=bool)
    end = day_start(grid.dates[0] + timedelta(days=1), grid.zone)
    history = read_history(site.folder, grid.dates[0] + timedelta(days=1), end)
    over = [bench] if bench is not None else [b for b in site.benches if b.house == house]
    for each in over:
        if each.lamps is not None:
            _, times = history.set_since(each.id, grid.moment(0), end)
            for on, off in times:
                found[grid.index(on) : grid.index(off)] = True
    plan = first_plan(site.folder, grid.dates[0], end)
    places = ((house, None),) if bench is None else ((house, None), (house, bench.id))
    for order in plan["orders"] if plan is not None else ():
        if (order["house"], order["bench"]) in places and order["action"] in ("cover", "open-tent"):
            until = datetime.fromisoformat(order["until"]) if order["until"] else end
            found[grid.index(datetime.fromisoformat(order["time"])) : grid.index(until)] = True
    return found
