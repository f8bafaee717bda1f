"""Light over the floor: its cells sum to the house's light, and each is what the sun brings it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from lightplan.clock import grid_over
from lightplan.house.transmission import house_light
from lightplan.sky import make_sky
from lightplan.weather.year import year_weather
from lightplan.year.floor import floor_months
from lightplan.year.light import house_light_year, house_sun
from lightplan.year.stretches import means, months_of
from tests.house.houses import house

ROOM = house(shape=house().shape, length_m=12.0, opaque=frozenset({"side-left", "end-b"}))


@pytest.fixture(scope="module")
def spring(answer):
    """Two months over a house that is dark on one side: grid, sky, sun in it."""
    site = answer.answer.year.site
    grid = grid_over(date(2026, 3, 1), 61, ZoneInfo("Europe/London"))
    sky = make_sky(site, year_weather(site, grid).table, grid)
    return grid, sky, house_sun(ROOM, house_light(ROOM), sky, grid)


def test_cells_have_the_mean_of_the_floor(spring):
    grid, sky, sun = spring
    months = months_of(grid.dates)
    inside = means(house_light_year(sun, sky, grid).inside_mol, months)
    floors = floor_months(sun, sky, grid, months)
    assert [floor.cells.mean() for floor in floors] == pytest.approx(inside, rel=1e-3)


def test_each_cell_is_the_sum_of_its_own_suns(spring):
    """Position by position through `beam_cells`, where the year weighs the whole table at once."""
    grid, sky, sun = spring
    day = grid_over(date(2026, 3, 1), 1, grid.zone)
    steps = slice(0, len(day))
    short = replace(
        sky, **{k: v[steps] for k, v in vars(sky).items() if k != "times"}, times=sky.times[steps]
    )
    today = house_sun(ROOM, sun.light, short, day)
    months = months_of(day.dates)
    by_hand = np.zeros(sun.light.diffuse_cells.shape)
    for n in np.flatnonzero(short.beam_ppfd_umol_m2_s > 0):
        light = short.beam_ppfd_umol_m2_s[n] * today.losses.beam[n] * 900 / 1e6
        by_hand += light * sun.light.beam_cells(short.zenith_deg[n], short.azimuth_deg[n])
    even = (short.diffuse_ppfd_umol_m2_s * today.losses.diffuse).sum() * 900 / 1e6
    by_hand += even * sun.light.diffuse_cells
    cells = floor_months(today, short, day, months)[0].cells
    assert cells == pytest.approx(by_hand, rel=2e-3)
    assert cells[::-1] != pytest.approx(by_hand, rel=2e-2)  # the left wall is the dark one


def test_strips_run_from_the_left_wall(spring):
    """The ridge runs to 90: left is north, and an opaque north wall darkens the strips beside it."""
    grid, sky, sun = spring
    floor = floor_months(sun, sky, grid, months_of(grid.dates))[0]
    strips = floor.strips()
    assert strips[0].across_m[0] == pytest.approx(floor.across_m[0])
    assert strips[-1].across_m[1] == pytest.approx(floor.across_m[1])
    assert floor.darkest.across_m[1] < 3 < floor.brightest.across_m[0]
    assert floor.min_over_mean == pytest.approx(floor.cells.min() / floor.cells.mean())
