"""Lamp plans against every on/off pattern, with each rule in turn made to bind.

The best of all patterns is known exactly, so lack and cost must agree to 1e-6.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from lightplan.advice.lamps.horizon import horizon_of
from lightplan.advice.lamps.shared_rows import Shared
from lightplan.advice.lamps.solve import least_cost
from lightplan.advice.lamps.task import LampTask
from lightplan.clock import Grid, at_local
from tests.advice import brute
from tests.advice.lamp_cases import (
    DAY,
    LAMPS,
    SEED,
    SEEDLING,
    ZONE,
    bell,
    crew_of,
    grid_of,
    spans,
    task,
    window_of,
)

# Slots: an hour and a half around dusk at 17:00 and as much before dawn at 06:30, when the window begins.
Hours = tuple[tuple[int, int], ...]

HOURS: Hours = ((300, 390), (975, 1065))
MORE_HOURS = ((270, 390), (960, 1080))  # 16 slots; trying all patterns takes seconds
RATES = ((0, 360, 0.09), (360, 1005, 0.15), (1005, 1035, 0.31), (1035, 1440, 0.17))


def price_of(grid: Grid) -> np.ndarray:
    found = np.zeros(len(grid))
    for first, end, rate in RATES:
        found[spans(grid, (first, end))] = rate
    return found


def case(grid: Grid, dli: tuple[float, ...], hours: Hours = HOURS, **more: object) -> LampTask:
    """One bench that may be lit in these hours of the window."""
    which = task(grid, dli, hours=hours, **more)  # type: ignore[arg-type]
    start, stop = window_of(grid).start, window_of(grid).end
    inside = np.zeros(len(grid), dtype=bool)
    inside[grid.index(start) : grid.index(stop)] = True
    sun = bell(grid, dli, rise=390, fall=1020)
    return replace(
        which,
        allowed=which.allowed & inside,
        sun_ppfd=sun,
        sun_ppfd_low=sun * 0.8,
        daylight=(sun > 0).astype(float),
    )


def burning(grid: Grid, dli: tuple[float, ...]) -> LampTask:
    """Lamps burn when the crew comes, three quarters of an hour before the first day's dawn."""
    already = spans(grid, (300, 390)) & (grid.day == 0)
    which = case(grid, dli, ((390, 435), (975, 1065)), already=already)
    return replace(which, daylight=spans(grid, (435, 1020)).astype(float))


def setting_of(grid: Grid, **more: object) -> brute.Setting:
    window = window_of(grid)
    return brute.Setting(
        grid=grid,
        start=grid.index(window.start),
        stop=grid.index(window.end),
        days=3,
        price=price_of(grid),
        **more,  # type: ignore[arg-type]
    )


def solved(tasks: list[LampTask], setting: brute.Setting) -> tuple[float, float, float, float]:
    """Lacks and cost of lightplan's plan, reckoned as for the patterns."""
    grid = setting.grid
    horizons = [
        horizon_of(t, grid=grid, window=window_of(grid), now=at_local(DAY, 300, ZONE), crew=crew_of(grid))
        for t in tasks
    ]
    shared = Shared(setting.most_kw, setting.peak_price, setting.peak_so_far_kw)
    answer = least_cost(horizons, setting.price, shared, gap=1e-7, limit_s=20)
    lack, money = np.zeros(3), 0.0
    draw = np.zeros(len(grid))
    for t, lit in zip(tasks, answer.lit.on, strict=True):
        on = np.zeros(len(grid), dtype=bool)
        on[: len(lit)] = lit
        assert brute.is_allowed(on, t, setting), [r.__name__ for r in brute.RULES if not r(on, t, setting)]
        lack += brute.lacks(on, t, setting)
        money += brute.cost(on, t, setting)
        draw[setting.start :] += on[setting.start :] * t.draw_kw
    assert setting.most_kw is None or draw.max() <= setting.most_kw + 1e-6
    return (*lack, money + setting.peak_price * max(0.0, draw.max() - setting.peak_so_far_kw))


def assert_best(tasks: list[LampTask], setting: brute.Setting) -> None:
    assert solved(tasks, setting) == pytest.approx(brute.best(tasks, setting), abs=1e-6)


