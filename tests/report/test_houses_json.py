"""`lightplan houses`: the contract's keys, figures of the house model, months of the sky."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date

import numpy as np
import pandas as pd
import pytest

from lightplan.cli import Exit, main
from lightplan.clock import grid_over
from lightplan.house.bars import bars_leave, bars_leave_of_even_sky
from lightplan.house.kept import kept_house_light
from lightplan.house.losses import losses_of
from lightplan.house_year import house_year
from lightplan.light import bench_light, daily_light_integral, outdoors_of
from lightplan.report.houses_json import (
    ALL_ROUND_DEG,
    ELEVATIONS_DEG,
    QUARTER_DEG,
    houses_json,
    without_gutters,
)
from lightplan.shipped import samples_folder
from lightplan.site.models import Bars
from lightplan.site.read import read_site
from lightplan.sky import make_sky
from lightplan.weather.table import Kind
from lightplan.weather.year import year_weather

YEAR = 2026


@pytest.fixture(scope="module")
def site():
    return read_site(samples_folder() / "quillfen")


@pytest.fixture(scope="module")
def cache(tmp_path_factory):
    return tmp_path_factory.mktemp("cache")


@pytest.fixture(scope="module")
def spring(site):
    grid = grid_over(date(YEAR, 3, 1), 61, site.timezone)
    return grid, make_sky(site, year_weather(site, grid).table, grid)


@pytest.fixture(scope="module")
def document(site, cache, spring):
    grid, sky = spring
    bare = {h.id: kept_house_light(without_gutters(h), cache) for h in site.houses}
    months = {h.id: house_year(h, kept_house_light(h, cache), sky, grid=grid) for h in site.houses}
    return houses_json(site, YEAR, bare=bare, months=months, weather=year_weather(site, grid))


def by_id(document):
    return {house["id"]: house for house in document["houses"]}


def test_every_key_and_every_direction_of_the_contract(site, document):
    assert set(document) == {"site", "year", "timezone", "weather", "houses"}
    assert [h["id"] for h in document["houses"]] == [h.id for h in site.houses]
    for house in document["houses"]:
        asked = [(b["elevation_deg"], b["azimuth_from_ridge_deg"]) for b in house["beam"]]
        turns = ALL_ROUND_DEG if house["id"] == "wall" else QUARTER_DEG
        assert asked == [(e, t) for e in ELEVATIONS_DEG for t in turns]
        assert 0 < house["diffuse"] <= 1
        assert 0 < house["uniformity"]["diffuse_min_over_mean"] <= 1
        assert [m["month"] for m in house["monthly"]] == list(range(1, 13))


def test_a_lean_to_is_told_all_round_because_its_sides_differ(document):
    seen = {
        b["azimuth_from_ridge_deg"]: b["transmittance"]
        for b in by_id(document)["wall"]["beam"]
        if b["elevation_deg"] == 30
    }
    assert abs(seen[90] - seen[270]) > 0.3


def test_the_azimuth_is_the_suns_less_the_ridges(site, cache, document):
    house = site.house("wall")
    light = kept_house_light(house, cache)
    told = next(
        b
        for b in by_id(document)["wall"]["beam"]
        if (b["elevation_deg"], b["azimuth_from_ridge_deg"]) == (45, 60)
    )
    assert told["transmittance"] == pytest.approx(
        float(light.beam(45.0, house.ridge_azimuth_deg + 60)), abs=1e-4
    )


def test_gutters_are_left_out_of_the_glazing_alone_but_not_of_the_months(site, cache, document):
    with_gutters = kept_house_light(site.house("block"), cache).diffuse()
    assert by_id(document)["block"]["diffuse"] > with_gutters + 0.001


def test_months_are_means_of_the_days_of_a_bench_without_a_place(site, cache, document, spring):
    grid, sky = spring
    bench = next(b for b in site.benches if b.place is None and b.tent is None)
    house = site.house(bench.house)
    losses = losses_of(house, outdoors_of(sky), grid)
    light = bench_light(bench, sky, grid=grid, house_light=kept_house_light(house, cache), losses=losses)
    days = daily_light_integral(light.open, grid)[31:]  # April, the grid's last 30 days
    april = by_id(document)[house.id]["monthly"][3]
    assert april["inside_dli"] == pytest.approx(days.mean(), abs=1e-3)
    assert (april["low"], april["high"]) == pytest.approx(tuple(np.quantile(days, [0.1, 0.9])), abs=1e-3)
    assert april["inside_dli"] < april["outdoor_dli"]
    assert by_id(document)[house.id]["monthly"][6]["inside_dli"] is None  # no July in the grid


@pytest.mark.parametrize("kept_light", ["beam", "diffuse"])
def test_bars_take_their_own_share_of_beam_and_of_diffuse(site, cache, spring, kept_light):
    """Deep bars leave one figure of diffuse light and another, by the sun's direction, of the beam."""
    grid, sky = spring
    other = "diffuse" if kept_light == "beam" else "beam"
    sky = replace(sky, **{f"{other}_ppfd_umol_m2_s": np.zeros(len(grid))})
    bare = replace(site.house("frame"), bars=None, frame_loss=0.0)
    barred = replace(bare, bars=Bars(0.6, 0.03, 0.2))
    light = kept_house_light(bare, cache)
    months = [house_year(h, light, sky, grid=grid)[3].inside_dli for h in (bare, barred)]
    left = bars_leave(barred, sky.zenith_deg, sky.azimuth_deg)[grid.day >= 31]
    beam = (sky.beam_ppfd_umol_m2_s * light.beam(sky.zenith_deg, sky.azimuth_deg))[grid.day >= 31]
    even = bars_leave_of_even_sky(barred)
    if kept_light == "diffuse":
        assert months[1] / months[0] == pytest.approx(even, abs=1e-6)
    else:
        mean = float((beam * left).sum() / beam.sum())
        assert months[1] / months[0] == pytest.approx(mean, abs=0.01)  # dirt gathers meanwhile
        assert abs(mean - even) > 0.02


