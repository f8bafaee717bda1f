"""Light in hand where lamps are planned: what it may change, and what it must not."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from lightplan.advice.lamps import plan_lamps
from lightplan.advice.lamps.demand import demands
from lightplan.advice.lamps.horizon import horizon_of
from lightplan.advice.lamps.usual_sun import Usual
from lightplan.clock import at_local
from tests.advice.lamp_cases import DAY, ZONE, crew_of, grid_of, task, window_of

BRIGHT = Usual(np.log(25.0), 0.05)  # so bright a season that no light in hand is worth a lamp
DULL = Usual(np.log(5.0), 0.2)


def lamp_mol(dli, usual: Usual | None, *, low: float = 0.8, account: float = 0.0) -> list[float]:
    """Lamp light of each day [mol]."""
    grid = grid_of()
    which = replace(task(grid, dli, low=low, account=account), usual=usual)
    plan = plan_lamps(
        [which],
        grid=grid,
        window=window_of(grid),
        now=at_local(DAY, 300, ZONE),
        crew=crew_of(grid),
        power=None,
    )
    on = plan.benches[0].on
    return [float(on[grid.day == day].sum()) * which.step_mol for day in range(3)]


@pytest.mark.parametrize("low", [0.6, 0.8])
def test_todays_minimum_is_held_on_a_poor_day_however_bright_the_season(low):
    today, *_ = lamp_mol((9.0, 30.0, 30.0), BRIGHT, low=low, account=4.0)
    assert 8 <= 9.0 * low + today < 8 + 2 * 0.09


def test_no_more_is_owed_than_may_be_however_bright_the_season():
    """The minimum is there; the account would stand at −3 + 8.5 − 12 = −6.5, and 4 may be owed."""
    today, *_ = lamp_mol((8.5, 30.0, 30.0), BRIGHT, low=0.99, account=-3.0)
    assert -4 <= -3 + 8.5 + today - 12 < -4 + 2 * 0.09


def test_a_dull_season_takes_light_in_hand_that_three_days_would_not():
    assert sum(lamp_mol((14.0, 13.0, 13.0), None)) == 0
    assert lamp_mol((14.0, 13.0, 13.0), DULL)[0] > 1


def test_what_a_sure_forecast_leaves_open_is_decided_by_the_season_too():
    """No doubt of three days says nothing of the fourth."""
    bright, dull = (lamp_mol((11.0, 11.0, 11.0), usual, low=1.0)[0] for usual in (BRIGHT, DULL))
    assert bright < dull


def test_tomorrow_is_wanted_by_its_own_worth():
    """Bright, then dull, in a bright season: a missed minimum has a price, so lamps are wanted tomorrow."""
    wanted = {}
    for sun in (5.5, 16.0):
        grid = grid_of()
        which = replace(task(grid, (20.0, sun, 30.0), low=0.95, account=4.0), usual=Usual(np.log(25.0), 0.5))
        horizon = horizon_of(
            which,
            grid=grid,
            window=window_of(grid),
            now=at_local(DAY, 300, ZONE),
            crew=crew_of(grid),
        )
        wanted[sun] = sum(d.mol for d in demands(horizon) if d.days == (1,))
    assert 2.5 < wanted[5.5] < 3.5
    assert wanted[16.0] == 0
