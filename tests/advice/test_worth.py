"""The value of light in hand against every choice tried, and what must hold of it whatever its prices."""

from __future__ import annotations

from itertools import pairwise, product

import numpy as np
import pytest
from scipy.stats import norm

from lightplan.advice.lamps import worth
from lightplan.advice.lamps.usual_sun import Known, Usual, error_sd, seen_this_morning, usual_of
from lightplan.advice.lamps.worth import Keeping, Value, best_lamps, settled_value, value_before, wanted_mol

KEEPING = Keeping(minimum=8.0, target=12.0, most_in_hand=4.0, most_owed=4.0, most_lamps=4.8)
USUAL = Usual(mean=2.4, sd=0.5)


def three(*means: float, sd: float = 0.15) -> tuple[Known, Known, Known]:
    one, two, last = (Known(float(np.log(mean)), sd * (1 + 0.5 * n)) for n, mean in enumerate(means))
    return one, two, last


def wanted(
    account: float, *means: float, keeping: Keeping = KEEPING, usual: Usual = USUAL
) -> tuple[float, float]:
    return wanted_mol(account, three(*means), (KEEPING,) * 3, usual, error=0.15)


def cost_by_hand(held: float, mol: float, day: Known, after) -> float:
    """A day's lamps, risk and owing, each of its suns weighed, the account carried by plain sums."""
    lacking = max(KEEPING.minimum - mol - day.lit, 1e-9)
    total = mol + worth.MISSING * norm.cdf((np.log(lacking) - day.mean) / day.sd)
    for node, weight in zip(worth.NODES, worth.WEIGHTS, strict=True):
        night = min(4.0, held + day.lit + mol + np.exp(day.mean + day.sd * node) - 12.0)
        total += weight * (worth.OWING * max(0.0, -4.0 - night) + after(night))
    return float(total)


def cheapest_by_hand(held: float, lamps, day: Known, after) -> tuple[float, float]:
    return min((cost_by_hand(held, mol, day, after), mol) for mol in lamps)


def owed(factor: float) -> Value:
    """Every mol owed costs `factor`."""
    accounts = 4.0 - worth.RUNG * np.arange(65, -1, -1)
    return Value(float(accounts[0]), factor * np.maximum(0.0, -accounts))


def on_ladder(accounts, costs):
    def valued(night: float) -> float:
        beyond = max(0.0, accounts[0] - night) * (costs[0] - costs[1]) / worth.RUNG
        return float(np.interp(night, accounts, costs)) + beyond

    return valued


def test_against_every_choice_of_three_days_tried() -> None:
    """What is wanted today and tomorrow, each of them by the value of the evening it leads to."""
    usual, error = Usual(1.9, 0.5, 0.01), 0.15
    rungs = worth.RUNG * np.arange(25)
    for means in ((7.0, 13.0, 9.0), (13.0, 6.0, 9.0), (9.0, 9.0, 30.0)):
        today, tomorrow, last = three(*means)
        after = settled_value(KEEPING, usual, error)
        third = [
            cheapest_by_hand(h, rungs, last, on_ladder(after.accounts, after.cost))[0] for h in after.accounts
        ]
        second = [
            cheapest_by_hand(h, rungs, tomorrow, on_ladder(after.accounts, third))[0] for h in after.accounts
        ]
        for account in (-5.0, 0.5):
            fine = np.linspace(0.0, KEEPING.most_lamps, worth.CHOICES)
            _, first = cheapest_by_hand(account, fine, today, on_ladder(after.accounts, second))
            night = min(4.0, account + first + np.exp(today.mean) - 12.0)
            _, then = cheapest_by_hand(night, fine, tomorrow, on_ladder(after.accounts, third))
            asked = wanted_mol(account, (today, tomorrow, last), (KEEPING,) * 3, usual, error=error)
            assert asked == pytest.approx((first, then), abs=1e-9)


def test_light_of_a_day_that_is_lit_already_counts_and_is_not_chosen_again() -> None:
    lit = Known(float(np.log(7.0)), 0.2, lit=1.4)
    valued = on_ladder(owed(0.9).accounts, owed(0.9).cost)
    for held in (-3.0, 1.0):
        fine = np.linspace(0.0, KEEPING.most_lamps - 1.4, worth.CHOICES)
        assert best_lamps(held, owed(0.9), KEEPING, lit) == pytest.approx(
            cheapest_by_hand(held, fine, lit, valued)[1]
        )


def test_a_settled_season_is_its_own_days_one_by_one() -> None:
    """Each day's forecast drawn by chance instead of by nodes: the same value within chance."""
    usual, error = Usual(2.1, 0.4, 0.02), 0.2
    value, days = owed(worth.OWING), worth.SETTLED_DAYS
    together = float(np.hypot(error, usual.sd))
    told_sd, left_sd = usual.sd**2 / together, error * usual.sd / together
    draw = np.random.default_rng(3)
    for ahead in range(days, 0, -1):
        told = usual.mean + usual.drift * (ahead + 1) + told_sd * draw.normal(size=400)
        costs = [value_before(value, KEEPING, Known(float(mean), left_sd)).cost for mean in told]
        value = Value(value.lowest, np.mean(costs, axis=0))
    found = settled_value(KEEPING, usual, error)
    np.testing.assert_allclose(found.cost, value.cost, rtol=0.03)


def test_growing_days_make_light_in_hand_worth_less() -> None:
    still, growing = (settled_value(KEEPING, Usual(2.2, 0.4, drift), 0.15) for drift in (0.0, 0.02))
    assert (still.cost > growing.cost * 1.2).all()
    asked = [wanted(-4.0, 9.0, 9.0, 9.0, usual=Usual(2.2, 0.4, drift))[0] for drift in (0.0, 0.03)]
    assert asked[0] > asked[1] + 0.2


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
