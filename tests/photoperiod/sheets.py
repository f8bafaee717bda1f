"""Sheets of an invented flat glasshouse, from a site file to the plan or its JSON."""

from __future__ import annotations

import json
import shutil
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from lightplan.cli import main

HEAD = """\
[site]
name = "Invented Place"
latitude = {latitude}
longitude = {longitude}
timezone = "{zone}"
units = "metric"
crew = ["06:30", "18:00"]
{more}
[weather]
source = "clear-sky"
clearness = [{clearness}]
[[house]]
id = "glass"
name = "Glasshouse"
shape = "flat"
width_m = 12
length_m = 20
eave_m = 3
ridge_azimuth_deg = 90
glazing = "single-glass"
venting = "roof"
vents_by = "automatic"
"""
BENCH = """\
[[bench]]
id = "{id}"
house = "glass"
name = "{name}"
area_m2 = 12
{keys}
[[bench.batch]]
crop = "{crop}"
stage = "{stage}"
from = {first}
to = {last}
"""


@dataclass(frozen=True)
class Row:
    """One bench. keys : further lines of its table."""

    id: str
    crop: str
    keys: str = ""
    stage: str = "finishing"
    more: str = ""


def write(
    folder: Path,
    *rows: Row,
    latitude: float = 43.0,
    longitude: float = -75.0,
    zone: str = "America/New_York",
    year: int = 2026,
    more: str = "",
    clear: float = 0.9,
) -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    head = HEAD.format(
        latitude=latitude, longitude=longitude, zone=zone, more=more, clearness=", ".join([str(clear)] * 12)
    )
    benches = [
        BENCH.format(
            id=row.id,
            name=row.id.title(),
            keys=row.keys,
            crop=row.crop,
            stage=row.stage,
            first=f"{year}-01-01",
            last=f"{year}-12-31",
        )
        + row.more
        for row in rows
    ]
    (folder / "site.toml").write_text(head + "".join(benches), encoding="utf-8")
    return folder


def sheet(folder: Path, day: date, *words: str) -> dict[str, Any]:
    """The morning's JSON; the folder remembers it for the next one."""
    out = folder / "out"
    command = ["morning", str(folder), "--date", day.isoformat(), "--format", "json", "--out", str(out)]
    assert main([*command, "--offline", *words]) == 0
    return json.loads((out / f"{day.isoformat()}.json").read_text(encoding="utf-8"))


def bench(document: dict[str, Any], name: str) -> dict[str, Any]:
    return next(each for each in document["benches"] if each["id"] == name)


def orders(document: dict[str, Any], name: str, *actions: str) -> list[dict[str, Any]]:
    return [o for o in document["orders"] if o["bench"] == name and (not actions or o["action"] in actions)]


def forget(folder: Path) -> None:
    for path in folder.glob("records.db*"):
        path.unlink()
    shutil.rmtree(folder / "out", ignore_errors=True)
