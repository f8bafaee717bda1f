"""A year of eight houses and twelve benches: light alone beside pvlib's solar positions, and all of it.

Run: python -m tests.bench.bench_houses
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import pvlib

from lightplan.house.kept import kept_house_light
from lightplan.houses_told import whole_year
from lightplan.site.models import Site
from lightplan.site.read import read_site
from lightplan.sky import Sky, make_sky
from lightplan.weather.year import year_weather
from lightplan.year.light import house_light_year, house_sun
from tests.bench.bench_house import seconds
from tests.conftest import ROOT

RATIO_TARGET, COMMAND_TARGET_S, MEMORY_TARGET_GB = 1.5, 15.0, 1.0
HOUSES, BENCHES = 8, 12
GREENSBORO = 'source = "typical-year"\nfile = "pvlib:723170TYA.CSV"'
HEAD = f"""\
[site]
name = "Invented range"
latitude = 36.1
longitude = -79.95
timezone = "America/New_York"
[weather]
{GREENSBORO}
[power]
currency = "USD"
capacity_kw = 40
rates = [{{ from = "00:00", to = "24:00", price = 0.14 }}, {{ from = "21:00", to = "06:00", price = 0.09 }}]
"""
SHAPES = ("gable", "hoop", "gothic", "multispan")
BATCHES = """\
    { crop = "petunia", stage = "seedling", from = 2026-01-05, to = 2026-03-10 },
    { crop = "tomato", stage = "growing-on", from = 2026-03-11, to = 2026-05-20 },
    { crop = "pansy", stage = "seedling", from = 2026-07-20, to = 2026-09-10 },
    { crop = "primula", stage = "finishing", from = 2026-10-01, to = 2026-12-31 },
"""


def eight_houses() -> str:
    """No two houses alike, so that none is kept for another; two benches in three have lamps, one a tent."""
    text = HEAD
    for n in range(HOUSES):
        shape, glazing = SHAPES[n % len(SHAPES)], "double-poly" if n % 2 else "single-glass"
        text += (
            f'[[house]]\nid = "h{n}"\nshape = "{shape}"\nwidth_m = {6 + n / 2}\nlength_m = {20 + n}\n'
            f"eave_m = {1.5 + n / 10}\nridge_m = {4.5 + n / 10}\nridge_azimuth_deg = {15 * n}\n"
            f'spans = {3 if shape == "multispan" else 1}\nglazing = "{glazing}"\n'
        )
    for n in range(BENCHES):
        more = "" if n % 3 == 2 else "lamps = { ppfd = 80, power_kw = 1.5 }\n"
        more += 'tent = "single-poly"\n' if n % 3 == 1 else ""
        text += (
            f'[[bench]]\nid = "b{n}"\nhouse = "h{n % HOUSES}"\narea_m2 = 20\n{more}batch = [\n{BATCHES}]\n'
        )
    return text


def light_alone(site: Site, sky: Sky) -> float:
    """Seconds for a year of light in every house, its table at hand."""
    grid = whole_year(2026, site)
    for cached in (grid.day, grid.minute):
        assert len(cached) == len(grid)
    lights = {h.id: kept_house_light(h, site.folder / "cache") for h in site.houses}

    def every_house() -> None:
        for house in site.houses:
            house_light_year(house_sun(house, lights[house.id], sky, grid), sky, grid)

    return seconds(every_house)


def command(folder: Path) -> tuple[float, float]:
    """Seconds and peak gigabytes of the whole command as a user runs it."""
    call = "import sys; from lightplan.cli import main; code = main(); import resource; "
    call += "print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss, file=sys.stderr); sys.exit(code)"
    words = ["houses", str(folder), "--year", "2026", "--out", str(folder / "sheets")]
    start = time.perf_counter()
    done = subprocess.run(
        [sys.executable, "-c", call, *words],
        cwd=ROOT,
        env=os.environ | {"PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        check=True,
    )
    per_gb = 1e9 if sys.platform == "darwin" else 1e6  # macOS tells bytes, Linux kilobytes
    return time.perf_counter() - start, int(done.stderr.split()[-1]) / per_gb


def main() -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "range"
        folder.mkdir()
        (folder / "site.toml").write_text(eight_houses(), encoding="utf-8")
        for when in ("first run, houses traced", "again, houses kept"):
            took, memory = command(folder)
            print(
                f"command, {when}: {took:.1f} s (target {COMMAND_TARGET_S:g}), "
                f"peak {memory:.2f} GB (target {MEMORY_TARGET_GB:g})"
            )
        site = read_site(folder)
        grid = whole_year(2026, site)
        sky = make_sky(site, year_weather(site, grid).table, grid)
        light_s = light_alone(site, sky)
        pvlib_s = seconds(lambda: pvlib.solarposition.get_solarposition(grid.times, 36.1, -79.95))
    print(
        f"light alone, {HOUSES} houses × {len(grid)} steps: {light_s:.3f} s; pvlib's solar positions "
        f"{pvlib_s:.3f} s; {light_s / pvlib_s:.2f} × (target {RATIO_TARGET:g})"
    )
    print(f"this process peaked at {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6:.2f} GB")


if __name__ == "__main__":
    main()
