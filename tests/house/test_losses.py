"""Losses kept apart: each on its own dates."""

from __future__ import annotations

import dataclasses
from datetime import date, timedelta

import pytest

from lightplan.house.losses import DIRT_GATHERS_DAYS, loss_factors
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


def test_each_loss_stands_alone_and_all_multiply():
    house = dataclasses.replace(
        HOUSE,
        overhead=(Overhead(0.15, date(2026, 3, 10), DAY),),
        shade=(HouseShade(WASH, DAY, date(2026, 9, 1)),),
    )
    found = loss_factors(house, DAY)
    assert (found.frame, found.dirt, found.overhead) == pytest.approx((0.88, 0.9, 0.85))
    assert found.shade == pytest.approx(0.775)
    assert found.kept == pytest.approx(0.88 * 0.9 * 0.85 * 0.775)
    after = loss_factors(house, DAY + timedelta(days=1))
    assert (after.overhead, after.shade) == pytest.approx((1.0, 0.775))
    assert loss_factors(house, DAY - timedelta(days=1)).shade == 1.0


def test_dirt_gathers_after_a_wash():
    house = dataclasses.replace(HOUSE, washed=DAY)
    days = (-1, 0, DIRT_GATHERS_DAYS // 2, DIRT_GATHERS_DAYS, 900)
    kept = [loss_factors(house, DAY + timedelta(days=n)).dirt for n in days]
    assert kept == pytest.approx([0.9, 1.0, 0.95, 0.9, 0.9])


def test_bars_hide_their_share_of_the_roof():
    house = dataclasses.replace(HOUSE, frame_loss=0.0, bars=Bars(0.6, 0.03, 0.05))
    assert loss_factors(house, DAY).frame == pytest.approx(0.95)
