"""Bars: their shadow by the sun's direction, held against rays thrown at bars drawn in space."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from lightplan.house.bars import bars_leave, bars_leave_of_even_sky
from lightplan.house.optics import stack_optics
from lightplan.site.models import Bars, Shape
from tests.house.houses import GLASS, house

BARS = Bars(spacing_m=0.6, width_m=0.03, depth_m=0.12)


def flat(bars: Bars | None = BARS, **changes):
    """A level pane of great width with its ridge north-south: sides and ends do not count."""
    values = {
        "width_m": 9000.0,
        "length_m": 9000.0,
        "eave_m": 0.81,
        "ridge_m": 0.81,
        "ridge_azimuth_deg": 0.0,
    }
    return dataclasses.replace(house(Shape.FLAT), bars=bars, **(values | changes))


def through_bars(bars: Bars, along: float, up: float, rays: int = 4000) -> float:
    """Share of rays that pass: each climbs through the depth of the bars and is looked at all the way."""
    start = (np.arange(rays) + 0.5) / rays * bars.spacing_m
    climb = np.linspace(0, bars.depth_m, 800)
    at = start[:, None] + climb * along / up
    return float((at % bars.spacing_m >= bars.width_m).all(axis=1).mean())


@pytest.mark.parametrize(("zenith", "azimuth"), [(0, 0), (30, 90), (30, 0), (50, 45), (70, 20), (85, 10)])
def test_the_shadow_of_bars_drawn_in_space(zenith, azimuth):
    z, a = np.radians([zenith, azimuth])
    seen = through_bars(BARS, np.sin(z) * np.cos(a), np.cos(z))
    assert float(bars_leave(flat(), zenith, azimuth)) == pytest.approx(seen, abs=0.003)


def test_depth_is_what_costs_more_than_the_width_seen_from_above():
    thin, deep = (dataclasses.replace(BARS, depth_m=d) for d in (0.0, 0.12))
    assert float(bars_leave(flat(deep), 0, 0)) == pytest.approx(0.95)
    assert bars_leave_of_even_sky(flat(thin)) == pytest.approx(0.95)
    assert bars_leave_of_even_sky(flat(deep)) < 0.85
    gable = house(bars=deep)
    assert (
        bars_leave_of_even_sky(gable) < bars_leave_of_even_sky(dataclasses.replace(gable, bars=thin)) - 0.05
    )


def test_sun_square_to_the_ridge_sees_width_alone_and_along_it_the_flanks():
    gable = house(bars=BARS)  # ridge east-west
    assert bars_leave(gable, [20.0, 60.0], [180.0, 180.0]) == pytest.approx([0.95, 0.95])
    assert float(bars_leave(gable, 60.0, 90.0)) < 0.75


def test_a_house_without_bars_loses_nothing_to_them():
    assert bars_leave(house(), [10.0, 80.0], [0.0, 200.0]) == pytest.approx([1.0, 1.0])
    assert bars_leave_of_even_sky(house()) == 1.0


def test_twice_the_directions_change_the_sky_by_little(monkeypatch):
    gable = house(bars=BARS)
    usual = bars_leave_of_even_sky(gable)
    monkeypatch.setattr("lightplan.house.entering.SKY_ZENITHS", 36)
    monkeypatch.setattr("lightplan.house.entering.SKY_AZIMUTHS", 144)
    assert bars_leave_of_even_sky(gable) == pytest.approx(usual, abs=0.002)


def by_hand(of, to_sun) -> float:
    """Faces of a lean-to one by one: outward normal, area above 0.8 m a metre of ridge, axis of spacing."""
    rise, length = 4.0 - 2.0, 12.0
    slope = np.array([rise, 0.0, 3.0]) / np.hypot(rise, 3.0)  # falls to the right
    end = (4.0 + 2.0) / 2 * 3.0 - 0.8 * 3.0
    faces = [
        (np.array([1.0, 0.0, 0.0]), 2.0 - 0.8, 1),
        (slope, float(np.hypot(rise, 3.0)), 1),
        (np.array([0.0, -1.0, 0.0]), end / length, 0),
        (np.array([0.0, 1.0, 0.0]), end / length, 0),
    ]
    total = kept = 0.0
    for normal, area, spaced_along in faces:
        cosine = float(normal @ to_sun)
        if cosine > 0:
            light = area * cosine * float(stack_optics((GLASS,), np.array([cosine])).passed[0])
            taken = BARS.width_m + BARS.depth_m * abs(to_sun[spaced_along]) / cosine
            total += light
            kept += light * (1 - min(taken / BARS.spacing_m, 1))
    return kept / total


@pytest.mark.parametrize(
    ("zenith", "azimuth"), [(70, 60), (70, 120), (70, 180), (40, 300), (80, 90), (20, 250)]
)
def test_a_lean_to_face_by_face(zenith, azimuth):
    """Ridge to the north, glass to the east: an axis turned round, or a face left out, shows."""
    of = house(
        Shape.LEAN_TO,
        width_m=3.0,
        length_m=12.0,
        eave_m=2.0,
        ridge_m=4.0,
        ridge_azimuth_deg=0.0,
        faces_deg=90.0,
        opaque=frozenset({"side-left"}),
        bars=BARS,
    )
    z, a = np.radians([zenith, azimuth])
    to_sun = np.array([np.sin(z) * np.sin(a), np.sin(z) * np.cos(a), np.cos(z)])
    assert float(bars_leave(of, zenith, azimuth)) == pytest.approx(by_hand(of, to_sun), abs=0.002)
