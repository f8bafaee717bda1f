"""What each morning knew of the sun: perfectly, through the error model, or from yesterday."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lightplan.advice.lamps.usual_sun import LOW_POINT
from lightplan.clock import STEPS_PER_H
from lightplan.replay.season import Season
from lightplan.weather.clear_sky import BRIGHTEST, DULL_CLEARNESS, USUAL_CLEARNESS

Array = NDArray[np.float64]

# The error model: standard deviation of the logarithm for the day itself, the next and the one after (days
# further off are taken as the last), and how one forecast's errors hang together. Judgement, as fixed.
ERROR_SD = (0.15, 0.21, 0.28)
DAYS_AHEAD = 16  # a window ends within a fortnight, and its last day is looked at whole
DAY_TO_DAY = 0.7  # correlation of one forecast's error from a day to the next
JUDGED_MORNINGS = 20  # guesses that a 10 % point is taken from at least (judgement)
STEPS_A_DAY = 24 * STEPS_PER_H


@dataclass(frozen=True)
class Ahead:
    """What one morning expects.

    sun_ppfd : of each bench, (steps,) from the morning's midnight on. low : (days,) factor of each day's
    10 % point.
    """

    sun_ppfd: tuple[Array, ...]
    low: Array


Forecast = Callable[[int, int], Ahead]  # number of the morning, days looked ahead → what it expects


def perfect(season: Season) -> Forecast:
    """The sun as it was."""

    def of(morning: int, days: int) -> Ahead:
        return Ahead(_truth(season, morning, days), np.ones(days))

    return of


def model(season: Season, seed: int) -> Forecast:
    """The true sun times a factor of each day, drawn anew each morning; one seed is one run."""
    factor = model_factors(season, seed)
    low = model_low(factor.shape[1])

    def of(morning: int, days: int) -> Ahead:
        of_day = factor[morning, :days][_day_of_step(season, morning, days)]
        return Ahead(tuple(sun * of_day for sun in _truth(season, morning, days)), low[:days])

    return of


def model_factors(season: Season, seed: int) -> Array:
    """(mornings, days ahead) forecast over true light, capped at a clear sky × 1.05."""
    error = draw_errors(season.days, seed)
    day = np.minimum(np.arange(season.days)[:, None] + np.arange(DAYS_AHEAD), len(season.outdoor_mol) - 1)
    with np.errstate(divide="ignore", invalid="ignore"):
        most = BRIGHTEST * season.clear_mol / season.outdoor_mol
    most = np.where(season.outdoor_mol > 0, most, 1.0)
    return np.asarray(np.minimum(np.exp(error), most[day]))


def draw_errors(mornings: int, seed: int) -> Array:
    """(mornings, DAYS_AHEAD) logarithms of forecast over truth, before the cap: exp of each has mean 1.

    A morning's errors are correlated from one day ahead to the next, and new each morning. The first mornings
    draw the same whatever comes after them.
    """
    chance = np.random.default_rng(seed)
    normal = chance.standard_normal((mornings, DAYS_AHEAD))
    for number in range(1, DAYS_AHEAD):
        fresh = np.sqrt(1 - DAY_TO_DAY**2) * normal[:, number]
        normal[:, number] = DAY_TO_DAY * normal[:, number - 1] + fresh
    sd = _sd(DAYS_AHEAD)
    return np.asarray(sd * normal - sd**2 / 2)


def model_low(days: int) -> Array:
    """(days,) 10 % point of true over forecast light, by the same errors."""
    sd = _sd(days)
    return np.asarray(np.exp(sd**2 / 2 + LOW_POINT * sd))


def _sd(days: int) -> Array:
    return np.array([ERROR_SD[min(number, len(ERROR_SD) - 1)] for number in range(days)])


def persistence(season: Season) -> Forecast:
    """Yesterday's sun again, at the same hours.

    Its low point is the 10 % point of what such guesses brought so far; before there are enough of them, that
    of a day nothing is known of. The first morning knows no yesterday: a usual share of its clear sky.
    """

    def of(morning: int, days: int) -> Ahead:
        sun = tuple(_again(season, bench.sun_ppfd, morning, days) for bench in season.benches)
        return Ahead(sun, _low_so_far(season, morning, days))

    return of


def _low_so_far(season: Season, morning: int, days: int) -> Array:
    """(days,) by how far ahead; of mornings whose day has passed."""
    light = season.outdoor_mol
    low = np.empty(days)
    for number in range(days):
        told = light[: max(0, morning - 1 - number)]  # yesterdays of the mornings that can be judged
        came = light[1 + number : 1 + number + len(told)]
        if len(told) >= JUDGED_MORNINGS and (told > 0).all():
            low[number] = min(1.0, float(np.quantile(came / told, 0.1)))
        else:
            seen = light[morning - 1] if morning else USUAL_CLEARNESS * season.clear_mol[0]
            dull = DULL_CLEARNESS * season.clear_mol[max(0, morning - 1)]
            low[number] = min(1.0, dull / seen) if seen > 0 else 1.0
    return low


def _again(season: Season, sun: Array, morning: int, days: int) -> Array:
    steps = _steps(season, morning, days)
    if morning == 0:
        of_day = season.outdoor_mol[:days]
        with np.errstate(divide="ignore", invalid="ignore"):
            factor = np.where(of_day > 0, USUAL_CLEARNESS * season.clear_mol[:days] / of_day, 1.0)
        return np.asarray(sun[steps] * factor[season.grid.day[steps]])
    number = np.arange(steps.start, steps.stop)
    since = number - steps.start
    back = STEPS_A_DAY * (1 + since // STEPS_A_DAY)
    return np.asarray(sun[number - back])


def _steps(season: Season, morning: int, days: int) -> slice:
    first, end = np.searchsorted(season.grid.day, [morning, morning + days])
    return slice(int(first), int(end))


def _day_of_step(season: Season, morning: int, days: int) -> NDArray[np.int64]:
    return np.asarray(season.grid.day[_steps(season, morning, days)] - morning)


def _truth(season: Season, morning: int, days: int) -> tuple[Array, ...]:
    steps = _steps(season, morning, days)
    return tuple(bench.sun_ppfd[steps] for bench in season.benches)