BRIGHT_AHEAD = (20.0, 20.0)
OWN: dict[str, Callable[[Grid], LampTask]] = {
    "minimum": lambda g: case(g, (9.4, *BRIGHT_AHEAD)),
    "account owed": lambda g: case(g, (11.0, *BRIGHT_AHEAD), account=-3.5),
    "account whole at the end": lambda g: case(g, (11.5, 12.1, 11.9)),
    "tomorrow's minimum": lambda g: case(g, (13.0, 9.6, 20.0)),
    "most in hand": lambda g: case(
        g, (20.0, 11.4, 11.4), account=3.0, needs=replace(SEEDLING, most_in_hand=0.5)
    ),
    "more than lamps can do": lambda g: case(g, (5.0, 4.0, 9.0), account=-3.0),
    "account gives before minimum": lambda g: case(g, (8.8, 9.3, 12.0), account=-4.0),
    "sun enough": lambda g: case(g, (9.4, *BRIGHT_AHEAD), lamps=replace(LAMPS, sun_enough_ppfd_umol_m2_s=60)),
    "least run": lambda g: case(g, (9.9, *BRIGHT_AHEAD), lamps=replace(LAMPS, least_run_min=75)),
    "one start": lambda g: case(g, (9.44, *BRIGHT_AHEAD), lamps=replace(LAMPS, starts=1)),
    "no start left": lambda g: case(g, (9.5, 20.0, 20.0), lamps=replace(LAMPS, starts=0)),
    "one pair": lambda g: case(g, (9.5, 9.5, 20.0), lamps=replace(LAMPS, pairs=1)),
    "long dark": lambda g: case(g, (9.0, 9.0, 20.0), needs=replace(SEEDLING, dark_h=12.75)),
    "dark longer than the night": lambda g: case(g, (9.0, 9.0, 20.0), needs=replace(SEEDLING, dark_h=14)),
    "limit": lambda g: case(g, (11.8, 20.0, 11.0), account=-3.9, needs=replace(SEEDLING, limit=12.1)),
    "by hand": lambda g: case(g, (9.4, 9.5, 20.0), lamps=replace(LAMPS, switch="hand")),
    "failed fixtures": lambda g: case(g, (9.4, *BRIGHT_AHEAD), lamps=replace(LAMPS, working=0.7)),
    "already set": lambda g: case(g, (9.4, *BRIGHT_AHEAD), already=spans(g, (300, 390)) & (g.day == 0)),
    "burns before dawn, light wanted": lambda g: burning(g, (9.4, *BRIGHT_AHEAD)),
    "burns before dawn, too bright": lambda g: burning(g, (20.0, *BRIGHT_AHEAD)),
    "seed": lambda g: case(g, (2.0, 2.0, 2.0), needs=SEED),
    "seed and seedling": lambda g: case(
        g, (13.0, 13.0, 13.0), needs=replace(SEED, minimum=8, target=12, most_owed=4)
    ),
    "no batch": lambda g: case(g, (2.0, 2.0, 2.0), needs=None),
}


@pytest.mark.parametrize("rule", OWN)
def test_one_bench(rule: str) -> None:
    grid = grid_of()
    which = OWN[rule](grid)
    by_hand = np.zeros(len(grid), dtype=bool)
    for there in crew_of(grid):
        by_hand[grid.index(there[0]) : grid.index(there[1]) + 1] = True
    assert_best([which], setting_of(grid, can_switch=by_hand))


@pytest.mark.parametrize("rule", [rule for rule in OWN if rule != "no batch"])
def test_every_rule_matters(rule: str) -> None:
    """Each case comes out otherwise than the plain one, so its rule is seen to bind."""
    grid = grid_of()
    plain = case(grid, tuple(float(s) for s in _sums(OWN[rule](grid), grid)))
    assert rule in PLAIN or solved([OWN[rule](grid)], setting_of(grid)) != pytest.approx(
        solved([plain], setting_of(grid)), abs=1e-6
    )


PLAIN = {
    "burns before dawn, too bright",
    "minimum",
    "account whole at the end",
    "tomorrow's minimum",
}  # these rules are in force in every case


def _sums(which: LampTask, grid: Grid) -> np.ndarray:
    return np.bincount(grid.day, weights=which.sun_ppfd) * 900e-6


@pytest.mark.parametrize(
    ("seed", "hours"), [*((n, HOURS) for n in range(12)), (12, MORE_HOURS), (13, MORE_HOURS)]
)
def test_one_bench_at_random(seed: int, hours: Hours) -> None:
    grid, chance = grid_of(), np.random.default_rng(seed)
    lamps = replace(
        LAMPS,
        ppfd_umol_m2_s=float(chance.choice([60, 100, 180])),
        pairs=int(chance.integers(1, 3)),
        starts=int(chance.integers(1, 3)),
        least_run_min=int(chance.choice([0, 30, 60])),
        sun_enough_ppfd_umol_m2_s=float(chance.choice([60, 150, 400])),
    )
    needs = replace(SEEDLING, dark_h=float(chance.choice([6, 12, 13])))
    dli = tuple(float(v) for v in chance.uniform(8, 14, 3))
    assert_best(
        [case(grid, dli, hours, lamps=lamps, needs=needs, account=float(chance.uniform(-4, 4)))],
        setting_of(grid),
    )


def two(grid: Grid, chance: np.random.Generator) -> list[LampTask]:
    """Two benches with seven slots each."""
    found = []
    for name, kw in (("left", 1.0), ("right", 1.5)):
        dli = tuple(float(v) for v in chance.uniform(8.5, 11, 3))
        which = case(grid, (*dli[:2], 20.0), lamps=replace(LAMPS, power_kw=kw), bench_id=name)
        keep = np.flatnonzero(which.allowed)[[1, 2, 3, 4, 9, 10, 11]]
        allowed = np.zeros(len(grid), dtype=bool)
        allowed[keep] = True
        found.append(replace(which, allowed=allowed))
    return found


@pytest.mark.parametrize("seed", range(4))
def test_shared_capacity(seed: int) -> None:
    grid = grid_of()
    tasks = two(grid, np.random.default_rng(seed))
    assert_best(tasks, setting_of(grid, most_kw=1.6))


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("so_far", [0.0, 1.2])
def test_peak_charge(seed: int, so_far: float) -> None:
    grid = grid_of()
    tasks = two(grid, np.random.default_rng(seed))
    assert_best(tasks, setting_of(grid, peak_price=0.05, peak_so_far_kw=so_far))
