"""A small site in a folder, as a grower would write it: one house, a bench on a timer, one by hand."""

from __future__ import annotations

from pathlib import Path

SMALL = """\
[site]
name = "Invented Place"
latitude = 52.5
longitude = 13.4
timezone = "Europe/Berlin"
[weather]
{weather}
[[house]]
id = "glass"
shape = "flat"
width_m = 4
length_m = 6
eave_m = 2.4
ridge_azimuth_deg = 90
glazing = "single-glass"
[[bench]]
id = "plugs"
house = "glass"
area_m2 = 12
lamps = {{ ppfd = 80, power_kw = 0.6 }}
lamp_hours = ["03:00", "23:00"]
[[bench.batch]]
crop = "petunia"
stage = "seedling"
from = 2026-01-01
to = 2026-12-31
[[bench]]
id = "hand"
house = "glass"
area_m2 = 6
lamps = {{ ppfd = 60, power_kw = 0.4, switch = "hand" }}
[[bench.batch]]
crop = "petunia"
stage = "seedling"
from = 2026-01-01
to = 2026-12-31
"""


def write_small_site(folder: Path, weather: str = 'source = "clear-sky"') -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "site.toml").write_text(SMALL.format(weather=weather), encoding="utf-8")
    return folder


def at_service(url: str, source: str = "open-meteo") -> str:
    return f'source = "{source}"\nurl = "{url}"\ncontact = "grower@example.org"'
