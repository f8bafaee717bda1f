"""Temperatures on the sheet, from site file to JSON."""

from __future__ import annotations

import csv
import json
from datetime import datetime

import numpy as np
import pytest

import lightplan.house.kept as kept
from lightplan.cli import Exit, main
from lightplan.crops.limits import Limits
from lightplan.heat_day import BenchWarmth
from lightplan.remedies import lamps_too_hot

SITE = """
[site]
name = "Invented range"
latitude = 45.0
longitude = 9.0
timezone = "Europe/Rome"
[weather]
source = "file"
file = "days.csv"
[[house]]
id = "glass"
shape = "gable"
width_m = 8
length_m = 20
eave_m = 2.4
ridge_m = 4.2
ridge_azimuth_deg = 90
glazing = "single-glass"
heat_to_c = 12
venting = "roof-and-sides"
{house}
[[bench]]
id = "germ"
house = "glass"
area_m2 = 12
tent = "single-poly"
heat_to_c = 22
lamps = {{ ppfd = 90, power_kw = {power}, usual = [["00:00", "24:00"]] }}
[[bench.batch]]
crop = "petunia"
stage = "germination"
from = 2026-03-01
to = 2026-03-30
sown = 2026-03-01
[[bench]]
id = "under"
house = "glass"
area_m2 = 12
tent = "single-poly"
[[bench.batch]]
crop = "petunia"
stage = "seedling"
from = 2026-03-01
to = 2026-03-30
[[bench]]
id = "harden"
house = "glass"
area_m2 = 12
[[bench.batch]]
crop = "tomato"
stage = "hardening"
from = 2026-03-01
to = 2026-03-30
[[bench]]
id = "empty"
house = "glass"
area_m2 = 12
{more}
"""


@pytest.fixture(scope="module")
def traced(tmp_path_factory):
    """A cache folder that the module's tests share: the house is traced once."""
    return tmp_path_factory.mktemp("cache")


@pytest.fixture(scope="module")
def made():
    """Sheets by what was asked of them: each is made once."""
    return {}


@pytest.fixture
def sheet(tmp_path, capsys, traced, made, monkeypatch):
    """The JSON of 10 March in an invented range; air and midday sun held all ten days."""
    original = kept.kept_house_light
    monkeypatch.setattr(kept, "kept_house_light", lambda house, folder: original(house, traced))

    def make(**asked):
        words = tuple(sorted(asked.items()))
        if words not in made:
            made[words] = a_sheet(**asked)
        return made[words]

    def a_sheet(*, house="", power=0.6, more="", air_c=8.0, sun=400.0):
        folder = tmp_path / f"range{len(list(tmp_path.iterdir()))}"
        folder.mkdir()
        text = SITE.format(house=house, power=power, more=more)
        (folder / "site.toml").write_text(text, encoding="utf-8")
        with (folder / "days.csv").open("w", newline="", encoding="utf-8") as file:
            rows = csv.writer(file)
            rows.writerow(["time", "ghi_w_m2", "temp_air_c"])
            for day in range(9, 20):
                for hour in range(24):
                    light = sun if 10 <= hour <= 14 else 0
                    rows.writerow([f"2026-03-{day:02}T{hour:02}:00+01:00", light, air_c])
        words = ["--date", "2026-03-10", "--format", "json", "--steps", "--out", "-"]
        assert main(["morning", str(folder), *words]) == Exit.DONE
        return json.loads(capsys.readouterr().out)

    return make


def by_id(plan):
    return {bench["id"]: bench for bench in plan["benches"]}


def test_each_stage_is_told_where_it_feels_the_heat(sheet):
    plan = sheet()
    benches = by_id(plan)
    assert [benches[b]["temperature_c"]["where"] for b in ("germ", "under", "harden", "empty")] == [
        "medium",
        "leaf",
        "air",
        None,
    ]
    house = plan["houses"][0]["temperature_c"]
    assert benches["harden"]["temperature_c"]["peak_open"] == pytest.approx(house["max"], abs=0.01)
    assert benches["under"]["temperature_c"]["peak_open"] > house["max"] + 6
    assert house["min"] == pytest.approx(12, abs=0.01)
    assert plan["steps"]["empty"]["temperature_c"] is None


