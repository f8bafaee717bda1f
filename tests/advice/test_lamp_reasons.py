"""The one plain reason of each bench, over a grey and a bright winter week.

Target 12, minimum 8, at most 4 in hand or owed; the low point of each day is 0.8 of its middle.
"""

from __future__ import annotations

import pytest

from lightplan.advice.lamps import Why
from tests.advice.lamp_cases import grid_of, task
from tests.advice.test_lamps import planned

CASES = {
    # sun of today and the days after, in hand or owed: rule, value, limit, day that decided, bright day
    "two grey days behind, bright Saturday ahead": ((10, 9, 20), -2.5, ("account-owed", -2.5, 4, 0, 2)),
    "owed, and nothing bright": ((10, 9, 9), -3.5, ("account-owed", -3.5, 4, 0, None)),
    "held at the minimum, bright day ahead": ((6, 14, 14), 0, ("minimum-short", 4.8, 8, 0, 1)),
    "grey for days": ((4, 4, 4), 0, ("dli-short", 4, 12, 0, None)),
    "dull day ahead": ((14, 5, 5), 0, ("dli-short-ahead", 5, 12, 1, None)),
    "in hand": ((10, 12, 12), 3, ("account-carries", 2, 3, 0, None)),
    "bright day ahead": ((11.5, 13, 12), 0, ("bright-ahead", 13, 12, 1, None)),
    "left for later hours": ((11, 11, 11), 0, ("owed-for-now", 1, 4, 0, None)),
    "bright": ((14, 14, 14), 0, ("enough-light", 14, 12, 0, None)),
}


@pytest.mark.parametrize("case", CASES)
def test_one_reason(case: str) -> None:
    dli, account, (rule, value, limit, day, bright) = CASES[case]
    grid = grid_of()
    why = planned(grid, task(grid, dli, account=account)).benches[0].why
    assert (why.rule, why.unit, why.day, why.bright) == (rule, "mol", day, bright)
    assert (why.value, why.limit) == pytest.approx((value, limit))


def test_nothing_there_and_nothing_wanted() -> None:
    grid = grid_of()
    assert planned(grid, task(grid, (4, 4, 4), needs=None)).benches[0].why == Why("no-batch")


@pytest.mark.parametrize("case", CASES)
def test_a_reason_for_lamps_comes_with_lamps(case: str) -> None:
    dli, account, (rule, *_) = CASES[case]
    grid = grid_of()
    lit = bool(planned(grid, task(grid, dli, account=account)).benches[0].intervals)
    assert lit == (rule not in {"account-carries", "bright-ahead", "owed-for-now", "enough-light"})


def test_no_noon_cut_where_the_day_ends_short_with_all_its_lamps() -> None:
    grid = grid_of()
    enough = planned(grid, task(grid, (7, 20, 20))).benches[0]
    assert enough.unmet == ()
    assert enough.noon is not None
    short = planned(grid, task(grid, (5.4, 3, 3), account=-4)).benches[0]
    assert short.unmet
    assert short.noon is None


def test_lamps_asked_for_one_run_are_lit_in_one_run() -> None:
    """Of equal costs the plan with one start: 36 grey quarter hours of the 40 that are day."""
    grid = grid_of()
    bench = planned(grid, task(grid, (6, 14, 14))).benches[0]
    assert len(bench.intervals) == 1
    assert bench.hours == 9
