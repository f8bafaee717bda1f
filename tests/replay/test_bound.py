"""The season's bound: by a second formulation, below what any policy pays, each constraint at work."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from lightplan.replay.bound import least_cost_of
from lightplan.replay.forecasts import perfect
from lightplan.replay.lit import PolicyRun
from lightplan.replay.policies import advice, same_day
from tests.replay.seasons import FLAT, bench, season, site_of
from tests.replay.second_bound import bound_cost

RATES = (
    'rates = [{ from = "00:00", to = "24:00", price = 0.2 }, { from = "19:00", to = "06:00", price = 0.05 }]'
)
NIGHT = f"[power]\ncapacity_kw = 50\nother_kw = 0\n{RATES}"
TIGHT = f"[power]\ncapacity_kw = 1.1\nother_kw = 0\n{RATES}"
TIGHTER = f"[power]\ncapacity_kw = 0.8\nother_kw = 0\n{RATES}"
TOO_SMALL = f"[power]\ncapacity_kw = 0.9\nother_kw = 0\n{RATES}"  # 0.72 kW: bench b draws 0.8
PEAK = f"[power]\ncapacity_kw = 50\nother_kw = 0\npeak_price_per_kw = 1.5\n{RATES}"
SUN = np.random.default_rng(4).lognormal(2.3, 0.35, 10).round(2)
DARK_SPELL = [*SUN[:4], 2.5, 1.5, 2.0, 1.8, *SUN[8:]]
TWO = (bench("a", 75, 0.6), bench("b", 90, 0.8, "00:00", "24:00"))

CASES = {
    "flat": (site_of(power=FLAT), SUN),
    "cheap nights": (site_of(*TWO, power=NIGHT), SUN),
    "long dark": (site_of(*TWO, power=NIGHT, dark_h=11), SUN),
    "capacity": (site_of(*TWO, power=TIGHT), SUN),
    "breaker too small for one": (site_of(*TWO, power=TOO_SMALL), SUN),
    "peak": (site_of(*TWO, power=PEAK), SUN),
    "limit": (site_of(power=NIGHT, limit=12.2), SUN),
    "dark spell": (site_of(*TWO, power=NIGHT), DARK_SPELL),
    "dark spell and capacity": (site_of(*TWO, power=TIGHT), DARK_SPELL),
    "seed": (site_of(bench("s", 60, 0.5, "05:00", "20:00", "germination"), bench(), power=TIGHTER), SUN),
}


@pytest.mark.parametrize("name", CASES)
def test_a_second_formulation_gives_the_same(name):
    site, sun = CASES[name]
    found = season(site, sun)
    assert least_cost_of(found).cost == pytest.approx(bound_cost(found), rel=1e-6)


def test_every_constraint_is_at_work():
    """Else the comparison above would prove nothing of it."""
    cost = {name: least_cost_of(season(*case)).cost for name, case in CASES.items()}
    assert cost["long dark"] > 1.001 * cost["cheap nights"]
    assert cost["capacity"] > 1.001 * cost["cheap nights"]
    assert cost["peak"] > 1.001 * cost["cheap nights"]
    assert least_cost_of(season(*CASES["seed"])).cost > 1.001 * _freed("seed")
    unlit = least_cost_of(season(*CASES["breaker too small for one"])).benches[1]
    assert sum(unlit.lamp_mol) == 0
    free = least_cost_of(season(site_of(power=NIGHT), SUN)).cost
    assert cost["limit"] > 1.001 * free
    assert least_cost_of(season(*CASES["dark spell"])).mean_shortfall_mol > 0.01
    assert least_cost_of(season(*CASES["dark spell and capacity"])).days_at_minimum < 1


def _freed(name: str) -> float:
    """The cost with a breaker that binds nothing."""
    site, sun = CASES[name]
    return least_cost_of(season(replace(site, power=replace(site.power, capacity_kw=50.0)), sun)).cost


@pytest.mark.parametrize("power", [FLAT, NIGHT])
def test_no_policy_that_keeps_the_same_constraints_is_cheaper(power):
    found = season(site_of(power=power), SUN)
    least = least_cost_of(found)
    assert (least.days_at_minimum, least.mean_shortfall_mol) == (1, 0)
    kept = [run for run in (advice(found, perfect(found)), same_day(found)) if _kept(run)]
    assert kept
    for run in kept:
        assert run.cost >= least.cost * (1 - 1e-9)


def _kept(run: PolicyRun) -> bool:
    """Whether a policy met all that the bound meets: minimum, what may be owed, nothing owed at the end."""
    ends_even = all(bench.account_mol[-1] >= -1e-6 for bench in run.benches)
    return run.days_at_minimum == 1 and run.mean_shortfall_mol < 1e-9 and ends_even


def test_without_prices_energy_is_least():
    priced, free = (
        least_cost_of(season(site_of(power=power), SUN))
        for power in (FLAT, "[power]\ncapacity_kw = 50\nother_kw = 0")
    )
    assert free.cost is None
    assert free.kwh == pytest.approx(priced.kwh, rel=1e-6)


def test_a_site_without_lamps_costs_nothing():
    found = replace(season(site_of(), SUN), benches=())
    least = least_cost_of(found)
    assert (least.kwh, least.cost, least.days_at_minimum) == (0, 0, None)