def test_the_peak_is_that_of_the_civil_day_with_four_kelvin_either_way(sheet):
    plan = sheet()
    for bench in ("germ", "under", "harden"):
        told, steps = by_id(plan)[bench]["temperature_c"], plan["steps"][bench]
        assert len(steps["temperature_c"]) == len(steps["time"]) > 96
        today = np.array(steps["temperature_c"][:96])
        assert told["peak_open"] >= told["peak_after"] == today.max()
        assert (told["low"], told["high"]) == pytest.approx((today.max() - 4, today.max() + 4), abs=1e-3)
        assert told["at"] == steps["time"][int(today.argmax())]
        assert 10 <= datetime.fromisoformat(told["at"]).hour <= 15


def test_lamps_in_the_tent_warm_it_by_their_power(sheet):
    dim, strong = (by_id(sheet(power=power, sun=0.0))["germ"]["temperature_c"] for power in (2.4, 3.6))
    # 100 W/m² more, past what bottom heat makes up, into the tent of a square bench: film 6.4 W/m²K on
    # 1 + 0.52 of its area, 3.7 below, 0.15 with its air
    assert strong["peak_open"] - dim["peak_open"] == pytest.approx(100 / 13.6, rel=0.1)


def test_house_vents_by_hand_are_ordered_open_while_the_air_would_pass_them(sheet):
    by_hand, automatic = (
        sheet(air_c=18.0, sun=600.0),
        sheet(air_c=18.0, sun=600.0, house='vents_by = "automatic"'),
    )
    (order,) = (o for o in by_hand["orders"] if o["action"] == "vent")
    most = automatic["houses"][0]["temperature_c"]["max"]
    assert by_hand["houses"][0]["temperature_c"]["max"] == pytest.approx(most, abs=1.0)
    assert order["why"]["value"] > most + 5
    assert order["why"]["limit"] == 24
    assert "10:00" <= order["time"][11:16] <= "11:00"
    assert order["bench"] is None
    assert "14:" in order["until"] or "15:" in order["until"]
    assert not any(o["action"] == "vent" for o in automatic["orders"])
    assert not any("counted as shut" in n for b in by_hand["benches"] for n in b["notes"])


def test_a_bench_that_would_cook_has_its_tent_opened_and_closed_in_crew_hours(sheet):
    plan = sheet(air_c=8.0, sun=600.0)
    bench = by_id(plan)["under"]
    opened, closed = (
        next(o for o in plan["orders"] if o["bench"] == "under" and o["action"] == action)
        for action in ("open-tent", "close-tent")
    )
    assert opened["until"] == closed["time"]
    assert "06:30" <= opened["time"][11:16] < closed["time"][11:16] <= "18:00"
    assert opened["why"]["rule"] == "temperature-limit"
    limit = bench["limits"]["temperature_c"]
    assert bench["temperature_c"]["peak_open"] > limit
    over = sum(t > limit for t in plan["steps"]["under"]["temperature_c"][:96]) * 15
    assert over <= bench["limits"]["temperature_minutes"]
    assert bench["dli"]["sun"] >= bench["dli"]["sun_open"]


def test_what_no_remedy_holds_is_said_with_its_limit_and_minutes(sheet):
    plan = sheet(air_c=40.0, sun=900.0)
    notes = by_id(plan)["under"]["notes"]
    (note,) = (n for n in notes if n.startswith("Leaves over the limit"))
    over = sum(t > 38 for t in plan["steps"]["under"]["temperature_c"][:96]) * 15
    assert f"38 °C (rule of thumb) for {over:,} min" in note
    assert any("Nothing at hand holds" in n for n in notes)
    assert any(o["action"] == "move" and o["bench"] == "under" for o in plan["orders"])
    cool = by_id(sheet(air_c=2.0, sun=50.0))["under"]["notes"]
    assert not any(("over the limit of" in n and "°C" in n) or "Nothing at hand" in n for n in cool)


