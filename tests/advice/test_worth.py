"""The value of light in hand against every choice tried, and what must hold of it whatever its prices."""

from __future__ import annotations

from itertools import pairwise, product

import numpy as np
import pytest
from scipy.stats import norm

from lightplan.advice.lamps import worth
from lightplan.advice.lamps.worth import (
    Keeping,
    Known,
    Usual,
    error_sd,
    seen_this_morning,
    usual_of,
    wanted_mol,
)

KEEPING = Keeping(minimum=8.0, target=12.0, most_in_hand=4.0, most_owed=4.0, most_lamps=4.8)
USUAL = Usual(mean=2.4, sd=0.5)


def three(*means: float, sd: float = 0.15) -> tuple[Known, Known, Known]:
    one, two, last = (Known(float(np.log(mean)), sd * (1 + 0.5 * n)) for n, mean in enumerate(means))
    return one, two, last


def wanted(
    account: float, *means: float, keeping: Keeping = KEEPING, usual: Usual = USUAL
) -> tuple[float, float]:
    return wanted_mol(account, three(*means), (KEEPING,) * 3, usual, error=0.15)


def test_against_every_choice_of_two_days_tried() -> None:
    """Each day's lamps in turn, each of the five suns weighed, the account carried by hand."""
    last = worth._Value(worth._accounts(KEEPING), 0.3 * np.maximum(0.0, -worth._accounts(KEEPING)))
    days = three(7.0, 13.0, 9.0)[:2]
    lamps = np.linspace(0.0, KEEPING.most_lamps, worth.CHOICES)

    def cost_of_day(held: float, mol: float, day: Known, after) -> float:
        missed = norm.cdf((np.log(max(KEEPING.minimum - mol, 1e-9)) - day.mean) / day.sd)
        total = mol + worth.MISSING * missed
        for node, weight in zip(worth.NODES, worth.WEIGHTS, strict=True):
            night = min(4.0, held + mol + np.exp(day.mean + day.sd * node) - 12.0)
            total += weight * (worth.OWING * max(0.0, -4.0 - night) + after(night))
        return total

    accounts = worth._accounts(KEEPING)
    by_account = [
        min(
            cost_of_day(held, mol, days[1], lambda night: float(last.at(np.array([night]))[0]))
            for mol in lamps
        )
        for held in accounts
    ]
    tomorrow = worth._before(last, KEEPING, days[1])
    np.testing.assert_allclose(tomorrow.cost, by_account, atol=1e-9)

    def valued(night: float) -> float:
        beyond = max(0.0, accounts[0] - night) * (by_account[0] - by_account[1]) / (accounts[1] - accounts[0])
        return float(np.interp(night, accounts, by_account)) + beyond

    for held in (-5.0, -1.0, 2.5):
        costs = [cost_of_day(held, mol, days[0], valued) for mol in lamps]
        best, chosen = worth._choose(np.array([held]), tomorrow, KEEPING, days[0])
        assert best[0] == pytest.approx(min(costs), abs=1e-9)
        assert chosen[0] == lamps[int(np.argmin(costs))]


def test_more_in_hand_never_asks_for_more_lamps() -> None:
    for means in product((5.0, 9.0, 14.0), repeat=2):
        asked = [wanted(account, *means, 10.0)[0] for account in np.linspace(-6.0, 4.0, 21)]
        assert all(a >= b - 1e-9 for a, b in pairwise(asked))


def test_a_brighter_morrow_never_asks_for_more_today() -> None:
    for account in (-4.0, 0.0, 3.0):
        asked = [wanted(account, 8.0, sun, 10.0)[0] for sun in np.linspace(4.0, 25.0, 15)]
        assert all(a >= b - 1e-9 for a, b in pairwise(asked))


def test_bright_seasons_ask_for_less_than_dull_ones() -> None:
    dull, bright = (wanted(-1.0, 9.0, 9.0, 9.0, usual=Usual(mean, 0.4))[0] for mean in (2.0, 2.9))
    assert dull > bright


def test_no_lamps_where_the_sun_brings_enough_whatever_comes() -> None:
    assert wanted(4.0, 30.0, 30.0, 30.0, usual=Usual(3.4, 0.1)) == (0.0, 0.0)


def test_all_lamps_where_it_is_dull_and_much_is_owed() -> None:
    assert wanted(-8.0, 4.0, 4.0, 4.0, usual=Usual(1.4, 0.2))[0] == pytest.approx(KEEPING.most_lamps)


def test_a_day_shifted_is_another_answer() -> None:
    """The forecast of tomorrow taken for today's would pass none of the above: it asks for another sum."""
    assert wanted(0.0, 5.0, 16.0, 10.0)[0] > 1.5 * wanted(0.0, 16.0, 5.0, 10.0)[0]


@pytest.mark.parametrize("sd", [0.05, 0.15, 0.28, 0.6])
def test_the_low_point_gives_back_its_error(sd: float) -> None:
    low = float(np.exp(sd**2 / 2 + norm.ppf(0.1) * sd))
    assert error_sd(low) == pytest.approx(sd, abs=1e-9)


def test_forecast_and_season_are_weighed_by_how_sure_they_are() -> None:
    low = float(np.exp(0.15**2 / 2 + norm.ppf(0.1) * 0.15))
    told = np.log(10.0) + 0.15**2 / 2
    # two normal judgements of one number: precisions add (Gelman et al., Bayesian Data Analysis, 2.5)
    known = seen_this_morning(10.0, 10.0 * low, Usual(3.0, 0.3))
    precision = 1 / 0.15**2 + 1 / 0.3**2
    assert known.mean == pytest.approx((told / 0.15**2 + 3.0 / 0.3**2) / precision)
    assert known.sd == pytest.approx(precision**-0.5)


def test_what_is_usual_is_the_seasons_clearness_at_the_bench() -> None:
    clearness = tuple(np.exp(np.linspace(-1.0, 0.0, 30)))
    found = usual_of(
        clearness,
        sun_mol=np.array([5.0, 6.0, 7.0]),
        outdoor_mol=np.array([10.0, 12.0, 14.0]),
        clear_mol=np.array([20.0, 20.0, 20.0]),
    )
    assert found is not None
    assert found.mean == pytest.approx(np.log(10.0) - 0.5)
    assert found.sd == pytest.approx(np.std(np.linspace(-1.0, 0.0, 30)))
    dark = np.zeros(3)
    assert usual_of(clearness, sun_mol=dark, outdoor_mol=dark, clear_mol=dark) is None
    assert usual_of((), sun_mol=dark + 1, outdoor_mol=dark + 1, clear_mol=dark + 1) is None
