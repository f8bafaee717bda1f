"""Sites for the year's tests: one that stands in a folder, and a year of it worked out once."""

from __future__ import annotations

import json
import shutil
import tempfile
from pathlib import Path
from typing import Any

from lightplan.cli import main
from lightplan.shipped import samples_folder

HEAD = """\
[site]
name = "Invented place"
latitude = {latitude}
longitude = 0.0
timezone = "Europe/London"
[weather]
{weather}
[glazing.traced]
layers = [{{ n = 1.52, normal_transmittance = 0.9 }}]
[glazing.traced-films]
layers = [{{ n = 1.50, normal_transmittance = 0.9 }}, {{ n = 1.50, normal_transmittance = 0.9 }}]
"""
CLEAR = f"source = 'clear-sky'\nclearness = {[0.98] * 12}"


def house(name: str, **keys: Any) -> str:
    """One house of clear glass without frame or dirt; any key may be given."""
    values: dict[str, Any] = {
        "id": name,
        "shape": "gable",
        "width_m": 9.1,
        "length_m": 29.0,
        "eave_m": 2.4,
        "ridge_m": 4.675,
        "ridge_azimuth_deg": 90,
        "glazing": "traced",
        "frame_loss": 0,
        "dirt_loss": 0,
    } | keys
    lines = (f"{key} = {json.dumps(value)}" for key, value in values.items() if value is not None)
    return "[[house]]\n" + "\n".join(lines) + "\n"


def write_site(folder: Path, *houses: str, latitude: float = 50.0, weather: str = CLEAR) -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    text = HEAD.format(latitude=latitude, weather=weather) + "".join(houses)
    (folder / "site.toml").write_text(text, encoding="utf-8")
    return folder


def told(folder: Path, *words: str, expect: int = 0) -> dict[str, Any]:
    """What the command writes as JSON."""
    out = Path(tempfile.mkdtemp(dir=folder))
    code = main(["houses", str(folder), "--year", "2026", "--format", "json", "--out", str(out), *words])
    assert code == expect
    return json.loads(next(out.glob("houses-*.json")).read_text(encoding="utf-8"))


def by_id(rows: list[dict[str, Any]]) -> dict[str, dict[str, Any]]:
    return {row["id"]: row for row in rows}


def sample(name: str, folder: Path) -> Path:
    shutil.copytree(
        samples_folder() / name, folder, ignore=shutil.ignore_patterns("*.db*", "sheets", "cache")
    )
    return folder
