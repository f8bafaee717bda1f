"""Drawings of the replay page: energy that adds up over the season, and each bench's light day by day."""

from __future__ import annotations

from datetime import date
from itertools import pairwise

import numpy as np
from markupsafe import Markup
from numpy.typing import NDArray

from lightplan.clock import STEPS_PER_H
from lightplan.replay.lit import BenchRun, PolicyRun
from lightplan.replay.replay import Replay
from lightplan.report.drawing import INK, RULE, SUN, box, line, path, svg
from lightplan.report.units import MONTHS

Array = NDArray[np.float64]

WIDTH, ENERGY_HEIGHT, BENCH_HEIGHT, ACCOUNT_HEIGHT = 480.0, 130.0, 64.0, 26.0
HEADROOM = 1.08
SHOWN = (
    "bound",
    "advice",
    "same-day",
)  # they set the scale: the others leave the drawing where they burn far more

# weight and dash tell the lines apart on any printer
STYLES: dict[str, tuple[float, str | None]] = {
    "bound": (0.9, None),
    "advice": (2.6, None),
    "same-day": (1.3, "6 3"),
    "threshold": (1.3, "1.5 2.5"),
    "fixed-16h": (1.3, "9 3 1.5 3"),
}


def sample(name: str) -> Markup:
    """A policy's line by itself, for the table."""
    width, dash = STYLES[name]
    return svg(40, 8, [line(0, 4, 40, 4, width=width, dash=dash)], f"line of {name}")


def month_cells(dates: tuple[date, ...]) -> tuple[tuple[str, float], ...]:
    """Label and share of the width [%] of each month or part of one; a short part has no name."""
    first = [n for n, day in enumerate(dates) if n == 0 or day.day == 1]
    cells = []
    for a, b in pairwise([*first, len(dates)]):
        share = 100 * (b - a) / len(dates)
        cells.append((MONTHS[dates[a].month - 1][:3] if share > 5 else "", share))
    return tuple(cells)


def energy(replay: Replay) -> Markup:
    """kWh of every policy, added up from the first day, up to what stands at the top of the axis."""
    top = energy_top(replay)
    parts = _month_lines(replay.season.dates, ENERGY_HEIGHT)
    for run in (*replay.policies, replay.bound):
        width, dash = STYLES[run.name]
        points = _cut_at_top(_daily_kwh(replay, run).cumsum(), top)
        parts.append(path(points, fill="none", stroke=INK, width=width, dash=dash))
    parts.append(line(0, ENERGY_HEIGHT, WIDTH, ENERGY_HEIGHT, width=0.7))
    return svg(WIDTH, ENERGY_HEIGHT, parts, "lamp energy added up over the season")


def energy_top(replay: Replay) -> float:
    """kWh at the top edge of the energy drawing."""
    most = max(run.kwh for run in (*replay.policies, replay.bound) if run.name in SHOWN)
    return max(most * HEADROOM, 1e-9)


def leaving(replay: Replay) -> tuple[str, ...]:
    """Policies whose line goes out at the top."""
    return tuple(run.name for run in replay.policies if run.kwh > energy_top(replay))


def _daily_kwh(replay: Replay, run: PolicyRun) -> Array:
    total = np.zeros(replay.season.days)
    for bench, mine in zip(replay.season.benches, run.benches, strict=True):
        total += mine.lamp_mol / bench.step_mol * bench.draw_kw / STEPS_PER_H
    return total


def _cut_at_top(kwh: Array, top: float) -> list[tuple[float, float]]:
    width = WIDTH / len(kwh)
    points = [(0.0, ENERGY_HEIGHT)]
    before = 0.0
    for number, value in enumerate(map(float, kwh)):
        if value > top:
            share = (top - before) / (value - before)
            points.append(((number + share) * width, 0.0))
            break
        points.append(((number + 1) * width, ENERGY_HEIGHT * (1 - value / top)))
        before = value
    return points


def bench_light(replay: Replay, run: BenchRun) -> Markup:
    """A bench's days: sun light, lamps solid on top; minimum dashed, target a line."""
    needs = replay.season.benches[_number(replay, run)].needs[: replay.season.days]
    targets = [n.target for n in needs if n is not None and n.target is not None]
    top = max([float(run.dli.max(initial=0.0)), *targets, 1e-9]) * 1.04
    width = WIDTH / replay.season.days
    parts = []
    for number, (sun, lamps) in enumerate(zip(run.sun_mol, run.lamp_mol, strict=True)):
        x, low, high = number * width, float(sun) / top, float(sun + lamps) / top
        if low > 0:
            parts.append(box(x, BENCH_HEIGHT * (1 - low), width, BENCH_HEIGHT * low, fill=SUN))
        if high > low:
            parts.append(box(x, BENCH_HEIGHT * (1 - high), width, BENCH_HEIGHT * (high - low), fill=INK))
    sun_line = [((n + 0.5) * width, BENCH_HEIGHT * (1 - float(v) / top)) for n, v in enumerate(run.sun_mol)]
    parts.append(path(sun_line, fill="none", stroke=RULE))
    parts += _month_lines(replay.season.dates, BENCH_HEIGHT)
    for values, weight, dash in (
        ([None if n is None else n.minimum for n in needs], 0.9, "3 2"),
        ([None if n is None else n.target for n in needs], 1.6, None),
    ):
        parts += _levels(values, top, width, weight, dash)
    parts.append(line(0, BENCH_HEIGHT, WIDTH, BENCH_HEIGHT, width=0.7))
    return svg(WIDTH, BENCH_HEIGHT, parts, f"light at {run.bench_id} by day")


def _levels(
    values: list[float | None], top: float, width: float, weight: float, dash: str | None
) -> list[str]:
    """A level over the days, one line for each stretch that keeps it, white beside it."""
    parts = []
    edges = [0, *(n for n in range(1, len(values)) if values[n] != values[n - 1]), len(values)]
    for a, b in pairwise(edges):
        value = values[a]
        if value is not None:
            y = BENCH_HEIGHT * (1 - value / top)
            parts.append(line(a * width, y, b * width, y, width=weight + 1.2, stroke="#ffffff"))
            parts.append(line(a * width, y, b * width, y, width=weight, dash=dash))
    return parts


def bench_account(replay: Replay, run: BenchRun) -> Markup:
    """A bench's light account: above the middle line in hand, below it owed."""
    reach = max(float(np.nanmax(np.abs(run.account_mol), initial=0.0)), 1e-9) * 1.05
    width, middle = WIDTH / replay.season.days, ACCOUNT_HEIGHT / 2
    parts = _month_lines(replay.season.dates, ACCOUNT_HEIGHT)
    for number, account in enumerate(run.account_mol):
        if np.isfinite(account):
            height = abs(float(account)) / reach * middle
            top = middle - height if account > 0 else middle
            parts.append(box(number * width, top, width, height, fill=RULE if account > 0 else INK))
    parts.append(line(0, middle, WIDTH, middle, width=0.6))
    return svg(WIDTH, ACCOUNT_HEIGHT, parts, f"light account of {run.bench_id}")


def _number(replay: Replay, run: BenchRun) -> int:
    return next(n for n, bench in enumerate(replay.season.benches) if bench.bench.id == run.bench_id)


def _month_lines(dates: tuple[date, ...], height: float) -> list[str]:
    width = WIDTH / len(dates)
    return [
        line(n * width, 0, n * width, height, width=0.4, stroke=RULE)
        for n, day in enumerate(dates)
        if n and day.day == 1
    ]
