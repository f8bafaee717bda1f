"""A window over days without a crew: one setting of a dial serves them all, planned on the dullest."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from lightplan.advice.lamps import plan_lamps
from lightplan.clock import at_local
from tests.advice.lamp_cases import DAY, LAMPS, SEED, ZONE, crew_of, grid_of, task, window_of


def _lamp_mol(bench, which, grid):
    return [float(bench.on[grid.day == day].sum()) * which.step_mol for day in range(len(grid.dates))]


def _planned(which, grid, days):
    return plan_lamps(
        [which],
        grid=grid,
        window=window_of(grid, days),
        now=at_local(DAY, 300, ZONE),
        crew=crew_of(grid),
        power=None,
    ).benches[0]


@pytest.mark.parametrize("dli", [(14, 8, 13, 2), (6, 14, 7, 15), (9, 9, 6, 9)])
def test_the_dial_is_the_same_on_every_day_and_right_for_the_dullest(dli):
    grid = grid_of(4)
    which = task(grid, dli)
    bench = _planned(which, grid, 3)
    lamps = _lamp_mol(bench, which, grid)
    inside = (np.arange(len(grid)) >= 26) & (np.arange(len(grid)) < 26 + 3 * 96)
    by_clock = {}
    for minute, on in zip(grid.minute[inside], bench.on[inside], strict=True):
        by_clock.setdefault(int(minute), set()).add(bool(on))
    assert all(len(states) == 1 for states in by_clock.values())
    dull = min(dli[:3])  # the fourth day is the next sheet's
    assert all(dull + lamps[day] >= 12 - 1e-6 for day in (1, 2))
    in_hand = sum(dull + lamps[day] - 12 for day in range(3))  # what was set before dawn of the first is past
    assert 0 <= in_hand + 1e-6 < 3 * which.step_mol


def test_seed_is_lit_on_every_one_of_the_days():
    grid = grid_of(4)
    which = task(grid, (3, 9, 2, 8), needs=SEED, hours=((0, 1440),))
    bench = _planned(which, grid, 3)
    inside = slice(26, 26 + 3 * 96)
    assert (bench.on | (which.sun_ppfd_low >= 20))[inside].all()
    assert not bench.on[inside].all()


def test_a_window_of_one_day_follows_each_day():
    """The rule for several days must not touch an ordinary morning: the sum of three days counts."""
    grid = grid_of(4)
    which = task(grid, (11, 6, 13, 20))
    bench = _planned(which, grid, 1)
    assert sum(_lamp_mol(bench, which, grid)) < 12 - 6
    over = _planned(which, grid, 3)
    assert sum(_lamp_mol(over, which, grid)) > 3 * (12 - 6) - 1


def test_lamps_by_hand_follow_the_crew_not_a_dial():
    grid = grid_of(4)
    bench = _planned(task(grid, (14, 6, 14, 14), lamps=replace(LAMPS, switch="hand")), grid, 3)
    assert all(on.date() != DAY for on, _ in bench.intervals)


def test_a_bright_today_with_a_dull_day_ahead_says_which_day_decides():
    grid = grid_of(4)
    bench = _planned(task(grid, (14, 5, 13, 12)), grid, 3)
    assert bench.intervals
    assert (bench.why.rule, bench.why.day) == ("dli-short-ahead", 1)
    assert bench.why.value == pytest.approx(5)
    bright = _planned(task(grid, (14, 14, 14, 14)), grid, 3)
    assert bright.intervals == ()
    assert bright.why.rule == "enough-light"
