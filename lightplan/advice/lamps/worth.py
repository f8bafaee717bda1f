"""What light in hand is worth: how many mol of lamps to take today, seeing that the sun to come is uncertain.

A forecast of three days does not say what follows, so a plan must set a value on the account it leaves. It
is found by dynamic programming over the account (Bellman 1957): each day's sun is drawn from what is usual at
this time of year, each day's lamps are chosen to cost least over the days to come, with a price on owing
more than may be owed and on a chance of missing the minimum. The forecast, weighed against what is usual by
how sure either is, then chooses for today and tomorrow. Light is counted in mol of lamps; the program lays
it into the cheapest hours, and holds today's minimum and the most that may be owed by itself.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.stats import norm

Array = NDArray[np.float64]

# Prices in mol of lamp light, chosen on replays of one house (Greensboro's typical year, January to April)
# with seeds 12 to 23; judgement
OWING = 0.23  # of each mol and day owed beyond what may be owed
MISSING = 4.0  # of a day under its minimum
USUAL_DAYS = 15  # on either side of a date, from which what is usual is taken; judgement
SETTLED_DAYS = 25  # after which the value of light in hand hardly changes any more
FAR_OWED = 5.0  # accounts that lie farther under what may be owed are valued as this far [mol]
ACCOUNTS = 56  # at which the value is kept
CHOICES = 41  # of lamp light a day, from none to the most
LOW_POINT = float(norm.ppf(0.1))
SLIGHT_SD = 1e-3
NODES, WEIGHTS = np.polynomial.hermite_e.hermegauss(7)
WEIGHTS = WEIGHTS / WEIGHTS.sum()


@dataclass(frozen=True)
class Usual:
    """The logarithm of a day's sun at the bench [mol m⁻²] at this time of year: mean and spread.

    drift : by which the mean grows each day, as days grow longer.
    """

    mean: float
    sd: float
    drift: float = 0.0


@dataclass(frozen=True)
class Keeping:
    """The account a bench keeps, and the most that its lamps can give in a day [mol m⁻²]."""

    minimum: float
    target: float
    most_in_hand: float
    most_owed: float
    most_lamps: float


@dataclass(frozen=True)
class Known:
    """A day as it is seen this morning: the logarithm of its sun, and what is lit already [mol m⁻²]."""

    mean: float
    sd: float
    lit: float = 0.0


def usual_of(
    clearness: Sequence[float], *, sun_mol: Array, outdoor_mol: Array, clear_mol: Array
) -> Usual | None:
    """What is usual at a bench, from days' light over a clear sky's at this time of year.

    sun_mol, outdoor_mol, clear_mol : (days,) of the days ahead, at the bench, outdoors, and outdoors under a
    clear sky; clear_mol may reach further. None where too few days are known or it is dark.
    """
    seen = np.array([share for share in clearness if share > 0])
    passed = float(outdoor_mol.sum())
    if len(seen) < USUAL_DAYS or passed <= 0 or not sun_mol.sum() > 0:
        return None
    logs = np.log(seen)
    clear_at_bench = float(clear_mol[: len(sun_mol)].mean()) * float(sun_mol.sum()) / passed
    drift = np.log(clear_mol[-1] / clear_mol[0]) / (len(clear_mol) - 1) if clear_mol.min() > 0 else 0.0
    return Usual(float(logs.mean() + np.log(clear_at_bench)), float(logs.std()), float(drift))


def seen_this_morning(sun_mol: float, low_mol: float, usual: Usual, lit_mol: float = 0.0) -> Known:
    """The forecast of a day, as sure as its low point says, weighed against what is usual."""
    sd = error_sd(low_mol / sun_mol) if sun_mol > 0 else SLIGHT_SD
    told = np.log(max(sun_mol, 1e-3)) + sd**2 / 2
    if usual.sd <= SLIGHT_SD:
        return Known(float(usual.mean), SLIGHT_SD, lit_mol)
    weight = sd**2 / (sd**2 + usual.sd**2)
    mean = told * (1 - weight) + usual.mean * weight
    return Known(float(mean), float(max(SLIGHT_SD, sd * np.sqrt(1 - weight))), lit_mol)


def error_sd(low_over_middle: float) -> float:
    """Spread of the logarithm of light for which the 10 % point lies so far under the forecast's mean."""
    log = np.log(min(max(low_over_middle, 1e-6), 1.0))
    inside = LOW_POINT**2 + 2 * log
    return float(max(SLIGHT_SD, -LOW_POINT - np.sqrt(inside) if inside > 0 else -LOW_POINT))


