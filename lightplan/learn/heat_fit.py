"""Thermometer readings and the heat model → factors on a house's loss and on its air changes.

The model is not linear in them, so it is taken as a straight line about the best values so far, a few times
over (Gauss-Newton; Gelman et al., Bayesian Data Analysis, 3rd ed., ch. 13, from memory).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date

from lightplan.heat.parameters import UNCALIBRATED
from lightplan.learn.calibration import Factor, HeatFound, KeptOut
from lightplan.learn.regression import Z90, Observed, Posterior, Term, posterior

LOSS, AIR = "loss", "air"
# Prior spreads of log factors: U-values by make and wind; air changes by venting kind only; judgement
PRIOR = (Term(LOSS, 0.0, 0.2), Term(AIR, 0.0, 0.5))
MAX_SD_K, MIN_SD_K = 2.5, 1.5  # a day's highest and lowest by a hung thermometer, model and all; judgement
FEWEST_DAYS = 5
ROUNDS = 5
NUDGE = 0.05  # of a log factor, for the slope
Z80 = 1.2816
LEAST_K = 1.5  # no peak is foretold closer: sensor, place in the house, forecast of the day; judgement
PRIOR_DAYS = 5  # that the assumed noise counts for
MOST = math.log(4.0)  # past it a straight line means nothing

Run = Callable[[float, float], tuple[float, float]]  # factors on loss and air → lowest and highest [°C]


@dataclass(frozen=True)
class HeatDay:
    """A day's lowest and highest air of a house as read, and what the model says of it."""

    number: int
    day: date
    min_c: float | None
    max_c: float | None
    run: Run


def fit_heat(house: str, days: Sequence[HeatDay]) -> tuple[HeatFound, tuple[KeptOut, ...]]:
    """Factors of one house, and the readings that were kept out."""
    at = {LOSS: 0.0, AIR: 0.0}
    found = posterior(PRIOR, [])
    for _ in range(ROUNDS if days else 0):
        observed = [o for day in days for o in _lines(day, at)]
        found = posterior(PRIOR, observed)
        at = {name: min(max(found.of({name: 1.0})[0], -MOST), MOST) for name in (LOSS, AIR)}
    kept = {o.day for o in found.kept}
    none = posterior(PRIOR, [])
    out = tuple(
        KeptOut(o.number, f"{house}: {abs(_off(o, found)):.0f} °C off what the others say on {o.day}")
        for o in found.outliers
    )
    factors = [_factor(name, found, none, len(kept)) for name in (LOSS, AIR)]
    used = any(f.used for f in factors)
    uncertainty = _uncertainty_k(found) if used else UNCALIBRATED.uncertainty_k
    return HeatFound(house, factors[0], factors[1], min(uncertainty, UNCALIBRATED.uncertainty_k)), out


def _lines(day: HeatDay, at: dict[str, float]) -> list[Observed]:
    """A day's one or two readings as straight lines in the log factors."""

    def run(loss: float, air: float) -> tuple[float, float]:
        return day.run(math.exp(loss), math.exp(air))

    here = run(at[LOSS], at[AIR])
    more = {LOSS: run(at[LOSS] + NUDGE, at[AIR]), AIR: run(at[LOSS], at[AIR] + NUDGE)}
    found = []
    for n, (read, sd) in enumerate(((day.min_c, MIN_SD_K), (day.max_c, MAX_SD_K))):
        if read is None:
            continue
        slopes = {name: (there[n] - here[n]) / NUDGE for name, there in more.items()}
        value = read - here[n] + sum(slopes[name] * at[name] for name in slopes)
        found.append(Observed(day.number, value, slopes, sd, f"extreme {n}", day.day))
    return found


def _off(o: Observed, found: Posterior) -> float:
    return o.value - found.of(o.weights)[0]


def _factor(name: str, found: Posterior, none: Posterior, days: int) -> Factor:
    mean, sd = found.of({name: 1.0})
    _, before = none.of({name: 1.0})
    why_not = None
    if days == 0:
        why_not = "no reading yet"
    elif found.doubted:
        why_not = f"{len(found.doubted)} readings cannot be squared with the model: look at the thermometer"
    elif days < FEWEST_DAYS:
        why_not = f"{days} day{'s' if days > 1 else ''} read, {FEWEST_DAYS} are the least"
    return Factor(
        middle=math.exp(mean),
        low=math.exp(mean - Z90 * sd),
        high=math.exp(mean + Z90 * sd),
        prior_low=math.exp(-Z90 * before),
        prior_high=math.exp(Z90 * before),
        readings=days,
        used=why_not is None,
        why_not=why_not,
    )


def _uncertainty_k(found: Posterior) -> float:
    """Half of an 80 % interval of a day's peak: what is left of noise, and of the factors."""
    peaks = [o for o in found.kept if o.sd == MAX_SD_K]
    if not peaks:
        return UNCALIBRATED.uncertainty_k
    rest = sum(_off(o, found) ** 2 for o in peaks)
    noise = (PRIOR_DAYS * MAX_SD_K**2 + rest) / (PRIOR_DAYS + len(peaks))
    factors = sum(found.of(o.weights)[1] ** 2 for o in peaks) / len(peaks)
    return max(Z80 * math.sqrt(noise + factors), LEAST_K)
