"""A plan in figures: intervals, light, energy, cost, the reason and what could not be met."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from lightplan.account import account_after
from lightplan.advice.lamps.hindrance import in_the_way
from lightplan.advice.lamps.horizon import Horizon
from lightplan.advice.lamps.noon import noon_cut
from lightplan.advice.lamps.reason import why
from lightplan.advice.lamps.runs import intervals
from lightplan.advice.lamps.task import Array, BenchLamps, Mask, Unmet
from lightplan.clock import STEPS_PER_H, Grid

Short = dict[tuple[str, int], float]


def bench_lamps(
    horizon: Horizon, lit: Mask, *, grid: Grid, price: Array | None, short: Short, short_alone: Short
) -> BenchLamps:
    """lit : steps as far as they are laid out. short, short_alone : see `Lit`."""
    task = horizon.task
    on = np.zeros(len(grid), dtype=bool)
    on[: len(lit)] = lit
    start, stop = horizon.start, horizon.stop
    share = np.ones(len(grid))
    share[: len(horizon)] = horizon.share
    burnt = on * share
    ordered = burnt[start:stop]
    kwh = ordered * task.draw_kw / STEPS_PER_H
    unmet = tuple(_unmet(horizon, on, short, short_alone))
    today = float(horizon.sun_mol[0]) + float(burnt[grid.day == 0].sum()) * task.step_mol
    return BenchLamps(
        bench_id=task.bench_id,
        on=on,
        intervals=intervals(on, grid, start, stop),
        earlier=intervals(on, grid, 0, start),
        hours=float(ordered.sum()) / STEPS_PER_H,
        mol=float(ordered.sum()) * task.step_mol,
        kwh=float(kwh.sum()),
        cost=None if price is None else float(kwh @ price[start:stop]),
        account_mol=account_after(task.account_mol, today, task.needs[0]),
        sun_mol=tuple(float(mol) for mol in horizon.sun_mol),
        target_mol=tuple(None if n is None else n.target for n in horizon.needs),
        why=why(horizon, on),
        unmet=unmet,
        noon=None if unmet else noon_cut(horizon, on, grid),
        share=share if task.break_share < 1 else None,
    )


def _unmet(horizon: Horizon, on: Mask, short: Short, short_alone: Short) -> Iterator[Unmet]:
    """Needs of the days inside the window that stay short; a day that is only begun is the next sheet's."""
    last = int(horizon.day[min(horizon.stop, len(horizon)) - 1])
    owing = sum(lack for (kind, _), lack in short.items() if kind == "account")
    owing_alone = sum(lack for (kind, _), lack in short_alone.items() if kind == "account")
    for day in range(max(1, last)):
        lamps = float((on[: len(horizon)] * horizon.share)[horizon.day == day].sum())
        needs, step_mol = horizon.needs[day], horizon.task.step_mol
        if needs is None:
            continue
        yield from _seed_unmet(horizon, on, day, short, short_alone)
        low, middle = (float(m[day]) + lamps * step_mol for m in (horizon.low_mol, horizon.sun_mol))
        lack = short.get(("minimum", day), 0.0)
        if lack > 0 and needs.minimum is not None and low < needs.minimum:
            shared = lack > short_alone.get(("minimum", day), 0.0) + 1e-3
            wanted = (needs.minimum - float(horizon.planned_low_mol[day])) / step_mol
            because = in_the_way(horizon, day, wanted, shared=shared)
            yield Unmet(day, "minimum-missed", low, needs.minimum, because)
        elif owing > 0 and needs.target is not None and middle < needs.target:
            wanted = lamps + 1
            because = in_the_way(horizon, day, wanted, shared=owing > owing_alone + 1e-3)
            yield Unmet(day, "target-missed", middle, needs.target, because)


def _seed_unmet(horizon: Horizon, on: Mask, day: int, short: Short, short_alone: Short) -> Iterator[Unmet]:
    needs = horizon.needs[day]
    if needs is None or needs.germination is None:
        return
    inside = (horizon.day == day) & horizon.task.allowed[: len(horizon)]
    low = horizon.task.sun_ppfd_low[: len(horizon)]
    light = low + on[: len(horizon)] * horizon.task.lamps.ppfd_now_umol_m2_s
    enough = inside & (light >= needs.germination.ppfd_umol_m2_s)
    missed = float((inside & horizon.seed & ~enough).sum())
    if missed <= 0:
        return
    key = ("seed", day)
    if short.get(key, 0.0) < missed - 0.5:
        because = "lamp-light"
    else:
        shared = short[key] > short_alone.get(key, 0.0) + 0.5
        because = in_the_way(horizon, day, float(on[: len(horizon)][inside].sum()) + 1, shared=shared)
    yield Unmet(
        day,
        "seed-light-missed",
        float(enough.sum()) / STEPS_PER_H,
        float(inside.sum()) / STEPS_PER_H,
        because,
    )
