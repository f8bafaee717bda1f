"""What a policy lit over a season, and what that came to: light, account, energy, cost."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lightplan.account import account_after
from lightplan.clock import STEPS_PER_H
from lightplan.replay.season import BenchSeason, Season

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

SAME_MOL = 1e-6  # a day this near its minimum has reached it


@dataclass(frozen=True)
class BenchRun:
    """One bench through the season under one policy, arrays (days,); account nan where none is kept.

    energy_cost : of each day, peak charges left out; None without prices, and for runs but the bound.
    """

    bench_id: str
    sun_mol: Array
    lamp_mol: Array
    account_mol: Array
    at_minimum: tuple[bool | None, ...]  # None: the day asks for no minimum
    shortfall_mol: Array  # account below what may be owed, nan where none is kept
    starts: NDArray[np.int64]
    energy_cost: Array | None = None

    @property
    def dli(self) -> Array:
        return self.sun_mol + self.lamp_mol


@dataclass(frozen=True)
class PolicyRun:
    """cost : energy and peak charges, None without prices.

    gap, short_gap : widest that a morning's proof left open, as in `LampPlan`; None where none is planned.
    """

    name: str
    benches: tuple[BenchRun, ...]
    kwh: float
    cost: float | None
    gap: float | None = None
    short_gap: float | None = None

    @property
    def days_at_minimum(self) -> float | None:
        """Share of the days with a minimum that reached it."""
        asked = [reached for bench in self.benches for reached in bench.at_minimum if reached is not None]
        return float(np.mean(asked)) if asked else None

    @property
    def mean_shortfall_mol(self) -> float | None:
        """How far the account lay below what may be owed, mean over all days with an account."""
        kept = np.concatenate([bench.shortfall_mol for bench in self.benches] or [np.zeros(0)])
        kept = kept[~np.isnan(kept)]
        return float(kept.mean()) if len(kept) else None

    @property
    def starts_max(self) -> int:
        return max((int(bench.starts.max(initial=0)) for bench in self.benches), default=0)


def policy_run(
    season: Season,
    name: str,
    lit: tuple[Mask, ...],
    gap: float | None = None,
    short_gap: float | None = None,
) -> PolicyRun:
    """lit : of each bench, (steps,) of the replayed days or more."""
    steps = season.steps
    draw = np.zeros(steps)
    for bench, on in zip(season.benches, lit, strict=True):
        draw += on[:steps] * bench.draw_kw
    return PolicyRun(
        name=name,
        benches=tuple(
            _bench_run(season, bench, on[:steps]) for bench, on in zip(season.benches, lit, strict=True)
        ),
        kwh=float(draw.sum()) / STEPS_PER_H,
        cost=_cost(season, draw),
        gap=gap,
        short_gap=short_gap,
    )


def _cost(season: Season, draw_kw: Array) -> float | None:
    if season.price is None or season.site.power is None:
        return None
    energy = float(draw_kw @ season.price[: len(draw_kw)]) / STEPS_PER_H
    peaks = sum(float(draw_kw[steps].max(initial=0.0)) for steps in season.months())
    return energy + season.site.power.peak_price_per_kw * peaks


def _bench_run(season: Season, bench: BenchSeason, on: Mask) -> BenchRun:
    day = season.grid.day[: len(on)]
    lit = np.bincount(day, weights=on, minlength=season.days)
    begins = on & ~np.concatenate([[False], on[:-1]])
    starts = np.bincount(day, weights=begins, minlength=season.days).astype(np.int64)
    return bench_run(season, bench, np.asarray(lit * bench.step_mol, dtype=float), starts)


def bench_run(season: Season, bench: BenchSeason, lamp_mol: Array, starts: NDArray[np.int64]) -> BenchRun:
    """Accounts and minimums that a season's lamp light comes to, the account from 0."""
    accounts, shortfalls = np.full(season.days, np.nan), np.full(season.days, np.nan)
    reached: list[bool | None] = []
    account = 0.0
    for number in range(season.days):
        needs, dli = bench.needs[number], float(bench.sun_mol[number] + lamp_mol[number])
        account = account_after(account, dli, needs)
        asked = needs is not None and needs.minimum is not None
        reached.append(dli >= needs.minimum - SAME_MOL if asked else None)  # type: ignore[union-attr,operator]
        if needs is not None and needs.target is not None:
            accounts[number] = account
            shortfalls[number] = max(0.0, -needs.most_owed - account)
    return BenchRun(
        bench_id=bench.bench.id,
        sun_mol=bench.sun_mol[: season.days],
        lamp_mol=lamp_mol,
        account_mol=accounts,
        at_minimum=tuple(reached),
        shortfall_mol=shortfalls,
        starts=starts,
    )
