"""The least remedy that keeps a bench within its limits, with its clock times and its odds.

Every remedy is tried between every pair of quarter hours at which hands are there. Aims rank as the
design has them: no heat that kills, the minimum, the limits, then the least remedy, the target and
few moves together, the lightest cover.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.stats import norm

from lightplan.advice.certainty import TOLD
from lightplan.advice.covers.judge import Verdict, broken, judge, light, states_of
from lightplan.advice.covers.remedies import (
    Steps,
    left_covered,
    left_open,
    remedies,
    spans,
    spans_that_stay,
)
from lightplan.advice.covers.task import CoverPlan, CoverTask, Remedy
from lightplan.clock import STEP_S

Array = NDArray[np.float64]

# A walk is worth it where it takes away half of what is over limits, or an hour of what kills; something is
# left as it is overnight for an hour. Weighed minutes; judgement
WORTH_IT = 0.5
STAY_SAVES_MIN = KILLS_SAVED_MIN = 60.0
TELLS = 0.5  # share of its peak from which the day's light tells a bright day from a dull one; judgement
WARMER_SD = tuple(float(q) for q in norm.ppf((np.arange(5) + 0.5) / 5))  # equally likely errors


@dataclass(frozen=True)
class _Best:
    key: tuple[float, ...]
    remedy: Remedy | None
    on: int
    off: int
    verdict: tuple[float, float, float]
    stays: bool = False


@dataclass(frozen=True)
class _Planned:
    """The day to plan on, and what it comes to with nothing done."""

    odds: float
    factor: float
    warmer_c: float
    dullest: float  # factor of the dullest day that breaks a limit


Spans = Callable[[CoverTask, Remedy], tuple[Steps, Steps]]


def plan_cover(task: CoverTask) -> CoverPlan:
    """What to do on one bench today; nothing where a limit is broken on fewer than 2 likely days in 10."""
    day = _odds(task)
    if day.odds < TOLD:
        return _as_it_stands(task, day)
    none = np.zeros(1, dtype=np.int64)
    open_day = judge(task, Remedy(), none, none, factor=day.factor, warmer_c=day.warmer_c)
    best = _Best(_key(open_day, 0, 0, Remedy()), None, 0, 0, _told(open_day, 0))
    best, rank = _try(task, day, best, remedies(task), spans, open_day, 1)
    if any(best.verdict) and task.end is not None:  # hands go too early, or the next ones come too late
        for each_of in (left_open, left_covered):
            each = each_of(task, kills=best.verdict[0] >= STAY_SAVES_MIN)
            stay, rank = _try(task, day, best, each, spans_that_stay, open_day, rank, stays=True)
            if _stays(best, stay):
                best = stay
    return _plan(task, best, day, open_day)


def _try(
    task: CoverTask,
    day: _Planned,
    best: _Best,
    each: tuple[Remedy, ...],
    spans_of: Spans,
    open_day: Verdict,
    rank: int,
    *,
    stays: bool = False,
) -> tuple[_Best, int]:
    """The best of what was found before and of these remedies, least first; and the next rank."""
    for place, remedy in enumerate(each):
        if remedy.is_dark and task.target_mol is not None and best.verdict[0] <= 0:
            continue  # no night at noon for plants that grow, but against heat that kills (judgement)
        on, off = spans_of(task, remedy)
        keep = ~forbidden(task, remedy, on, off)
        on, off = on[keep], off[keep]
        if not len(on):
            continue
        verdict = judge(task, remedy, on, off, factor=day.factor, warmer_c=day.warmer_c)
        order = np.lexsort(
            (off - on, verdict.weight, verdict.over_limits, verdict.short_of_minimum, verdict.kills)
        )
        n = int(order[0])
        key = _key(verdict, n, rank + place, remedy)
        if key < best.key and _worth_it(verdict, n, open_day):
            best = _Best(key, remedy, int(on[n]), int(off[n]), _told(verdict, n), stays)
        if not any(best.verdict):
            break  # all is held: what comes later is more than is needed
    return best, rank + len(each)


def _worth_it(verdict: Verdict, n: int, open_day: Verdict) -> bool:
    """Whether the n-th way takes enough of what nothing done would leave."""
    spared = float(open_day.kills[0] - verdict.kills[n])
    return bool(verdict.broken[n] <= WORTH_IT * open_day.broken[0]) or spared >= KILLS_SAVED_MIN


def _stays(best: _Best, stay: _Best) -> bool:
    """Whether leaving something as it is overnight is worth it beside the best that hands can end."""
    left, still = (found.verdict[0] + found.verdict[2] for found in (best, stay))
    halves = still <= WORTH_IT * left and left - still >= STAY_SAVES_MIN
    return halves or best.verdict[0] - stay.verdict[0] >= KILLS_SAVED_MIN


def _key(verdict: Verdict, n: int, rank: int, remedy: Remedy) -> tuple[float, ...]:
    return (
        round(float(verdict.kills[n]), 1),
        round(float(verdict.short_of_minimum[n]), 3),
        round(float(verdict.over_limits[n]), 1),
        rank,
        round(float(verdict.weight[n]), 3),
        -remedy.middle,
    )


def _told(verdict: Verdict, n: int) -> tuple[float, float, float]:
    return float(verdict.kills[n]), float(verdict.short_of_minimum[n]), float(verdict.over_limits[n])


def forbidden(task: CoverTask, remedy: Remedy, on: Steps, off: Steps) -> NDArray[np.bool_]:
    """Times at which a cover must not lie: a seed's only light hours, strong gusts outside, lamps' hours.

    A cover that burns and is laid on once the day's strong light is over, for what comes after the night,
    must have no lamp run under it: it is not laid where lamps may be wanted between.
    """
    found = np.zeros(len(on), dtype=bool)
    if remedy.is_dark and task.seed_light.any():
        found |= _count(task.seed_light, on, off) > 0
    if remedy.is_dark and task.seed_chance.any():
        for day in (task.today, *task.whole):
            chance = task.seed_chance & day
            found |= (chance.sum() > 0) & (_count(chance, on, off) == chance.sum())
    if any(cover.where == "outside" for cover in remedy.covers):
        found |= _count(~task.calm, on, np.minimum(off + 1, len(task.calm))) > 0
    if any(cover.combustible for cover in remedy.covers) and task.end is not None:
        lamps_between = _count(task.lamp_can_mol > 0, on, off) > 0
        found |= (off == task.end) & (on > _last_bright(task)) & lamps_between
    return found


def _last_bright(task: CoverTask) -> int:
    """Last step of the sheet's day whose sun tells a bright day; the day's last where there is none."""
    sun = np.where(task.today, task.sun_ppfd[0], 0.0)
    return int(np.flatnonzero((sun >= TELLS * sun.max()) & task.today)[-1])


def _count(steps: NDArray[np.bool_], on: Steps, off: Steps) -> Steps:
    """How many of `steps` lie between each on and off."""
    before = np.concatenate([[0], np.cumsum(steps)])
    return np.asarray(before[off] - before[on], dtype=np.int64)


def _odds(task: CoverTask) -> _Planned:
    """Share of likely days that break a limit with nothing done, and the day to plan on.

    That day is the forecast's own where it breaks one, else the middle of those that do.
    """
    factors = np.repeat(task.sample, len(WARMER_SD))
    warmer = np.tile(np.array(WARMER_SD) * task.sd_c, len(task.sample))
    none = np.zeros(len(task.sample), dtype=np.int64)
    still = states_of(task, Remedy(), none, none, 1.0)
    temperature = np.repeat(task.climate(still, task.sample), len(WARMER_SD), axis=0) + warmer[:, None]
    sun = np.repeat(light(task, still), len(WARMER_SD), axis=0) * factors[:, None]
    kills, over = broken(task, sun, temperature)
    breaks = (kills > 0) | (over > 0)
    if not breaks.any():
        return _Planned(0.0, 1.0, 0.0, 1.0)
    odds, dullest = float(breaks.mean()), float(factors[breaks].min())
    if judge(task, Remedy(), none[:1], none[:1]).is_broken[0]:
        return _Planned(odds, 1.0, 0.0, dullest)
    severity = np.argsort(factors[breaks] + warmer[breaks] / 10)
    middle = int(severity[len(severity) // 2])
    return _Planned(odds, float(factors[breaks][middle]), float(warmer[breaks][middle]), dullest)


def _as_it_stands(task: CoverTask, day: _Planned) -> CoverPlan:
    return CoverPlan(task.bench_id, None, 0, 0, day.odds, None, None, None, None, 0.0, 0.0, 0.0)


def _plan(task: CoverTask, best: _Best, day: _Planned, open_day: Verdict) -> CoverPlan:
    none = np.zeros(1, dtype=np.int64)
    still = states_of(task, Remedy(), none, none, 1.0)
    temperature = (task.climate(still, np.array([day.factor])) + day.warmer_c)[0]
    sun = light(task, still)[0]
    rule, value, limit, unit = _what_breaks(task, temperature, sun * day.factor, open_day)
    cost, sign, sign_at = 0.0, None, 0
    if best.remedy is not None:
        drawn = states_of(task, best.remedy, np.array([best.on]), np.array([best.off]), best.remedy.middle)
        cost = float((sun - light(task, drawn)[0]) @ (task.today * STEP_S / 1e6))
        sign_at = _bright_from(sun, best.on, best.off)
        sign = float(sun[sign_at] * day.dullest)
    kills, short, over = best.verdict
    return CoverPlan(
        bench_id=task.bench_id,
        remedy=best.remedy,
        on=best.on,
        off=best.off,
        odds=day.odds,
        rule=rule,
        value=value,
        limit=limit,
        unit=unit,
        cost_mol=cost,
        unheld=kills + over,
        under_minimum_mol=max(short - float(open_day.short_of_minimum[0]), 0.0),
        kills=kills,
        stays=best.stays,
        factor=day.factor,
        warmer_c=day.warmer_c,
        sign_at=sign_at,
        sign_ppfd=sign,
    )


def _bright_from(sun: Array, on: int, off: int) -> int:
    """First step while the remedy stands at which the sun is high enough for the meter to tell days apart."""
    bright = np.flatnonzero(sun[on:off] >= TELLS * sun[on:off].max())
    return on + int(bright[0]) if len(bright) else on


def _what_breaks(
    task: CoverTask, temperature_c: Array, ppfd: Array, verdict: Verdict
) -> tuple[str, float, float | None, str]:
    limits = task.limits
    peak, sun = _peak(task, temperature_c, limits.temperature_c), _peak(task, ppfd, limits.ppfd_umol_m2_s)
    if verdict.kills[0] > 0:
        return (
            "heat-kills",
            _peak(task, temperature_c, limits.temperature_upper_c),
            limits.temperature_upper_c,
            "c",
        )
    if limits.temperature_c is not None and peak > limits.temperature_c:
        return "heat", peak, limits.temperature_c, "c"
    return "light", sun, limits.ppfd_umol_m2_s, "umol"


def _peak(task: CoverTask, values: Array, limit: float | None) -> float:
    """The sheet's day's peak where it passes the limit, else that of all days before the next hands come."""
    now, *later = task.limit_days
    today = float(values[now].max()) if now.any() else -np.inf
    if limit is None or today > limit or not later:
        return today
    return max(today, float(values[np.any(later, axis=0)].max()))
