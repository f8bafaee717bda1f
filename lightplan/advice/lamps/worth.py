"""What light in hand is worth: how many mol of lamps to take today, seeing that the sun to come is uncertain.

A forecast of three days does not say what follows, so a plan must set a value on the account it leaves. It
is found by dynamic programming over the account (Bellman 1957): each day's sun is drawn from what is usual at
this time of year, each day's lamps are chosen to cost least over the days to come, with a price on owing
more than may be owed and on a chance of missing the minimum. The forecast, weighed against what is usual by
how sure either is, then chooses for today and tomorrow. Light is counted in mol of lamps; the program lays
it into the cheapest hours, and holds today's minimum and the most that may be owed by itself.

Accounts and lamp light stand on one ladder of equal rungs, so a day's lamps only move along it: the value
after lamps is reckoned once for every rung, and a choice is a look-up.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray
from scipy.stats import norm

from lightplan.advice.lamps.usual_sun import SLIGHT_SD, Known, Usual

Array = NDArray[np.float64]

# Prices in mol of lamp light, chosen on replays of one house (Greensboro's typical year, January to April)
# with seeds 12 to 23: the least for which accounts fall short by less than 0.05 mol a day; judgement
OWING = 0.3  # of each mol and day owed beyond what may be owed
MISSING = 6.0  # of a day under its minimum
SETTLED_DAYS = 25  # after which the value of light in hand hardly changes any more
FAR_OWED = 5.0  # accounts that lie farther under what may be owed are valued as this far [mol]
RUNG = 0.2  # of the ladder [mol m⁻²]; judgement
CHOICES = 101  # of today's lamp light, from none to the most; judgement
NODES, WEIGHTS = np.polynomial.hermite_e.hermegauss(7)
WEIGHTS = WEIGHTS / WEIGHTS.sum()


@dataclass(frozen=True)
class Keeping:
    """The account a bench keeps, and the most that its lamps can give in a day [mol m⁻²]."""

    minimum: float
    target: float
    most_in_hand: float
    most_owed: float
    most_lamps: float


@dataclass(frozen=True)
class Value:
    """Least cost to come [mol] by account [mol], on the ladder from `lowest` upward."""

    lowest: float
    cost: Array

    @property
    def accounts(self) -> Array:
        return self.lowest + RUNG * np.arange(len(self.cost), dtype=np.float64)

    def at(self, accounts: Array) -> Array:
        """Straight on below the lowest account that is valued: paying what is owed never gets worthless."""
        under = np.maximum(0.0, self.lowest - accounts)
        slope = (self.cost[0] - self.cost[1]) / RUNG
        return np.asarray(np.interp(accounts, self.accounts, self.cost) + slope * under)


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
    after_all = settled_value(
        replace(keeping[2], most_lamps=round(keeping[2].most_lamps, 1)), alike, round(max(error, 0.01), 2)
    )
    after_tomorrow = value_before(after_all, keeping[2], days[2])
    after_today = value_before(after_tomorrow, keeping[1], days[1])
    lit = days[0].lit + best_lamps(account_mol, after_today, keeping[0], days[0])
    night = min(keeping[0].most_in_hand, account_mol + lit + np.exp(days[0].mean) - keeping[0].target)
    return lit, days[1].lit + best_lamps(night, after_tomorrow, keeping[1], days[1])


@lru_cache(maxsize=4096)
def settled_value(keeping: Keeping, usual: Usual, error: float) -> Value:
    """The value of an account when nothing is known of the days to come but what is usual.

    Every morning will bring a forecast of its day, whose own middle is drawn from what is usual.
    """
    ladder = _ladder(keeping)
    value = Value(float(ladder[0]), OWING * np.maximum(0.0, -ladder))
    together = float(np.hypot(error, usual.sd))
    told_sd, left_sd = usual.sd**2 / together, max(SLIGHT_SD, error * usual.sd / together)
    for ahead in range(SETTLED_DAYS, 0, -1):
        means = usual.mean + usual.drift * (ahead + 1) + told_sd * NODES
        value = Value(value.lowest, WEIGHTS @ _costs(value, keeping, means, left_sd, lit_mol=0.0))
    return value


def value_before(after: Value, keeping: Keeping, day: Known) -> Value:
    """The value of an account in the morning of a day, from its value on the evening."""
    costs = _costs(after, keeping, np.array([day.mean]), day.sd, lit_mol=day.lit)
    return Value(float(_ladder(keeping)[0]), costs[0])


def best_lamps(held: float, after: Value, keeping: Keeping, day: Known) -> float:
    """Lamp light [mol m⁻²] that makes a day and all that follow cost least, besides that lit already.

    held : account in the morning.
    """
    held = max(held, float(_ladder(keeping)[0]))
    lamps = np.linspace(0.0, max(0.0, keeping.most_lamps - day.lit), CHOICES)
    sun = np.exp(day.mean + day.sd * NODES)[:, None] + day.lit
    risk = _risk(keeping, lamps, np.array([day.mean]), day.sd, day.lit)[0]
    return float(lamps[(lamps + risk + WEIGHTS @ _evening(after, keeping, held + lamps + sun)).argmin()])


def _costs(after: Value, keeping: Keeping, means: Array, sd: float, *, lit_mol: float) -> Array:
    """Least cost (means, accounts) of a day and all that follow, for suns seen that morning."""
    ladder = _ladder(keeping)
    rungs = 1 + int(max(0.0, keeping.most_lamps - lit_mol) / RUNG + 1e-9)
    lamps = RUNG * np.arange(rungs, dtype=np.float64)
    lighted = ladder[0] + RUNG * np.arange(len(ladder) + rungs - 1)
    sun = np.exp(means[:, None] + sd * NODES) + lit_mol
    evening = WEIGHTS @ _evening(after, keeping, lighted + sun[:, :, None])
    today = lamps + _risk(keeping, lamps, means, sd, lit_mol)
    return np.asarray((sliding_window_view(evening, rungs, axis=1) + today[:, None, :]).min(axis=2))


def _evening(after: Value, keeping: Keeping, with_light: Array) -> Array:
    """Cost to come by the account of the morning and the day's light together."""
    night = np.minimum(keeping.most_in_hand, with_light - keeping.target)
    return np.asarray(OWING * np.maximum(0.0, -keeping.most_owed - night) + after.at(night))


def _risk(keeping: Keeping, lamps: Array, means: Array, sd: float, lit_mol: float) -> Array:
    """Price (means, lamps) of the chance that a day misses its minimum."""
    lacking = np.maximum(keeping.minimum - lamps - lit_mol, 1e-9)  # of the sun
    return np.asarray(MISSING * norm.cdf((np.log(lacking) - means[:, None]) / sd))


def _ladder(keeping: Keeping) -> Array:
    """Accounts that are valued: down from the most that may be in hand."""
    rungs = int(np.ceil((keeping.most_in_hand + keeping.most_owed + FAR_OWED) / RUNG))
    return keeping.most_in_hand - RUNG * np.arange(rungs, -1, -1, dtype=np.float64)
