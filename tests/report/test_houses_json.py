"""`lightplan houses`: the contract's keys, figures of the house model, months of the sky."""

from __future__ import annotations

import json
from datetime import date

import numpy as np
import pytest
from click.testing import CliRunner

from lightplan.cli import Exit, commands, main
from lightplan.clock import grid_over
from lightplan.house.kept import kept_house_light
from lightplan.house_year import house_year
from lightplan.light import bench_light, daily_light_integral
from lightplan.report.houses_json import (
    ALL_ROUND_DEG,
    ELEVATIONS_DEG,
    QUARTER_DEG,
    houses_json,
    without_gutters,
)
from lightplan.shipped import samples_folder
from lightplan.site.read import read_site
from lightplan.sky import make_sky
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
    months = {h.id: house_year(h, kept_house_light(h, cache), sky, grid) for h in site.houses}
    return houses_json(site, YEAR, bare=bare, months=months)


def by_id(document):
    return {house["id"]: house for house in document["houses"]}


def test_every_key_and_every_direction_of_the_contract(site, document):
    assert set(document) == {"site", "year", "timezone", "houses"}
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
    light = bench_light(bench, house, sky, grid=grid, house_light=kept_house_light(house, cache))
    days = daily_light_integral(light.open, grid)[31:]  # April, the grid's last 30 days
    april = by_id(document)[house.id]["monthly"][3]
    assert april["inside_dli"] == pytest.approx(days.mean(), abs=1e-3)
    assert (april["low"], april["high"]) == pytest.approx(tuple(np.quantile(days, [0.1, 0.9])), abs=1e-3)
    assert april["inside_dli"] < april["outdoor_dli"]
    assert by_id(document)[house.id]["monthly"][6]["inside_dli"] is None  # no July in the grid


def test_the_command_writes_json_and_nothing_else(tmp_path):
    site = tmp_path / "site"
    assert main(["start", str(site), "--sample", "tussockbrook"]) == Exit.DONE
    run = CliRunner().invoke(
        commands, ["houses", str(site), "--year", "2024", "--format", "json", "--out", "-"]
    )
    assert run.return_value is None or run.exit_code == 0
    document = json.loads(run.stdout)
    assert document["year"] == 2024
    assert all(m["inside_dli"] > 0 for h in document["houses"] for m in h["monthly"])
    assert not (site / "sheets").exists()


def test_another_format_is_a_wrong_word(tmp_path, capsys):
    assert main(["houses", str(tmp_path), "--format", "pdf"]) == Exit.WRONG_USAGE
    assert "json" in capsys.readouterr().err
