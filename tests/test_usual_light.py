"""What is usual at a time of year, from the typical year to the lamps. Invented weather."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pandas as pd
import pytest

from lightplan.house.kept import kept_house_light
from lightplan.plan import plan_day, planning_grid
from lightplan.records import NO_HISTORY
from lightplan.site.read import load_site
from lightplan.weather.clear_sky import clear_day_sums
from lightplan.weather.fetch import weather_for
from lightplan.weather.table import empty_table
from lightplan.weather.typical import TypicalYear, usual_clearness
from lightplan.weather.year import usual_of_dates
from tests.replay.seasons import FLAT, HEAD, bench

DAY = date(2026, 1, 13)


@pytest.fixture
def site(tmp_path):
    text = HEAD.format(site="", power=f"clearness = {[0.5] * 12}\n" + FLAT, limit=60, dark_h=6) + bench()
    (tmp_path / "site.toml").write_text(text, encoding="utf-8")
    return load_site(tmp_path).site


def test_a_dates_own_day_is_no_part_of_what_is_usual(site):
    """Half of a clear sky every day but one, which is bright."""
    table = empty_table(pd.date_range("2001-01-01", "2002-01-01", freq="h", inclusive="left", tz="UTC"))
    days = tuple(date(2026, 1, 1) + timedelta(days=n) for n in range(365))
    light = clear_day_sums(site, days) * np.where([day == DAY for day in days], 0.9, 0.5)
    table["ghi_w_m2"] = np.repeat(light / 24, 24)
    (own, next_day) = usual_clearness(
        site, TypicalYear("invented", table, 0.0), (DAY, DAY + timedelta(days=1))
    )
    assert len(own) == len(next_day) == 30
    assert own == pytest.approx([0.5] * 30, rel=2e-3)
    assert sorted(next_day)[-2:] == pytest.approx([0.5, 0.9], rel=2e-3)


def test_what_is_usual_decides_todays_lamps(site):
    now = pd.Timestamp("2026-01-13 05:00", tz=site.timezone).to_pydatetime()
    grid, window = planning_grid(site, DAY, now)
    weather = weather_for(site, grid, needed_until=window.end, now=now)
    lights = {house.id: kept_house_light(house, site.folder / "cache") for house in site.houses}
    lamps = {}
    for usual in (0.15, 0.9):
        spread = tuple(usual * np.exp(0.1 * np.sin(np.arange(30))))
        plan = plan_day(
            site,
            replace(weather, usual_clearness=spread),
            NO_HISTORY,
            grid=grid,
            window=window,
            now=now,
            lights=lights,
        )
        lamps[usual] = plan.benches[0].lamps.mol
    assert lamps[0.15] > lamps[0.9] + 0.3


def test_a_replays_usual_knows_no_day_that_is_still_to_come(site):
    """Two typical years that part on a date: mornings up to it are told the same, and what was so far."""
    hours = pd.date_range("2001-01-01", "2002-01-01", freq="h", inclusive="left", tz="UTC")
    chance = np.random.default_rng(1)
    of_hour = np.repeat(chance.uniform(0.2, 0.9, 365), 24) * 300
    parts = 31 + 12  # 13 February
    told = []
    for brighter in (1.0, 2.0):
        light = of_hour.copy()
        light[24 * parts : 24 * 200] *= brighter  # the winter before is the year's end
        table = pd.DataFrame(
            {"time": hours.strftime("%Y-%m-%dT%H:%MZ"), "ghi_w_m2": light, "temp_air_c": 5.0}
        )
        table.to_csv(site.folder / "year.csv", index=False)
        named = replace(site, weather=replace(site.weather, typical="year.csv"))
        told.append(usual_of_dates(named, tuple(date(2026, 2, 1) + timedelta(days=n) for n in range(28))))
    one, other = told
    assert one[:13] == other[:13]
    assert one[0] and all(len(days) >= 30 for days in one)
    assert one[15] != other[15]
    assert usual_of_dates(site, (DAY,)) == ()
