"""Light needs as counts of lit steps over consecutive days.

With account = min(C, account + DLI − target) after each day, the account after day k is the least of
`start + sum over days 0..k` and, for every earlier day j, `C + sum over days j+1..k`. Holding it above a
floor is therefore one lower bound on the lamp steps of each run of days; rounded up to whole steps, the
bounds are exact and no account needs to stand in the program.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from lightplan.advice.lamps.horizon import ROUNDING, Horizon
from lightplan.advice.lamps.in_hand import wanted_of


@dataclass(frozen=True)
class Demand:
    """Lamp light of these days together, that already set included, is at least `mol`.

    kind : "minimum", "account", or "worth": what light in hand is worth taking, no need that can be missed.
    Demands on an account that end on the same day are one need.
    """

    kind: str
    days: tuple[int, ...]
    mol: float
    step_mol: float

    @property
    def part_steps(self) -> float:
        return self.mol / self.step_mol


def demands(horizon: Horizon) -> tuple[Demand, ...]:
    """What the light is to come to. Where it is known what is usual, light in hand has a value: then the
    account is not made whole on the third day whatever the sun, but takes what it is worth to take."""
    wanted = wanted_of(horizon)
    if wanted is None:
        found = (*_minimums(horizon), *_accounts(horizon))
    else:
        today = (*_minimums(horizon), *_accounts(horizon))
        found = (
            *(d for d in today if d.days == (0,) or _only_from_here(d, horizon)),
            *(Demand("worth", (day,), mol, horizon.task.step_mol) for day, mol in enumerate(wanted)),
        )
    return tuple(d for d in found if d.part_steps > ROUNDING)


def _only_from_here(demand: Demand, horizon: Horizon) -> bool:
    """Whether it is tomorrow's minimum, and what may be lit after the window does not make it up."""
    if demand.kind != "minimum" or demand.days != (1,):
        return False
    later = horizon.may & (horizon.day == 1) & (np.arange(len(horizon)) >= horizon.stop)
    return demand.part_steps > float(later.sum())


def _minimums(horizon: Horizon) -> Iterator[Demand]:
    """Each day's least light, held against the low point of its sun."""
    for day, needs in enumerate(horizon.needs):
        if needs is not None and needs.minimum is not None and needs.lamps_allowed:
            yield Demand(
                "minimum", (day,), needs.minimum - float(horizon.planned_low_mol[day]), horizon.task.step_mol
            )


def _accounts(horizon: Horizon) -> Iterator[Demand]:
    """The account against the middle of the forecast: not below what may be owed, whole again at the end."""
    for last, needs in enumerate(horizon.needs[: horizon.account_days]):
        if needs is None or needs.target is None or not needs.lamps_allowed:
            continue
        missing = 0.0 if last == horizon.account_days - 1 else -needs.most_owed
        days: tuple[int, ...] = ()
        for first in range(last, -1, -1):
            own = horizon.needs[first]
            if own is None or own.target is None:  # no account is kept that day
                continue
            missing += own.target - float(horizon.planned_sun_mol[first])
            days = (first, *days)
            held = _most_held_before(horizon, first)
            yield Demand("account", days, missing - held, horizon.task.step_mol)


def _most_held_before(horizon: Horizon, first: int) -> float:
    """The most that can be in hand when a day begins: what is this morning, later what may be."""
    for day in range(first - 1, -1, -1):
        needs = horizon.needs[day]
        if needs is not None and needs.target is not None:
            return needs.most_in_hand
    return horizon.task.account_mol
