"""What is left as it is when the hands go, and when what lies there comes off, on invented days."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from lightplan.advice.covers import Remedy, Tent, comes_off, plan_cover
from lightplan.advice.covers.judge import judge
from lightplan.crops.limits import Limits
from lightplan.site.cover_names import known_cover
from tests.advice.test_covers import CREW, MINUTE, STEPS, climate_of, task

BOARD = Remedy(covers=(known_cover("insulation-board"),))
HEAT_ALONE = Limits(None, None, 32.0, 60, None, None, "judgement")


def at(step: int) -> str:
    return f"{step // 4:02}:{step % 4 * 15:02}"


@pytest.mark.parametrize(("until", "how_hot", "stays"), [(16.25, 32.5, False), (18.0, 34.0, True)])
def test_a_tent_stays_open_over_night_for_an_hour_of_heat_and_no_less(until, how_hot, stays):
    """Hands go at 15:00; a closed tent is hot till `until`, an open one never. By the weights of `judge`
    what comes after 15:00 counts 75 − 60 + 75 × 0.5 / 5 = 22 minutes; 180 − 60 + 180 × 2 / 5 = 192.
    """
    hot = (MINUTE >= 12 * 60) & np.less(MINUTE, until * 60)

    def climate(states, factor):
        closed = states.tent == int(Tent.CLOSED)
        return np.where(closed & hot, how_hot, 20.0) * np.ones((len(factor), 1))

    crew = CREW & (MINUTE <= 15 * 60)
    plan = plan_cover(
        task(climate=climate, crew=crew, covers=(), limits=HEAT_ALONE, end=STEPS, sd_c=0.01, target_mol=0.0)
    )
    assert plan.remedy == Remedy(Tent.PROPPED, after=Tent.PROPPED if stays else Tent.CLOSED)
    assert plan.stays is stays
    assert stays or at(plan.off) <= "15:00"


def test_what_lies_there_comes_off_by_the_aims_in_their_order():
    """Heat that kills until 14:00 and a target that the day makes only if the board is off at once."""
    hot = (MINUTE >= 6 * 60) & (MINUTE < 14 * 60)

    def climate(states, factor):
        return np.where((states.passed > 0.5) & hot, 45.0, 20.0) * np.ones((len(factor), 1))

    lying = task(
        700.0, has_tent=False, climate=climate, minimum_mol=0.0, target_mol=40.0, limits=_kills(), end=STEPS
    )
    off = comes_off(lying, BOARD, 0)
    assert at(off) == "14:00"
    kept_light = replace(lying, climate=climate_of(np.zeros(STEPS)))  # nothing kills: the light counts
    assert at(comes_off(kept_light, BOARD, 0)) == "06:30"


def _kills() -> Limits:
    return Limits(None, None, None, None, 40.0, 0, "memory")


def test_the_minimum_goes_before_the_limit_when_a_cover_comes_off():
    """Over the light limit till noon; the minimum asks for the sun from ten on."""
    bright = task(1200.0, has_tent=False, target_mol=0.0, end=STEPS, climate=climate_of(np.zeros(STEPS)))
    on = np.zeros(1, dtype=int)
    held = {step: judge(bright, BOARD, on, np.array([step])) for step in np.flatnonzero(CREW)[::2]}
    least = max(step for step, v in held.items() if v.short_of_minimum[0] == 0)
    assert held[least].over_limits[0] > held[least + 2].over_limits[0]  # two more would spare the light limit
    assert comes_off(bright, BOARD, 0) == least


@pytest.mark.parametrize(("dry", "off"), [(40, "10:00"), (41, "10:00"), (20, "06:30")])
def test_what_dries_comes_off_while_it_is_wet_or_at_once(dry, off):
    hot = task(1200.0, has_tent=False, minimum_mol=0.0, target_mol=0.0, end=STEPS)
    assert at(comes_off(hot, BOARD, 0, dry)) == off
    assert at(comes_off(hot, BOARD, 0)) > "12:00"


def test_an_hour_less_of_what_kills_is_worth_a_walk_though_other_heat_stays():
    """Warm all day whatever is done, and over what kills from ten to three; the board spares all of that."""
    noon = (MINUTE >= 10 * 60) & (MINUTE < 15 * 60)

    def climate(states, factor):
        return np.where((states.passed > 0.5) & noon, 41.0, 39.0) * np.ones((len(factor), 1))

    limits = Limits(None, None, 25.0, 60, 40.0, 0, "memory")
    plan = plan_cover(
        task(climate=climate, limits=limits, has_tent=False, covers=BOARD.covers, minimum_mol=0.0)
    )
    assert plan.remedy == BOARD
    assert plan.kills == 0
    assert plan.unheld > 1000
    assert (at(plan.on), at(plan.off)) == ("10:00", "15:00")
