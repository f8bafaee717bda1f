"""An invented range under invented days: one glasshouse, benches as a test asks, and its sheets as JSON."""

from __future__ import annotations

import csv
import json
import math

import pytest

import lightplan.house.kept as kept
from lightplan.cli import Exit, main

SITE = """
[site]
name = "Invented range"
latitude = 45.0
longitude = 9.0
timezone = "Europe/Rome"
{site}
[weather]
source = "file"
file = "days.csv"
[[house]]
id = "glass"
shape = "flat"
width_m = 8
length_m = 20
eave_m = 3
ridge_azimuth_deg = 90
glazing = "single-glass"
heat_to_c = {heat_to_c}
venting = "roof-and-sides"
vents_by = "{vents_by}"
{house}
[cover.net]
transmittance = [0.4, 0.5]
dark = false
combustible = true
night = true
where = "outside"
{benches}
"""
BENCH = """
[[bench]]
id = "{id}"
house = "glass"
area_m2 = 12
{keys}
[[bench.batch]]
crop = "{crop}"
stage = "{stage}"
from = {sown}
to = 2026-05-30
sown = {sown}
"""
WEEK = 'crew = ["06:30", "18:00"]'
SATURDAY, SUNDAY, MONDAY, FRIDAY = "2026-04-25", "2026-04-26", "2026-04-27", "2026-04-24"


def bench(id, keys, *, crop="petunia", stage="seedling", sown="2026-04-17"):
    """Seedlings within ten days of emergence bear least: light alone hurts them."""
    return BENCH.format(id=id, keys=keys, crop=crop, stage=stage, sown=sown)


@pytest.fixture(scope="module")
def traced(tmp_path_factory):
    """A cache folder that the module's tests share: the house is traced once."""
    return tmp_path_factory.mktemp("cache")


@pytest.fixture
def range_(tmp_path, capsys, traced, monkeypatch):
    """A site under ten days of the same sun and air; gives a function that makes the sheet of a date.

    air_c : outdoors, all day or by the hour of the day.
    """
    original = kept.kept_house_light
    monkeypatch.setattr(kept, "kept_house_light", lambda house, folder: original(house, traced))

    def build(
        *benches,
        site=WEEK,
        house="",
        sun=800.0,
        air_c=14.0,
        gust=2.0,
        from_h=6,
        to_h=19,
        heat_to_c=14,
        vents_by="automatic",
    ):
        folder = tmp_path / f"range{len(list(tmp_path.iterdir()))}"
        folder.mkdir()
        own = {"heat_to_c": heat_to_c, "vents_by": vents_by}
        text = SITE.format(site=site, house=house, benches="".join(benches), **own)
        (folder / "site.toml").write_text(text, encoding="utf-8")
        with (folder / "days.csv").open("w", newline="", encoding="utf-8") as file:
            rows = csv.writer(file)
            rows.writerow(["time", "ghi_w_m2", "temp_air_c", "gust_m_s"])
            for day in range(20, 31):
                for hour in range(24):
                    high = math.sin((hour + 0.5 - from_h) / (to_h - from_h) * math.pi)
                    light = max(sun * high, 0.0) if from_h <= hour < to_h else 0.0
                    air = air_c(hour) if callable(air_c) else air_c
                    rows.writerow([f"2026-04-{day}T{hour:02}:00+02:00", round(light, 1), air, gust])

        def sheet(date=FRIDAY, *words):
            asked = ["--date", date, "--format", "json", "--steps", "--out", "-", *words]
            assert main(["morning", str(folder), *asked]) == Exit.DONE
            return json.loads(capsys.readouterr().out)

        return sheet

    return build


BY_HAND = {"open-tent", "close-tent", "cover", "uncover", "vent"}
UNDER_TENT = 'tent = "single-poly"'


def orders(plan, *actions, bench=None):
    return [o for o in plan["orders"] if o["action"] in actions and (bench is None or o["bench"] == bench)]


def of(plan, id):
    return next(b for b in plan["benches"] if b["id"] == id)


def clock(text):
    return text[11:16]


def over_minutes(plan, id):
    limits, steps = of(plan, id)["limits"], plan["steps"][id]
    return sum(t > limits["temperature_c"] for t in steps["temperature_c"][:96]) * 15
