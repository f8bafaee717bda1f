"""Lamp hours of a morning."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from lightplan.advice.lamps import plan_lamps
from lightplan.clock import at_local
from tests.advice.lamp_cases import DAY, LAMPS, SEED, ZONE, crew_of, grid_of, spans, task, window_of


def planned(grid, *tasks, days=1, power=None, now_min=300):
    return plan_lamps(
        tasks,
        grid=grid,
        window=window_of(grid, days),
        now=at_local(DAY, now_min, ZONE),
        crew=crew_of(grid),
        power=power,
    )


def test_hours_of_the_deficit():
    """worked_examples.csv, deficit_hours: target 12, sun 7.68 and lamps of 100 µmol make 12.0 h."""
    grid = grid_of()
    bench = planned(grid, task(grid, (7.68, 12, 12), hours=((180, 1440),))).benches[0]
    assert bench.lamp_mol[0] == pytest.approx(4.32)
    assert bench.on[grid.day == 0].sum() / 4 == 12.0


def test_lamps_and_daylight_form_one_stretch():
    grid = grid_of()
    which = task(grid, (9, 9, 9))
    on = planned(grid, which).benches[0].on
    lit = on | (which.daylight > 0)
    for night in (slice(0, 48), slice(48, 144)):
        edges = np.abs(np.diff(lit[night].astype(int))).sum()
        assert edges <= 2


def test_seed_has_light_in_every_lamp_hour():
    grid = grid_of()
    which = task(grid, (6, 6, 6), needs=SEED, hours=((0, 1440),), already=spans(grid, (0, 390)))
    bench = planned(grid, which).benches[0]
    window = slice(26, 122)
    assert (bench.on | (which.sun_ppfd_low >= 20))[window].all()
    assert not bench.on[window].all()


def test_nobody_comes():
    grid = grid_of()
    which = task(grid, (6, 6, 6), already=spans(grid, (180, 300)) & (grid.day == 0))
    plan = plan_lamps(
        [which], grid=grid, window=None, now=at_local(DAY, 300, ZONE), crew=crew_of(grid), power=None
    )
    assert plan.benches[0].intervals == ()
    assert [(a.hour, b.hour) for a, b in plan.benches[0].earlier] == [(3, 5)]
    assert plan.benches[0].cost is None


def test_lamps_of_hand_switched_benches_stay_within_crew_hours():
    grid = grid_of()
    bench = planned(grid, task(grid, (6, 6, 6), lamps=replace(LAMPS, switch="hand"))).benches[0]
    assert bench.intervals
    for on, off in bench.intervals:
        assert (on.hour, on.minute) >= (6, 30)
        assert (off.hour, off.minute) <= (18, 0)
