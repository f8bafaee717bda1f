"""Losses kept apart: each on its own dates, its own weather, its own direction of the sun."""

from __future__ import annotations

import dataclasses
from datetime import date, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from lightplan.clock import grid_over
from lightplan.house.losses import DIRT_GATHERS_DAYS, Losses, Outdoors, losses_of
from lightplan.shipped import samples_folder
from lightplan.site.models import Bars, Cover, HouseShade, Overhead
from lightplan.site.read import read_site

HOUSE = dataclasses.replace(
    read_site(samples_folder() / "quillfen").house("block"),
    frame_loss=0.12,
    dirt_loss=0.1,
    overhead=(),
    shade=(),
)
DAY = date(2026, 4, 10)
WASH = Cover("whitewash-light", (0.7, 0.85), False, False, False, None, "house", 0.0, "test", "memory")


def losses(house, day=DAY, *, air_c=15.0, snow_m=0.0, sun_w_m2=0.0) -> Losses:
    grid = grid_over(day, 1, ZoneInfo("UTC"))
    steps = np.ones(len(grid))
    return losses_of(
        house, Outdoors(40 * steps, 100 * steps, air_c * steps, sun_w_m2 * steps, snow_m * steps), grid
    )


def test_each_loss_stands_alone_and_all_multiply():
    house = dataclasses.replace(
        HOUSE,
        overhead=(Overhead(0.15, date(2026, 3, 10), DAY),),
        shade=(HouseShade(WASH, DAY, date(2026, 9, 1)),),
    )
    found = losses(house)
    assert (found.frame, found.dirt[0], found.overhead[0]) == pytest.approx((0.88, 0.9, 0.85))
    assert found.shade == pytest.approx(0.775)
    assert found.diffuse == pytest.approx(0.88 * 0.9 * 0.85 * 0.775)
    assert found.beam == pytest.approx(0.88 * 0.9 * 0.85 * 0.775)
    after = losses(house, DAY + timedelta(days=1))
    assert (after.overhead[0], after.shade[0]) == pytest.approx((1.0, 0.775))
    assert losses(house, DAY - timedelta(days=1)).shade[0] == 1.0


def test_dirt_gathers_after_a_wash():
    house = dataclasses.replace(HOUSE, washed=DAY)
    days = (-1, 0, DIRT_GATHERS_DAYS // 2, DIRT_GATHERS_DAYS, 900)
    kept = [losses(house, DAY + timedelta(days=n)).dirt[0] for n in days]
    assert kept == pytest.approx([0.9, 1.0, 0.95, 0.9, 0.9])


def test_cold_snow_and_bars_each_count_once():
    bare = dataclasses.replace(HOUSE, frame_loss=0.0, dirt_loss=0.0)
    assert losses(bare).beam == pytest.approx(1.0)
    white = losses(bare, air_c=-30.0, snow_m=0.05)
    assert (white.snow_diffuse < 0.6).all()
    assert (white.snow_beam < 0.6).all()
    assert (white.condensation < 1).all()
    assert white.beam == pytest.approx(white.snow_beam * white.condensation)
    assert white.diffuse == pytest.approx(white.snow_diffuse * white.condensation)
    barred = losses(dataclasses.replace(bare, bars=Bars(0.6, 0.06, 0.1)))
    assert (barred.bars_beam < 0.9).all()
    assert barred.beam == pytest.approx(barred.bars_beam)
    assert barred.diffuse == pytest.approx(barred.bars_diffuse)
