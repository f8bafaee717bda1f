"""Morning after morning as `lightplan morning` makes them: forecasts that err, truth that is known."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import numpy as np
import pandas as pd

from lightplan.clock import at_local
from lightplan.dayplan import DayPlan
from lightplan.house.kept import kept_house_light
from lightplan.learned import known_of, learned_for
from lightplan.morning import _keep
from lightplan.observed import hours_of
from lightplan.plan import plan_day, planning_grid
from lightplan.records import read_history
from lightplan.scored import with_accounts
from lightplan.site.models import Site, SourceName
from lightplan.site.read import load_site
from lightplan.weather.bands import (
    NOTHING_LEARNED,
    SiteErrors,
    assumed_spread,
    clearness_of_days,
    spread_measure,
)
from lightplan.weather.clear_sky import clear_sky_ghi
from lightplan.weather.table import Kind, Weather, empty_table

MADE_MIN = 5 * 60 + 30
HOUR = pd.Timedelta(hours=1)


def clear_truth(site: Site, first: date, days: int, clearness: list[float]) -> pd.DataFrame:
    """Invented days, each so bright against a clear sky, a week more than asked; air at 8 to 14 °C."""
    hours = pd.date_range(
        hours_of(first - timedelta(days=1), site.timezone)[0], periods=24 * (days + 10), freq=HOUR
    )
    table = empty_table(hours)
    number = np.asarray([(d - first).days % len(clearness) for d in hours.tz_convert(site.timezone).date])
    table["ghi_w_m2"] = clear_sky_ghi(site, hours) * np.asarray(clearness)[number]
    table["temp_air_c"] = 11 + 3 * np.cos((hours.hour.to_numpy() - 14) / 12 * np.pi)
    table["snow_m"] = 0.0
    return table


def weather_of(
    site: Site, truth: pd.DataFrame, grid, now: datetime, factor: np.ndarray, errors: SiteErrors
) -> Weather:
    """A service's forecast: the truth times a factor of each day, never brighter than a clear sky."""
    start = pd.Timestamp(grid.times[0]).floor("h")
    end = pd.Timestamp(grid.moment(len(grid)).astimezone(UTC)).ceil("h")
    hours = pd.date_range(start, end, freq=HOUR, inclusive="left")
    table = truth.reindex(hours).ffill()
    clear = clear_sky_ghi(site, hours)
    number = np.array(
        [grid.dates.index(d) if d in grid.dates else 0 for d in hours.tz_convert(grid.zone).date]
    )
    table["ghi_w_m2"] = np.minimum(table["ghi_w_m2"] * factor[number], 1.05 * clear)
    clearness = clearness_of_days(table["ghi_w_m2"], clear, site, grid.dates)
    issued = now - timedelta(hours=2)
    measure = [spread_measure(site, d, issued_at=issued, cloud=None, learned=errors) for d in grid.dates]
    return Weather(
        table=table,
        source="open-meteo",
        kind=Kind.FORECAST,
        issued_at=issued,
        attribution="invented",
        fallback_reason=None,
        spread=assumed_spread(grid.dates, clearness, np.array(measure)),
        usual_dli_mol_m2_d=None,
        before=truth[(truth.index >= start - 26 * HOUR) & (truth.index < start)],
    )


def mornings(
    folder: Path,
    truth: pd.DataFrame,
    first: date,
    days: int,
    *,
    seed: int = 0,
    sd: float = 0.2,
    site: Site | None = None,
) -> Iterator[DayPlan]:
    """site : instead of the folder's own, its folder kept."""
    chance = np.random.default_rng(seed)
    for n in range(days):
        day = first + timedelta(days=n)
        raw = load_site(folder).site if site is None else replace(site, folder=folder)
        now = at_local(day, MADE_MIN, raw.timezone)
        known = known_of(raw, day)
        assert known.troubles == ()
        grid, window = planning_grid(known.site, day, now)
        factor = np.exp(sd * chance.standard_normal(len(grid.dates)))
        errors = known.errors.get(SourceName.OPEN_METEO, NOTHING_LEARNED)
        weather = weather_of(known.site, truth, grid, now, factor, errors)
        history = read_history(folder, day, now)
        lights = {h.id: kept_house_light(h, folder / "cache") for h in known.site.houses}
        learned, trouble = learned_for(known, weather, today=day, now=now, history=history, lights=lights)
        assert trouble == ""
        history = with_accounts(history, learned.yesterday, day)
        plan = plan_day(known.site, weather, history, grid=grid, window=window, now=now, lights=lights)
        plan = replace(plan, learned=learned)
        _keep(folder, plan)
        yield plan
