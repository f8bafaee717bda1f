"""The least remedy that keeps a bench within its limits, with its clock times and its odds.

Every remedy is tried between every pair of quarter hours at which hands are there. Aims rank as the
design has them: no heat that kills, the minimum, the limits, then the least remedy, the target and
few moves together, the lightest cover.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.stats import norm

from lightplan.advice.covers.judge import Verdict, broken, judge, light, states_of
from lightplan.advice.covers.remedies import Steps, remedies, spans
from lightplan.advice.covers.task import CoverPlan, CoverTask, Remedy
from lightplan.clock import STEP_S

Array = NDArray[np.float64]

WORTH_IT = 0.5  # share of what is over limits that a remedy may leave; judgement
TOLD_FROM = 0.2  # odds below which nothing is ordered: the design's own step (judgement)
WARMER_SD = tuple(float(q) for q in norm.ppf((np.arange(5) + 0.5) / 5))  # equally likely errors


@dataclass(frozen=True)
class _Best:
    key: tuple[float, ...]
    remedy: Remedy | None
    on: int
    off: int
    verdict: tuple[float, float, float]


def plan_cover(task: CoverTask) -> CoverPlan:
    """What to do on one bench today; nothing where a limit is broken on fewer than 2 likely days in 10."""
    nothing = Remedy()
    odds, factor, warmer_c = _odds(task)
    if odds < TOLD_FROM:
        return _as_it_stands(task, odds)
    none = np.zeros(1, dtype=np.int64)
    open_day = judge(task, nothing, none, none, factor=factor, warmer_c=warmer_c)
    best = _Best(_key(open_day, 0, 0, nothing), None, 0, 0, _told(open_day, 0))
    for rank, remedy in enumerate(remedies(task), start=1):
        on, off = spans(task, remedy)
        keep = ~_forbidden(task, remedy, on, off)
        on, off = on[keep], off[keep]
        if not len(on):
            continue
        verdict = judge(task, remedy, on, off, factor=factor, warmer_c=warmer_c)
        order = np.lexsort(
            (off - on, verdict.weight, verdict.over_limits, verdict.short_of_minimum, verdict.kills)
        )
        n = int(order[0])
        key = _key(verdict, n, rank, remedy)
        if key < best.key and verdict.minutes[n] <= WORTH_IT * open_day.minutes[0]:
            best = _Best(key, remedy, int(on[n]), int(off[n]), _told(verdict, n))
        if not any(best.verdict):
            break  # all is held: what comes later is more than is needed
    return _plan(task, best, odds=odds, factor=factor, warmer_c=warmer_c)


def _key(verdict: Verdict, n: int, rank: int, remedy: Remedy) -> tuple[float, ...]:
    return (
        float(verdict.kills[n]),
        round(float(verdict.short_of_minimum[n]), 3),
        float(verdict.over_limits[n]),
        rank,
        round(float(verdict.weight[n]), 3),
        -remedy.middle,
    )


def _told(verdict: Verdict, n: int) -> tuple[float, float, float]:
    return float(verdict.kills[n]), float(verdict.short_of_minimum[n]), float(verdict.over_limits[n])


def _forbidden(task: CoverTask, remedy: Remedy, on: Steps, off: Steps) -> NDArray[np.bool_]:
    """Times at which an opaque cover would lie in a seed's only light hours."""
    if not remedy.is_dark or not task.seed_light.any():
        return np.zeros(len(on), dtype=bool)
    before = np.concatenate([[0], np.cumsum(task.seed_light)])
    return np.asarray(before[off] - before[on] > 0)


def _odds(task: CoverTask) -> tuple[float, float, float]:
    """Share of likely days that break a limit with nothing done, and the day to plan on.

    That day is the forecast's own where it breaks one, else the middle of those that do:
    (odds, factor on the light, kelvin warmer than reckoned).
    """
    factors = np.repeat(task.sample, len(WARMER_SD))
    warmer = np.tile(np.array(WARMER_SD) * task.sd_c, len(task.sample))
    none = np.zeros(len(task.sample), dtype=np.int64)
    still = states_of(task, Remedy(), none, none, 1.0)
    temperature = np.repeat(task.climate(still, task.sample), len(WARMER_SD), axis=0) + warmer[:, None]
    kills, over = broken(task, task.sun_ppfd[0] * factors[:, None], temperature)
    breaks = (kills > 0) | (over > 0)
    if judge(task, Remedy(), none[:1], none[:1]).is_broken[0] or not breaks.any():
        return float(breaks.mean()), 1.0, 0.0
    severity = np.argsort(factors[breaks] + warmer[breaks] / 10)
    middle = int(severity[len(severity) // 2])
    return float(breaks.mean()), float(factors[breaks][middle]), float(warmer[breaks][middle])


def _as_it_stands(task: CoverTask, odds: float) -> CoverPlan:
    return CoverPlan(task.bench_id, None, 0, 0, odds, None, None, None, None, 0.0, 0.0, 0.0)


def _plan(task: CoverTask, best: _Best, *, odds: float, factor: float, warmer_c: float) -> CoverPlan:
    none = np.zeros(1, dtype=np.int64)
    open_day = judge(task, Remedy(), none, none, factor=factor, warmer_c=warmer_c)
    still = states_of(task, Remedy(), none, none, 1.0)
    temperature = (task.climate(still, np.array([factor])) + warmer_c)[0]
    rule, value, limit, unit = _what_breaks(task, temperature, task.sun_ppfd[0] * factor, open_day)
    cost = 0.0
    if best.remedy is not None:
        drawn = states_of(task, best.remedy, np.array([best.on]), np.array([best.off]), best.remedy.middle)
        day = task.today * STEP_S / 1e6
        cost = float((task.sun_ppfd[0] - light(task, drawn)[0]) @ day)
    kills, short, over = best.verdict
    return CoverPlan(
        bench_id=task.bench_id,
        remedy=best.remedy,
        on=best.on,
        off=best.off,
        odds=odds,
        rule=rule,
        value=value,
        limit=limit,
        unit=unit,
        cost_mol=cost,
        unheld_minutes=kills + over,
        under_minimum_mol=max(short - float(open_day.short_of_minimum[0]), 0.0),
    )


def _what_breaks(
    task: CoverTask, temperature_c: Array, ppfd: Array, verdict: Verdict
) -> tuple[str, float, float | None, str]:
    limits, peak = task.limits, float(temperature_c[task.today].max())
    if verdict.kills[0] > 0:
        return "heat-kills", peak, limits.temperature_upper_c, "c"
    if limits.temperature_c is not None and peak > limits.temperature_c:
        return "heat", peak, limits.temperature_c, "c"
    return "light", float(ppfd[task.today].max()), limits.ppfd_umol_m2_s, "umol"
