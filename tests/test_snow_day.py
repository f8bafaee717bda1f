"""A morning with snow: the light at the bench and the line about it, from file to JSON."""

from __future__ import annotations

import csv
import json

import pytest

from lightplan.cli import Exit, main


@pytest.fixture
def cold_frame(tmp_path):
    """An unheated hoop house in a hard frost, with or without snow in its weather file. All invented."""

    def make(snow_m: str):
        site = tmp_path / f"snow{snow_m}"
        site.mkdir()
        (site / "site.toml").write_text(
            """
[site]
name = "Invented frame"
latitude = 45.0
longitude = 9.0
timezone = "Europe/Rome"
[weather]
source = "file"
file = "days.csv"
[[house]]
id = "hoop"
shape = "hoop"
width_m = 6.0
length_m = 20.0
ridge_m = 3.0
ridge_azimuth_deg = 90
glazing = "single-poly"
heat_to_c = 0
[[bench]]
id = "b"
house = "hoop"
area_m2 = 20
[[bench.batch]]
crop = "petunia"
stage = "growing-on"
from = 2026-01-01
to = 2026-03-01
""",
            encoding="utf-8",
        )
        with (site / "days.csv").open("w", newline="", encoding="utf-8") as file:
            rows = csv.writer(file)
            rows.writerow(["time", "ghi_w_m2", "temp_air_c", "snow_m"])
            for day in range(19, 29):
                for hour in range(24):
                    sun = 250 if 8 <= hour <= 15 else 0
                    rows.writerow([f"2026-01-{day:02}T{hour:02}:00+01:00", sun, -9, snow_m])
        return site

    return make


def sheet_of(site, capsys):
    assert main(["morning", str(site), "--date", "2026-01-20", "--format", "json", "--out", "-"]) == Exit.DONE
    return json.loads(capsys.readouterr().out)


def test_snow_takes_light_and_is_told(cold_frame, capsys):
    white_sheet, bare_sheet = (sheet_of(cold_frame(depth), capsys) for depth in ("0.10", ""))
    white, bare = white_sheet["benches"][0], bare_sheet["benches"][0]
    assert white["transmission"] < bare["transmission"] * 0.7
    assert any("Snow on the roof" in note for note in white["notes"])
    assert any("never clear a roof" in caution for caution in white_sheet["cautions"])
    assert not any("now on" in note for note in bare["notes"])
    assert not any("clear a roof" in caution for caution in bare_sheet["cautions"])
