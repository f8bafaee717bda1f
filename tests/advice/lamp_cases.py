"""Lamp tasks made by hand: a bell of sun, one bench, invented needs."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from lightplan.advice.lamps.task import LampTask
from lightplan.clock import STEP_S, Grid, Window, at_local, grid_over
from lightplan.crops.needs import GerminationLight, Needs
from lightplan.site.models import Lamps

ZONE = ZoneInfo("America/New_York")
DAY = date(2026, 1, 15)

LAMPS = Lamps(
    ppfd_umol_m2_s=100,
    power_kw=1.0,
    kind="led-white",
    place="above",
    switch="timer",
    pairs=2,
    usual=(),
    least_run_min=30,
    starts=2,
    sun_enough_ppfd_umol_m2_s=400,
    cooling_min=0,
    working=1.0,
)
SEEDLING = Needs(
    minimum=8,
    target=12,
    limit=None,
    dark_h=6,
    most_in_hand=4,
    most_owed=4,
    lamps_allowed=True,
    germination=None,
    photoperiod_class="day_neutral",
    sources=("site file",),
    checked="site file",
)
SEED = replace(
    SEEDLING,
    minimum=None,
    target=None,
    dark_h=0,
    most_in_hand=0,
    most_owed=0,
    germination=GerminationLight(20, "light_needed"),
)


def grid_of(days: int = 3, first: date = DAY, zone: ZoneInfo = ZONE) -> Grid:
    return grid_over(first, days, zone)


def crew_of(grid: Grid, start_min: int = 390, end_min: int = 1080) -> list[tuple[datetime, datetime]]:
    return [(at_local(d, start_min, grid.zone), at_local(d, end_min, grid.zone)) for d in grid.dates]


def window_of(grid: Grid, days: int = 1, start_min: int = 390) -> Window:
    return Window(
        at_local(grid.dates[0], start_min, grid.zone), at_local(grid.dates[days], start_min, grid.zone)
    )


def spans(grid: Grid, *minutes: tuple[int, int]) -> NDArray[np.bool_]:
    """True within the clock spans of every day."""
    inside = np.zeros(len(grid), dtype=bool)
    for start, stop in minutes:
        inside |= (grid.minute >= start) & (grid.minute < stop)
    return inside


def bell(grid: Grid, dli: tuple[float, ...], rise: int = 435, fall: int = 1035) -> NDArray[np.float64]:
    """Sun PPFD as half a sine between two clock times, each day to its own sum [mol]."""
    share = np.clip(np.sin(np.pi * (grid.minute + 7.5 - rise) / (fall - rise)), 0, None)
    share[(grid.minute < rise) | (grid.minute >= fall)] = 0
    sums = np.bincount(grid.day, weights=share) * STEP_S / 1e6
    return np.asarray(share * (np.array(dli) / sums)[grid.day])


def task(
    grid: Grid,
    dli: tuple[float, ...],
    *,
    bench_id: str = "plugs",
    needs: Needs | None = SEEDLING,
    lamps: Lamps = LAMPS,
    hours: tuple[tuple[int, int], ...] = ((180, 1260),),
    low: float = 0.8,
    already: NDArray[np.bool_] | None = None,
    account: float = 0.0,
) -> LampTask:
    sun = bell(grid, dli)
    return LampTask(
        bench_id=bench_id,
        lamps=lamps,
        sun_ppfd=sun,
        sun_ppfd_low=sun * low,
        daylight=(sun > 0).astype(float),
        needs=(needs,) * len(grid.dates),
        allowed=spans(grid, *hours),
        already=np.zeros(len(grid), dtype=bool) if already is None else already,
        account_mol=account,
    )
