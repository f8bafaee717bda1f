"""Invented growers for the tests of the page: sites as frozen records, made by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from lightplan.site.models import (
    Batch,
    Bench,
    Glazing,
    House,
    Lamps,
    Layer,
    Shape,
    Site,
    SourceName,
    Stage,
    WeatherChoice,
)

GLASS = Glazing("single-glass", (Layer(1.52, 0.9),), 0.0, 6.2, False, "invented", "site file")
LAMPS = Lamps(90.0, 0.6, "led-white", "above", "timer", 2, ((300, 480),), 30, 2, 400.0, 0, 1.0)

BENCHES = (
    *("Germination", "Plugs north", "Plugs south", "Old bench"),
    *("Aisle left", "Aisle right", "Far end", "By the door"),
)
CROPS = (
    *("petunia", "pepper", "impatiens", "tomato"),
    *("marigold_african", "pansy_viola", "snapdragon", "geranium_seed"),
)
STAGES = (Stage.GERMINATION, Stage.SEEDLING, Stage.SEEDLING, Stage.GROWING_ON)
HOUSES = ("Glasshouse", "Long poly", "Hoop by the lane", "Block", "Lean-to", "Cold frame house")


def place(name: str, latitude: float, longitude: float, zone: str) -> dict[str, Any]:
    return {
        "name": name,
        "latitude": latitude,
        "longitude": longitude,
        "timezone": ZoneInfo(zone),
        "us_units": False,
        "paper": "a4",
    }


EAST_ANGLIA = place("Marl Pit Nursery", 52.4, 1.1, "Europe/London")
FAR_SOUTH = place("Tarn End", -45.9, 170.4, "Pacific/Auckland")
FAR_NORTH = place("Inland Fjord Growers", 69.6, 18.9, "Europe/Oslo")
HALF_HOUR_ZONE = place("Tamarind Terrace", 18.5, 73.9, "Asia/Kolkata")


def house(number: int, name: str) -> House:
    return House(
        id=f"h{number}",
        name=name,
        shape=Shape.GABLE,
        width_m=9.1,
        length_m=29.0,
        eave_m=2.4,
        ridge_m=4.7,
        spans=1,
        gutter_m=0.2,
        ridge_azimuth_deg=90.0,
        faces_deg=None,
        arc="ellipse",
        bulge_m=None,
        section=None,
        glazing=GLASS,
        wall_glazing=GLASS,
        end_glazing=GLASS,
        opaque=frozenset(),
        knee_wall_m=0.0,
        frame_loss=0.12,
        bars=None,
        dirt_loss=0.05,
        washed=None,
        overhead=(),
        shade=(),
        covers=(),
        heat_to_c=16.0,
        can_heat_kw=None,
        vent_at_c=24.0,
        venting="sides",
        vents_by="hand",
        air_changes_closed=1.0,
        air_changes_open=20.0,
    )


def bench(
    number: int, name: str, house_id: str, batches: tuple[Batch, ...], lamps: Lamps | None = LAMPS
) -> Bench:
    return Bench(
        id=f"b{number}",
        house=house_id,
        name=name,
        area_m2=12.0,
        height_m=0.8,
        place=None,
        tent=None,
        tent_height_m=0.45,
        tent_opens=True,
        insulation=None,
        bottom_heat=False,
        heat_to_c=None,
        light_for_seed_ppfd_umol_m2_s=20.0,
        stray_ppfd_umol_m2_s=0.0,
        lamps=lamps,
        lamp_hours=((0, 1440),),
        covers=(),
        batches=batches,
    )


def batch(crop: str, stage: Stage, day: date, *, sown_days_ago: int | None = None) -> Batch:
    sown = None if sown_days_ago is None else day - timedelta(days=sown_days_ago)
    return Batch(crop, stage, day - timedelta(days=9), day + timedelta(days=20), sown, 24, False)


def site(houses: tuple[House, ...], benches: tuple[Bench, ...], **changes: Any) -> Site:
    """A site near 36 N 80 W in US units unless changed."""
    base = Site(
        id="invented-range",
        folder=Path("invented-range"),
        name="Fennel Hollow Growers",
        latitude=36.1,
        longitude=-79.8,
        timezone=ZoneInfo("America/New_York"),
        elevation_m=240.0,
        us_units=True,
        paper="letter",
        crew=((390, 1080),) * 7,
        days_off=frozenset(),
        horizon=(),
        foot_candles=False,
        weather=WeatherChoice(SourceName.TYPICAL_YEAR, (), None, None, None, None, None, None, None),
        power=None,
        houses=houses,
        benches=benches,
        own_needs={},
    )
    return replace(base, **changes)


def range_of(count: int, day: date, **changes: Any) -> Site:
    """A site of `count` benches in as many houses as such a range would have.

    Of every eight benches two germinate seed, one has two batches and no lamps, one is empty.
    """
    houses = tuple(house(n, HOUSES[n]) for n in range(min(6, 1 + count // 3)))
    benches = []
    for n in range(count):
        stage = STAGES[n % 4]
        stands: tuple[Batch, ...] = (
            batch(CROPS[n % 8], stage, day, sown_days_ago=6 if stage is Stage.GERMINATION else None),
        )
        lamps: Lamps | None = LAMPS
        if n % 8 == 6:
            stands = (batch(CROPS[6], Stage.GROWING_ON, day), batch(CROPS[5], Stage.SEEDLING, day))
            lamps = None
        if n % 8 == 7:
            stands = ()
        name = BENCHES[n] if n < len(BENCHES) else f"Bench {n + 1}"
        benches.append(bench(n, name, houses[n % len(houses)].id, stands, lamps))
    benches.sort(key=lambda b: b.house)
    return site(houses, tuple(benches), **changes)