def test_the_command_writes_json_and_nothing_else(tmp_path, capsys):
    site = tmp_path / "site"
    assert main(["start", str(site), "--sample", "tussockbrook"]) == Exit.DONE
    capsys.readouterr()
    assert main(["houses", str(site), "--year", "2024", "--format", "json", "--out", "-"]) == Exit.DONE
    document = json.loads(capsys.readouterr().out)
    assert document["year"] == 2024
    assert all(m["inside_dli"] > 0 for h in document["houses"] for m in h["monthly"])
    assert not (site / "sheets").exists()


LIVE_SITE = """
[site]
name = "Invented"
latitude = 45.0
longitude = 9.0
timezone = "Europe/Rome"
[weather]
source = "{source}"
{more}
[[house]]
id = "h"
shape = "gable"
width_m = 6
length_m = 12
eave_m = 2
ridge_m = 3.5
ridge_azimuth_deg = 0
glazing = "single-glass"
heat_to_c = 15
"""


def written(tmp_path, source, more=""):
    (tmp_path / "site.toml").write_text(LIVE_SITE.format(source=source, more=more), encoding="utf-8")
    return tmp_path


def test_a_live_source_without_a_year_says_that_a_dimmed_sky_stands_in(tmp_path, capsys):
    run = ["houses", str(written(tmp_path, "open-meteo")), "--year", "2026", "--out", "-"]
    assert main(run) == Exit.STAND_IN
    printed = capsys.readouterr()
    document = json.loads(printed.out)
    assert "dimmed clear sky" in document["weather"]["fallback_reason"]
    assert "dimmed clear sky" in printed.err
    june = document["houses"][0]["monthly"][5]
    assert june["high"] > 2 * june["low"]  # cloud is not known, so the band is wide


@pytest.mark.parametrize(("first", "days", "own"), [("2025-01-01", 365, False), ("2026-01-01", 365, True)])
def test_a_year_of_own_weather_is_used_whole(tmp_path, first, days, own):
    """By month and day where it is of other dates; a file of the same light each hour tells at once."""
    site = read_site(written(tmp_path, "file", 'file = "year.csv"'))
    times = pd.date_range(f"{first}T00:00Z", periods=days * 24, freq="h")
    pd.DataFrame(
        {"time": times.strftime("%Y-%m-%dT%H:%M+00:00"), "ghi_w_m2": 100.0, "temp_air_c": 5.0}
    ).to_csv(tmp_path / "year.csv", index=False)
    found = year_weather(site, grid_over(date(YEAR, 1, 1), 365, site.timezone))
    assert (found.table["ghi_w_m2"] == 100.0).mean() > 0.999
    assert (found.kind is Kind.OBSERVED) is own


def test_another_format_is_a_wrong_word(tmp_path, capsys):
    assert main(["houses", str(tmp_path), "--format", "docx"]) == Exit.WRONG_USAGE
    assert "json" in capsys.readouterr().err
