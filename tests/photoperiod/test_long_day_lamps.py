"""The lamp program with a long day to make: the fewest and cheapest hours that do, on invented days."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from lightplan.advice.lamps import plan_lamps
from lightplan.advice.lamps.task import LampPlan, LampTask, LongDay
from lightplan.clock import Grid
from lightplan.site.models import Power, Rate
from tests.advice.lamp_cases import crew_of, grid_of, spans, task, window_of

BRIGHT = (20.0, 20.0, 20.0)  # day from 07:15 to 17:15, more light than is wanted
EVERY_DAY, EVERY_MONTH = frozenset(range(7)), frozenset(range(1, 13))


def planned(grid: Grid, *tasks: LampTask, power: Power | None = None) -> LampPlan:
    window = window_of(grid)
    return plan_lamps(tasks, grid=grid, window=window, now=window.start, crew=crew_of(grid), power=power)


def long(which: LampTask, wanted_h: float) -> LampTask:
    return replace(which, long_day=LongDay(10.0, wanted_h, "petunia"))


def tariff(*, evening: float, morning: float, capacity_kw: float | None = None) -> Power:
    rates = ((0, 720, morning), (720, 1440, evening))
    return Power(
        currency="USD",
        capacity_kw=capacity_kw,
        other_kw=0.0,
        peak_price_per_kw=0.0,
        rates=tuple(Rate(a, b, price, EVERY_DAY, EVERY_MONTH) for a, b, price in rates),
    )


def dark_h(which: LampTask, on, grid: Grid) -> float:
    """Longest dark of the night after the first day."""
    noon = int(np.flatnonzero((grid.day == 0) & (grid.minute == 720))[0])
    light = (which.daylight > 0) | on
    best = run = 0
    for lit in light[noon : noon + 96]:
        run = 0 if lit else run + 1
        best = max(best, run)
    return best / 4


@pytest.mark.parametrize("wanted_h", [10.0, 11.25, 13.0, 16.0])
def test_as_many_hours_as_the_day_lacks(wanted_h):
    grid = grid_of()
    which = long(task(grid, BRIGHT), wanted_h)
    lamps = planned(grid, which).benches[0]
    night = (which.daylight == 0) & (
        np.arange(len(grid)) >= 26
    )  # from the window's start on, to dawn after it
    assert (lamps.on & night).sum() / 4 == pytest.approx(wanted_h - 10)
    assert 24 - dark_h(which, lamps.on, grid) == pytest.approx(wanted_h)


@pytest.mark.parametrize(("evening", "morning"), [(0.1, 0.3), (0.3, 0.1)])
def test_in_the_cheaper_part_of_the_night(evening, morning):
    grid = grid_of()
    which = long(task(grid, BRIGHT), 13.0)
    lamps = planned(grid, which, power=tariff(evening=evening, morning=morning)).benches[0]
    ((on, off),) = lamps.intervals
    # from dusk on, or till the window's end 45 min before dawn, to which they burn on
    assert on.hour >= 17 if evening < morning else off.hour <= 8
    assert 24 - dark_h(which, lamps.on, grid) >= 13.0


def test_light_wanted_anyhow_serves_for_it():
    """A dull day whose lamps burn three hours for light: the long day costs not a minute more."""
    grid = grid_of()
    plain = task(grid, (10.0, 10.0, 10.0), low=1.0, hours=((1035, 1260),))  # from dusk on
    free = planned(grid, plain).benches[0]
    both = planned(grid, long(plain, 12.0)).benches[0]
    assert free.hours >= 3
    assert both.hours == pytest.approx(free.hours)


def test_what_cannot_be_had_is_left_without_a_word_of_error():
    grid = grid_of()
    lamps = planned(grid, long(task(grid, BRIGHT, hours=((1035, 1095),)), 16.0)).benches[0]
    assert lamps.hours == pytest.approx(1.0)  # 17:15 to 18:15


def test_the_dark_a_crop_needs_goes_first():
    grid = grid_of()
    which = long(task(grid, BRIGHT, hours=((0, 1440),)), 22.0)  # and 6 h of unbroken dark
    assert dark_h(which, planned(grid, which).benches[0].on, grid) == pytest.approx(6.0)


def test_two_benches_share_a_breaker_for_one():
    """0.8 of 1.3 kW is one bench's: evening and morning are parted between them."""
    grid = grid_of()
    tasks = [long(task(grid, BRIGHT, bench_id=name), 13.0) for name in ("a", "b")]
    found = planned(grid, *tasks, power=tariff(evening=0.2, morning=0.2, capacity_kw=1.3))
    on = [bench.on for bench in found.benches]
    assert not (on[0] & on[1])[: len(grid)].any()
    for which, lit in zip(tasks, on, strict=True):
        assert 24 - dark_h(which, lit, grid) >= 13.0


def test_a_broken_night_is_left_as_it_is_and_counted_by_its_share():
    grid = grid_of()
    breaks = spans(grid, (1320, 1440), (0, 120))
    breaks &= (np.arange(len(grid)) >= 88) & (np.arange(len(grid)) < 104)
    which = long(task(grid, BRIGHT, hours=((0, 1440),)), 16.0)
    whole = planned(grid, replace(which, night_break=breaks)).benches[0]
    turns = planned(grid, replace(which, night_break=breaks, break_share=0.2)).benches[0]
    for lamps in (whole, turns):
        ((on, off),) = lamps.intervals
        assert (on.hour, off.hour) == (22, 2)
        assert lamps.why.rule == "night-break"
    assert (whole.hours, turns.hours) == (pytest.approx(4.0), pytest.approx(0.8))
    assert turns.kwh == pytest.approx(whole.kwh / 5)
    assert turns.mol == pytest.approx(whole.mol / 5)
