"""The one rule that decided a bench's lamp hours, with its two numbers."""

from __future__ import annotations

import numpy as np

from lightplan.account import SLIGHT_MOL, account_after
from lightplan.advice.lamps.demand import demands
from lightplan.advice.lamps.horizon import Horizon
from lightplan.advice.lamps.task import Mask, Why
from lightplan.clock import STEPS_PER_H


def why(horizon: Horizon, on: Mask) -> Why:
    """on : (steps,) as planned, at least up to the window's end."""
    needs = horizon.needs[0]
    if needs is None:
        return Why("no-batch")
    if needs.target is None or not needs.lamps_allowed:
        return _seed_light(horizon) if needs.germination is not None else Why("no-lamp-need")
    ordered = on[horizon.start : horizon.stop]
    burnt = on[: len(horizon)] * horizon.share
    today = float(horizon.sun_mol[0]) + float(burnt[horizon.day == 0].sum()) * horizon.task.step_mol
    if not ordered.any():
        return _unlit(horizon, needs.target, needs.most_owed, today)
    return _lit(horizon, needs.target, today)


def _unlit(horizon: Horizon, target: float, most_owed: float, today_mol: float) -> Why:
    sun, held = float(horizon.sun_mol[0]), horizon.task.account_mol
    if sun >= target:
        return Why("enough-light", sun, target, "mol")
    if held >= target - sun:
        return Why("account-carries", target - sun, held, "mol")
    bright = _bright_day(horizon)
    if bright is not None:
        return Why("bright-ahead", float(horizon.sun_mol[bright]), _target(horizon, bright), "mol", bright)
    owed = -account_after(held, today_mol, horizon.needs[0])
    return Why("owed-for-now", max(0.0, owed), most_owed, "mol")


def _lit(horizon: Horizon, target: float, today_mol: float) -> Why:
    needs, sun, held = horizon.needs[0], float(horizon.sun_mol[0]), horizon.task.account_mol
    long_day = horizon.task.long_day
    if long_day is not None and horizon.task.night_break is not None:
        return Why("night-break", long_day.natural_h, long_day.wanted_h, "h")
    bright = _bright_day(horizon) if today_mol < target - horizon.task.step_mol else None
    kinds = {demand.kind for demand in demands(horizon) if demand.days == (0,)}
    if needs is not None and held < -SLIGHT_MOL and (kinds & {"account", "worth"} or sun >= target):
        return Why("account-owed", held, needs.most_owed, "mol", bright=bright)
    low, step = float(horizon.low_mol[0]), horizon.task.step_mol
    if needs is not None and needs.minimum is not None and low < needs.minimum:
        over = low + today_mol - sun - needs.minimum
        if sun >= target or over < 2 * step:  # the minimum and no more
            return Why("minimum-short", low, needs.minimum, "mol", bright=bright)
    if long_day is not None and sun >= target:
        return Why("long-day", long_day.natural_h, long_day.wanted_h, "h")
    if sun < target:
        return Why("dli-short", sun, target, "mol", bright=bright)
    dullest = _dullest_day_ahead(horizon)
    if dullest is not None:
        return Why(
            "dli-short-ahead", float(horizon.sun_mol[dullest]), _target(horizon, dullest), "mol", dullest
        )
    if horizon.seed.any():
        return _seed_light(horizon)
    # the low point of a later day: the only need left that can ask for light
    day = int(np.argmin([_low_surplus(horizon, day) for day in range(horizon.days)]))
    later = horizon.needs[day]
    least = 0.0 if later is None or later.minimum is None else later.minimum
    return Why("minimum-short-ahead", float(horizon.low_mol[day]), least, "mol", day)


def _low_surplus(horizon: Horizon, day: int) -> float:
    needs = horizon.needs[day]
    return np.inf if needs is None or needs.minimum is None else float(horizon.low_mol[day]) - needs.minimum


def _target(horizon: Horizon, day: int) -> float | None:
    needs = horizon.needs[day]
    return None if needs is None else needs.target


def _dullest_day_ahead(horizon: Horizon) -> int | None:
    """The later day whose sun stays farthest under its target."""
    lacks = {day: lack for day in range(1, horizon.account_days) if (lack := -_surplus(horizon, day)) > 0}
    return max(lacks, key=lambda day: lacks[day]) if lacks else None


def _bright_day(horizon: Horizon) -> int | None:
    """The first later day whose sun passes its target."""
    days = range(1, min(horizon.account_days, horizon.days))
    return next((day for day in days if _surplus(horizon, day) > SLIGHT_MOL), None)


def _surplus(horizon: Horizon, day: int) -> float:
    target = _target(horizon, day)
    return 0.0 if target is None else float(horizon.sun_mol[day]) - target


def _seed_light(horizon: Horizon) -> Why:
    """Hours of the lamp hours in which the sun alone is enough, of all lamp hours."""
    needs = horizon.needs[0]
    want = needs.germination.ppfd_umol_m2_s if needs is not None and needs.germination is not None else 0.0
    wanted = horizon.task.allowed[: len(horizon)] & (horizon.day == 0)
    by_sun = wanted & (horizon.task.sun_ppfd_low[: len(horizon)] >= want)
    return Why("seed-light", float(by_sun.sum()) / STEPS_PER_H, float(wanted.sum()) / STEPS_PER_H, "h")