def wanted_mol(
    account_mol: float,
    days: tuple[Known, Known, Known],
    keeping: tuple[Keeping, Keeping, Keeping],
    usual: Usual,
    *,
    error: float,
) -> tuple[float, float]:
    """Lamp light [mol m⁻²] to take on today and tomorrow, today's that is lit already included.

    days, keeping : today, tomorrow, the day after. usual : the days that follow. error : `error_sd` of a
    forecast of the same day, as later mornings will have it.
    """
    alike = Usual(round(usual.mean, 2), round(usual.sd, 2), round(usual.drift, 3))
    after_all = settled_value(_rounded(keeping[2]), alike, round(max(error, 0.01), 2))
    after_tomorrow = _before(after_all, keeping[2], days[2])
    after_today = _before(after_tomorrow, keeping[1], days[1])
    _, today = _choose(np.array([account_mol]), after_today, keeping[0], days[0])
    lit = days[0].lit + float(today[0])
    night = min(keeping[0].most_in_hand, account_mol + lit + np.exp(days[0].mean) - keeping[0].target)
    _, tomorrow = _choose(np.array([night]), after_tomorrow, keeping[1], days[1])
    return lit, days[1].lit + float(tomorrow[0])


@dataclass(frozen=True)
class _Value:
    """Least cost to come [mol] by account [mol]; both rise in step with their first axis."""

    accounts: Array
    cost: Array

    def at(self, accounts: Array) -> Array:
        """Straight on below the lowest account that is valued: paying what is owed never gets worthless."""
        under = np.maximum(0.0, self.accounts[0] - accounts)
        slope = (self.cost[0] - self.cost[1]) / (self.accounts[1] - self.accounts[0])
        return np.asarray(np.interp(accounts, self.accounts, self.cost) + slope * under)


def _rounded(keeping: Keeping) -> Keeping:
    """So that days alike are valued once."""
    return Keeping(
        keeping.minimum,
        keeping.target,
        keeping.most_in_hand,
        keeping.most_owed,
        round(keeping.most_lamps, 1),
    )


@lru_cache(maxsize=4096)
def settled_value(keeping: Keeping, usual: Usual, error: float) -> _Value:
    """The value of an account when nothing is known of the days to come but what is usual.

    Every morning will bring a forecast of its day, whose own middle is drawn from what is usual.
    """
    held = _accounts(keeping)
    value = _Value(held, OWING * np.maximum(0.0, -held))
    together = float(np.hypot(error, usual.sd))
    told_sd, left_sd = usual.sd**2 / together, error * usual.sd / together
    for ahead in range(SETTLED_DAYS, 0, -1):
        cost = np.zeros(len(held))
        for node, weight in zip(NODES, WEIGHTS, strict=True):
            mean = usual.mean + usual.drift * (ahead + 1) + told_sd * float(node)
            day = Known(mean, max(SLIGHT_SD, left_sd))
            cost += weight * _choose(held, value, keeping, day)[0]
        value = _Value(held, cost)
    return value


def _accounts(keeping: Keeping) -> Array:
    return np.linspace(-keeping.most_owed - FAR_OWED, keeping.most_in_hand, ACCOUNTS)


def _before(after: _Value, keeping: Keeping, day: Known) -> _Value:
    held = _accounts(keeping)
    return _Value(held, _choose(held, after, keeping, day)[0])


def _choose(held: Array, after: _Value, keeping: Keeping, day: Known) -> tuple[Array, Array]:
    """Least cost of a day and all that follow, and the lamp light [mol] besides that lit already.

    held : (accounts,) in the morning; both results are (accounts,).
    """
    held = np.maximum(held, -keeping.most_owed - FAR_OWED)
    lamps = np.linspace(0.0, max(0.0, keeping.most_lamps - day.lit), CHOICES)
    sun = np.exp(day.mean + day.sd * NODES)
    light = sun[None, :] + lamps[:, None] + day.lit
    lacking = np.maximum(keeping.minimum - lamps - day.lit, 1e-9)  # of the sun, for the minimum
    missed = norm.cdf((np.log(lacking) - day.mean) / day.sd)
    night = np.minimum(keeping.most_in_hand, held[:, None, None] + light[None] - keeping.target)
    owing = OWING * np.maximum(0.0, -keeping.most_owed - night)
    cost = lamps + MISSING * missed + (owing + after.at(night)) @ WEIGHTS
    best = cost.argmin(axis=1)
    return cost[np.arange(len(held)), best], lamps[best]