def test_a_cover_that_burns_keeps_the_lamps_under_it_out(sheet):
    """The tent is not to be opened and fleece is all there is; its lamps have to cool for half an hour."""
    more = """
[[bench]]
id = "covered"
house = "glass"
area_m2 = 12
covers = ["shade-cloth-80"]
lamps = { ppfd = 90, power_kw = 0.6, usual = [["00:00", "24:00"]], cooling_min = 30 }
[[bench.batch]]
crop = "petunia"
stage = "seedling"
from = 2026-03-01
to = 2026-03-30
"""
    plan = sheet(air_c=10.0, sun=900.0, more=more)
    bench = by_id(plan)["covered"]
    (cover,) = bench["covers"]
    steps = plan["steps"]["covered"]
    first = steps["time"].index(cover["on"])
    last = steps["time"].index(cover["off"])
    assert sum(steps["lamp_ppfd"][first - 2 : last]) == 0
    assert bench["peak_ppfd"]["after"] < bench["peak_ppfd"]["open"]
    assert bench["dli"]["sun"] < bench["dli"]["sun_open"]


def test_a_house_that_its_heating_cannot_hold_is_told(sheet):
    # single glass, 0.3 kW: 1.9 W per m² of floor hold next to nothing against −6 °C
    weak = by_id(sheet(house="can_heat_kw = 0.3", air_c=-6.0, sun=0.0))
    cold = [n for n in weak["under"]["notes"] if n.startswith("House air may fall to −")]
    assert cold == ["House air may fall to −6 °C, its heating is set to 12 °C."]
    assert any("harden off may meet −6 °C" in n for n in weak["harden"]["notes"])
    assert not any("may fall" in n for n in weak["empty"]["notes"])
    warm = by_id(sheet(air_c=-6.0, sun=0.0))
    assert not any("may fall" in n or "may meet" in n for b in warm.values() for n in b["notes"])


def test_ten_degrees_are_held_within_three(sheet):
    # 160 m² of floor; the notes begin 3 K under what the house is heated to
    body_w_k = 1000 * 9.0  # found below from the sheet itself: air = outdoors + kW / (W/K)
    first = sheet(house="can_heat_kw = 9.0", air_c=-6.0, sun=0.0, power=0.01)
    rise = first["houses"][0]["temperature_c"]["min"] + 6
    per_k = body_w_k / rise
    for short_of, told in ((2.5, False), (3.5, True)):
        kw = per_k * (18 - short_of) / 1000
        notes = by_id(sheet(house=f"can_heat_kw = {kw:.3f}", air_c=-6.0, sun=0.0, power=0.01))["under"][
            "notes"
        ]
        assert any("may fall" in n for n in notes) is told


def test_an_own_limit_that_outdoes_what_kills_seed_is_told(sheet):
    own = "[crop.petunia.germination]\nlimit_c = {}"
    (note,) = (n for n in by_id(sheet(more=own.format(38)))["germ"]["notes"] if "own limit" in n)
    assert "38 °C" in note and "43 °C" in note and "40 °C" in note
    assert not any("own limit" in n for n in by_id(sheet(more=own.format(35)))["germ"]["notes"])


def test_lamps_give_way_to_heat_but_seed_keeps_its_light_until_heat_would_kill():
    limits = Limits(None, None, 24.0, 60, 40.0, 0, "page")
    lit = np.ones(96, dtype=bool)
    warm, hot = np.full(96, 26.0), np.full(96, 41.0)
    dark = np.full(96, 23.0)
    for temperature, seed, off in ((warm, False, True), (warm, True, False), (hot, True, True)):
        found = lamps_too_hot(limits, BenchWarmth("medium", temperature, temperature), dark, lit, seed=seed)
        assert found.all() == found.any() == off


def test_lamps_are_not_blamed_for_heat_that_is_there_without_them() -> None:
    """Over the limit all day, by the sun alone from 10:00 to 14:00: lamps give way in the other hours."""
    limits = Limits(None, None, 24.0, 60, 40.0, 0, "table; memory")
    lit, warm = np.ones(96, dtype=bool), np.full(96, 26.0)
    dark = np.where((np.arange(96) >= 40) & (np.arange(96) < 56), 25.0, 22.0)
    off = lamps_too_hot(limits, BenchWarmth("medium", warm, warm), dark, lit, seed=False)
    assert np.flatnonzero(~off).tolist() == list(range(40, 56))
