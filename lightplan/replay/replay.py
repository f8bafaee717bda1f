"""A season gone through by every policy, beside the least it could have cost."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum

from lightplan.replay.bound import least_cost_of
from lightplan.replay.forecasts import Forecast, model, perfect, persistence
from lightplan.replay.lit import PolicyRun
from lightplan.replay.policies import advice, fixed_16h, same_day, threshold
from lightplan.replay.season import Season


class Quality(Enum):
    """How good the forecasts are that a morning has."""

    MODEL = "model"
    PERFECT = "perfect"
    PERSISTENCE = "persistence"
    RECORDED = "recorded"


@dataclass(frozen=True)
class Replay:
    """seed : of the error model, None where nothing is drawn. policies : "advice" first."""

    season: Season
    quality: Quality
    seed: int | None
    bound: PolicyRun
    policies: tuple[PolicyRun, ...]

    def over_bound(self, run: PolicyRun) -> float | None:
        """A policy's cost over the least (energy where there are no prices); None where that is nothing."""
        mine, least = (run.kwh, self.bound.kwh) if run.cost is None else (run.cost, self.bound.cost)
        return None if not least or mine is None else mine / least


def forecast_of(season: Season, quality: Quality, seed: int) -> Forecast:
    """Raises ValueError for recorded forecasts, which come from the site's records (`recorded.py`)."""
    if quality is Quality.MODEL:
        return model(season, seed)
    if quality is Quality.PERFECT:
        return perfect(season)
    if quality is Quality.PERSISTENCE:
        return persistence(season)
    raise ValueError("recorded forecasts are read from the records")


def replay(
    season: Season,
    forecast: Forecast,
    *,
    quality: Quality,
    seed: int,
    progress: Callable[[int], None] = lambda mornings: None,
) -> Replay:
    """progress : called with the number of mornings done."""
    return Replay(
        season=season,
        quality=quality,
        seed=seed if quality is Quality.MODEL else None,
        bound=least_cost_of(season),
        policies=(
            advice(season, forecast, progress),
            fixed_16h(season),
            threshold(season),
            same_day(season),
        ),
    )
