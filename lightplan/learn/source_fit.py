"""Scored days → how far a weather source errs here: its light where it gives cloud alone, and its band.

Both are conjugate: the mean of a normal with known noise, and a scale by its inverse chi-square (Gelman et
al., Bayesian Data Analysis, 3rd ed., ch. 2.5 and 2.6; from memory).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np
from scipy.stats import chi2

from lightplan.learn.calibration import Factor, SourceFound
from lightplan.learn.regression import Z90
from lightplan.learn.score import DayScore
from lightplan.weather.bands import SiteErrors, stretched

Z10 = 1.2816
CLOUD_LIGHT_SD = 0.15  # of a source's cloud curve at one place, as log; judgement
CLOUD_DAY_SD = 0.35  # of one day's light about it, as log; weather/cloud.py's spreads
PRIOR_DAYS = 10  # that the assumed band counts for; judgement
FEWEST_DAYS = 10
CLOUD_ONLY = ("nws", "met-norway")
MEASURED = ("logger", "file")  # who may say what the light was; a cloud-only source cannot of itself
WIDEST = 3.0


def errors_of(scores: Sequence[DayScore]) -> dict[str, tuple[float, ...]]:
    """By source, how many standard deviations of its band, as first assumed, each scored day lay off.

    What the days before had taught the band of a sheet is taken out again.
    """
    found: dict[str, list[float]] = {}
    for score in scores:
        off = _off(score) if _teaches(score) else None
        if off is not None:
            found.setdefault(score.source, []).append(off * score.stretch)
    return {source: tuple(errors) for source, errors in found.items()}


def _teaches(score: DayScore) -> bool:
    if score.kind != "forecast" or score.clear_mol <= 0 or score.forecast_mol <= 0:
        return False
    return score.source not in CLOUD_ONLY or score.observed_by in MEASURED


def _off(score: DayScore) -> float | None:
    """(came − forecast) in standard deviations of the sheet's own band, on the band's own measure."""
    told, low, high, came = (
        float(stretched(np.array([mol / score.clear_mol]))[0])
        for mol in (score.forecast_mol, score.low_mol, score.high_mol, score.came_mol)
    )
    sd = ((told - low) if came < told else (high - told)) / Z10
    return None if sd <= 1e-6 else (came - told) / sd


def measured_days(scores: Sequence[DayScore], source: str) -> int:
    """Days that teach of a source and were measured, not told by the source itself."""
    return sum(s.source == source and s.observed_by in MEASURED and _teaches(s) for s in scores)


def spread_factor(errors: Sequence[float], measured: int) -> Factor:
    """measured : how many of the days. What a service says of a past day is its own model again, nearer to
    its forecast than the truth is: that may widen the band, and only what was measured may narrow it."""
    days = PRIOR_DAYS + len(errors)
    squares = PRIOR_DAYS + sum(e**2 for e in errors)
    low, high = (math.sqrt(squares / float(chi2.ppf(q, days))) for q in (0.95, 0.05))
    before = [math.sqrt(PRIOR_DAYS / float(chi2.ppf(q, PRIOR_DAYS))) for q in (0.95, 0.05)]
    middle = min(math.sqrt(squares / days), WIDEST)
    why_not = None if len(errors) >= FEWEST_DAYS else _why_not(len(errors))
    if why_not is None and middle < 1.0 and measured < FEWEST_DAYS:
        why_not = "by its own word only: a light logger in the open could tell that it errs less"
    return Factor(
        middle=middle,
        low=low,
        high=high,
        prior_low=before[0],
        prior_high=before[1],
        readings=len(errors),
        used=why_not is None,
        why_not=why_not,
    )


def cloud_factor(scores: Sequence[DayScore], source: str) -> Factor:
    """On the light that is worked out from a source's cloud."""
    days = [s for s in scores if s.source == source and _teaches(s)] if source in CLOUD_ONLY else []
    logs = [math.log(max(s.came_mol, 0.01) / s.raw_mol) for s in days]
    trust = 1 / CLOUD_LIGHT_SD**2 + len(logs) / CLOUD_DAY_SD**2
    mean, sd = sum(logs) / CLOUD_DAY_SD**2 / trust, trust**-0.5
    why_not = _why_not(len(logs)) if len(logs) < FEWEST_DAYS else None
    if source not in CLOUD_ONLY:
        why_not = "it gives light itself"
    return Factor(
        middle=math.exp(mean),
        low=math.exp(mean - Z90 * sd),
        high=math.exp(mean + Z90 * sd),
        prior_low=math.exp(-Z90 * CLOUD_LIGHT_SD),
        prior_high=math.exp(Z90 * CLOUD_LIGHT_SD),
        readings=len(logs),
        used=why_not is None,
        why_not=why_not,
    )


def _why_not(days: int) -> str:
    return f"{days} day{'' if days == 1 else 's'} scored, {FEWEST_DAYS} are the least"


def sources_found(scores: Sequence[DayScore]) -> tuple[SourceFound, ...]:
    return tuple(
        SourceFound(source, len(errors), cloud_factor(scores, source), _spread(scores, source, errors))
        for source, errors in errors_of(scores).items()
    )


def learned(
    scores: Sequence[DayScore], found: Sequence[SourceFound], sources: Sequence[str]
) -> Mapping[str, SiteErrors]:
    """By source: its band by every scored day, its cloud's light by the calibration in use."""
    errors = errors_of(scores)
    light = {s.source: s.light.middle for s in found if s.light.used}
    spread = {source: _spread(scores, source, errors.get(source, ())) for source in sources}
    return {
        source: SiteErrors(
            cloud_light=light.get(source, 1.0),
            spread=spread[source].middle if spread[source].used else 1.0,
        )
        for source in sources
    }


def _spread(scores: Sequence[DayScore], source: str, errors: Sequence[float]) -> Factor:
    return spread_factor(errors, measured_days(scores, source))
