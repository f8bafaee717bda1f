"""An invented grower in a hot summer, and a small bench in invented weather without house or sun tracing."""

from __future__ import annotations

import shutil
from dataclasses import replace
from datetime import date, timedelta
from functools import cache
from pathlib import Path

import numpy as np

from lightplan.advice.inversion import Inversion, Place, plan_inversion
from lightplan.crops.emergence import Seed, seed_of
from lightplan.heat.bench_body import bench_body
from lightplan.heat.runs import BenchHeat
from lightplan.site.models import Bench, Cover, Site, Stage
from lightplan.site.read import load_text

HOT = """\
# Saltgrass Hollow: an invented grower. Every name, house, bench and date here is made up.
# The weather is real data: the typical year of Greensboro that pvlib ships.
[site]
name = "Saltgrass Hollow"
latitude = 36.1
longitude = -79.95
timezone = "America/New_York"
elevation_m = 270
crew = ["06:00", "19:30"]

[weather]
source = "typical-year"
file = "pvlib:723170TYA.CSV"

[power]
currency = "USD"
capacity_kw = 12
other_kw = 4
rates = [
    { from = "00:00", to = "24:00", price = 0.14 },
    { from = "21:00", to = "06:00", price = 0.09 },
]

[[house]]
id = "north"
name = "North house"
shape = "gable"
width_m = 9
length_m = 24
eave_m = 2.4
ridge_m = 4.6
ridge_azimuth_deg = 90
glazing = "double-poly"
heat_to_c = 16
vent_at_c = 20
venting = "fan"
shade = [{ cover = "whitewash-medium", from = 2026-05-01, to = 2026-09-20 }]

[[house]]
id = "shed"
name = "Shaded shed"
shape = "flat"
width_m = 5
length_m = 8
eave_m = 2.6
ridge_azimuth_deg = 0
glazing = "twin-wall-polycarbonate"
end_walls = "opaque"
heat_to_c = 12
vent_at_c = 18
venting = "fan"
shade = [{ cover = "whitewash-medium", from = 2026-01-01, to = 2026-12-31 }]

[[bench]]
id = "dark"
name = "Dark bench"
house = "north"
area_m2 = 12
place = { across_m = [0.6, 1.8], along_m = [3, 13] }
tent = "single-poly"
insulation = { where = "under-and-sides", r_m2k_w = 1.8 }
lamps = { ppfd = 150, power_kw = 0.9, kind = "led-white", place = "above", usual = [["18:00", "24:00"]] }
covers = ["shade-cloth-50", "shade-cloth-70", "foil-board"]
[[bench.batch]]
crop = "tomato"
stage = "seedling"
from = 2026-03-01
to = 2026-04-10
[[bench.batch]]
crop = "celery"
stage = "germination"
from = 2026-05-18
to = 2026-06-12
sown = 2026-05-18
trays = 40
day = "inverted"


[[bench]]
id = "mums"
name = "Autumn pots"
house = "north"
area_m2 = 60
covers = ["shade-cloth-50"]
batch = [
  { crop = "cosmos_sulphureus", stage = "growing-on", from = 2026-06-01, to = 2026-08-31 },
]

[[bench]]
id = "cooler"
name = "Shed bench"
house = "shed"
area_m2 = 6
lamps = { ppfd = 80, power_kw = 0.3, usual = [["06:00", "20:00"]] }
covers = ["fleece"]
"""
START = date(2026, 6, 1)
# another bench turned round at the same time, under the same roof
SECOND = """\
[[bench]]
id = "dark2"
name = "Second dark bench"
house = "north"
area_m2 = 12
place = { across_m = [2.6, 3.8], along_m = [3, 13] }
tent = "single-poly"
insulation = { where = "under-and-sides", r_m2k_w = 1.8 }
lamps = { ppfd = 150, power_kw = 0.9, kind = "led-white", place = "above" }
covers = ["shade-cloth-70", "foil-board"]
[[bench.batch]]
crop = "petunia"
stage = "germination"
from = 2026-05-18
to = 2026-06-12
day = "inverted"

"""


def write_hot_site(folder: Path, text: str = HOT) -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "site.toml").write_text(text, encoding="utf-8")
    return folder


def beside(hot: Path, folder: Path, text: str) -> Path:
    """Another site of the same houses, their traced light taken along."""
    shutil.copytree(hot / "cache", folder / "site" / "cache")
    return write_hot_site(folder / "site", text)


def other(*changes: tuple[str, str]) -> str:
    """The site's text with words replaced; each must be there."""
    text = HOT
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    return text


@cache
def hot_site() -> Site:
    return load_text(HOT, Path("saltgrass")).site


def dark_bench(**changes: object) -> Bench:
    return replace(hot_site().benches[0], batches=(), **changes)


def sun_of(days: int, noon_ppfd: float = 700.0) -> np.ndarray:
    hours = np.arange(96) / 4 + 0.125
    return np.tile(noon_ppfd * np.clip(np.sin((hours - 6) / 14 * np.pi), 0, None), days)


def air_of(days: int, mean_c: float, swing_k: float) -> np.ndarray:
    """House air, coolest at 05:00 and warmest at 17:00."""
    hours = np.arange(96) / 4 + 0.125
    return np.tile(mean_c - swing_k * np.cos((hours - 5) / 12 * np.pi), days)


def place_of(
    bench: Bench,
    *,
    air_c: np.ndarray,
    sun_ppfd: np.ndarray,
    house_covers: tuple[Cover, ...] = (),
    crew: tuple[int, int] = (360, 1170),
    sunrise_min: int = 360,
) -> Place:
    """A bench in a house whose air is given; lamps and covers do not change it."""
    days = len(air_c) // 96
    return Place(
        bench=bench,
        dates=tuple(START + timedelta(days=n) for n in range(days)),
        day=np.repeat(np.arange(days), 96),
        minute=np.tile(np.arange(96) * 15, days),
        house_air=lambda lit, cover, drawn: air_c,
        house_covers=house_covers,
        heat=BenchHeat(
            where="medium",
            body=bench_body(bench, Stage.GERMINATION),
            sun_w_m2=sun_ppfd * 0.48,
            sun_ppfd=sun_ppfd,
            tent_passes=np.full(len(air_c), 0.85),
            lamp_ppfd=bench.lamps.ppfd_now_umol_m2_s if bench.lamps else 0.0,
        ),
        sun_ppfd=sun_ppfd,
        crew=crew,
        sunrise_min=(sunrise_min,) * days,
    )


def seed(crop: str, bench: Bench | None = None) -> Seed:
    return seed_of(crop, bench or dark_bench(), START, {})


def planned(place: Place, crop: str = "petunia", *, days: int = 7) -> Inversion:
    """The plan of sowing dates from the second day of the place's weather on."""
    return plan_inversion(hot_site(), place, seed(crop), first=1, last=days, wanted_mol=(6.0, 10.0))
