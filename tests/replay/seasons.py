"""Seasons made by hand: bells of sun over invented benches, without sky or house."""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from datetime import date
from pathlib import Path

import numpy as np

from lightplan.advice.lamps.prices import prices
from lightplan.clock import STEP_S, Grid, grid_over
from lightplan.crops.needs import bench_needs
from lightplan.lamp_tasks import in_spans
from lightplan.replay.season import BenchSeason, Season
from lightplan.site.models import Site
from lightplan.site.read import load_site
from lightplan.weather.table import Kind, Spread, Weather, empty_table

FIRST = date(2026, 1, 12)
AHEAD = 16
RISE, FALL = 435, 1035  # wall-clock minutes of the bell of sun

HEAD = """\
[site]
name = "Invented place"
latitude = 36
longitude = -80
timezone = "America/New_York"
{site}
[weather]
source = "clear-sky"
{power}
[crop.petunia.seedling]
minimum = 8
target = 12
limit = {limit}
dark_h = {dark_h}
[[house]]
id = "glass"
shape = "gable"
width_m = 9
length_m = 20
eave_m = 2.4
ridge_m = 4.7
ridge_azimuth_deg = 90
glazing = "single-glass"
"""
BENCH = """\
[[bench]]
id = "{id}"
house = "glass"
area_m2 = 12
lamps = {{ ppfd = {ppfd}, power_kw = {kw} }}
lamp_hours = ["{on}", "{off}"]
[[bench.batch]]
crop = "petunia"
stage = "{stage}"
from = 2025-12-01
to = 2026-06-30
sown = 2025-12-01
"""
FLAT = '[power]\ncapacity_kw = 50\nother_kw = 0\nrates = [{ from = "00:00", to = "24:00", price = 0.2 }]'


def bench(
    id: str = "plugs",
    ppfd: int = 75,
    kw: float = 0.6,
    on: str = "03:00",
    off: str = "21:00",
    stage: str = "seedling",
) -> str:
    return BENCH.format(id=id, ppfd=ppfd, kw=kw, on=on, off=off, stage=stage)


def site_of(*benches: str, power: str = FLAT, site: str = "", limit: float = 60, dark_h: float = 6) -> Site:
    text = HEAD.format(power=power, site=site, limit=limit, dark_h=dark_h) + "".join(benches or (bench(),))
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "site.toml").write_text(text, encoding="utf-8")
        return load_site(Path(folder)).site


def bells(grid: Grid, dli: Sequence[float]) -> np.ndarray:
    """Sun PPFD as half a sine between two clock times, each day to its own sum [mol]."""
    share = np.clip(np.sin(np.pi * (grid.minute + 7.5 - RISE) / (FALL - RISE)), 0, None)
    share[(grid.minute < RISE) | (grid.minute >= FALL)] = 0
    sums = np.bincount(grid.day, weights=share) * STEP_S / 1e6
    return np.asarray(share * (np.asarray(dli) / sums)[grid.day])


def season(site: Site, dli: Sequence[float], *, outdoor: float = 1.6, clear_mol: float = 30.0) -> Season:
    """Days of the given light at every bench; past the end the last day comes again and again."""
    days = len(dli)
    grid = grid_over(FIRST, days + AHEAD, site.timezone)
    mol = np.array([*dli, *([dli[-1]] * AHEAD)], dtype=float)
    sun = bells(grid, mol)
    ones = np.ones(len(grid.dates))
    return Season(
        site=site,
        grid=grid,
        days=days,
        benches=tuple(
            BenchSeason(
                bench=b,
                sun_ppfd=sun,
                daylight=(sun > 0).astype(float),
                allowed=in_spans(grid, b.lamp_hours),
                needs=tuple(bench_needs(b, day, site.own_needs).needs for day in grid.dates),
                sun_mol=mol,
            )
            for b in site.benches
        ),
        outdoor_mol=mol * outdoor,
        clear_mol=np.full(len(mol), clear_mol),
        price=prices(site.power, grid),
        weather=Weather(
            table=empty_table(grid.times),
            source="file",
            kind=Kind.OBSERVED,
            issued_at=None,
            attribution="Invented bells",
            fallback_reason=None,
            spread=Spread(grid.dates, ones, ones, np.ones((1, len(mol)))),
            usual_dli_mol_m2_d=None,
        ),
    )
