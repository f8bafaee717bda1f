"""Is light at the hours when the sun was there? Held against the sun's place, not against our parsers."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import numpy as np
import pandas as pd
from pvlib import solarposition

from lightplan.clock import grid_over
from lightplan.site.models import Site
from lightplan.weather.answer import Asked

HOUR = pd.Timedelta(hours=1)
ASKED_AT = datetime(2026, 1, 1, tzinfo=UTC)


def heights_deg(site: Site, moments: list[pd.DatetimeIndex]) -> np.ndarray:
    """The sun's height at each of several looks, (looks, intervals); pvlib's ephemeris, not what we use."""
    at = moments[0].append(moments[1:])
    height = solarposition.ephemeris(at, site.latitude, site.longitude)["elevation"].to_numpy()
    return np.asarray(height).reshape(len(moments), -1)


def cos_zenith(site: Site, starts: pd.DatetimeIndex, step: pd.Timedelta = HOUR) -> np.ndarray:
    """Mean cosine of the zenith over each interval, six looks."""
    heights = heights_deg(site, [starts + step * (n + 0.5) / 6 for n in range(6)])
    return np.mean(np.clip(np.sin(np.radians(heights)), 0, None), axis=0)


def out_of_step(site: Site, light: pd.Series) -> int:
    """Hours with light while the sun is down all through, or without any while it is well up all through."""
    light = light.dropna()
    index = pd.DatetimeIndex(light.index)
    heights = heights_deg(site, [index + HOUR * p for p in np.linspace(0, 1, 5)])
    at_night = (heights.max(axis=0) < -1.0) & (light.to_numpy() > 0.5)
    by_day = (heights.min(axis=0) > 5.0) & (light.to_numpy() < 3.0)
    return int((at_night | by_day).sum())


def apart(ours: pd.Series, theirs: pd.Series) -> float:
    """Sum of the differences over the sum of light."""
    both = ours.notna() & theirs.notna()
    return float((ours - theirs)[both].abs().sum() / theirs[both].sum())


def best_lag(site: Site, light: pd.Series) -> float:
    """By how many half hours light is best moved to follow the sun; 0 where its hours are right."""
    light = light.dropna()
    index = pd.DatetimeIndex(light.index)
    lags = np.array([-2, -1, 0, 1, 2])
    fit = [np.corrcoef(light, cos_zenith(site, index + HOUR / 2 * n))[0, 1] for n in lags]
    return float(lags[int(np.argmax(fit))])


def asked_for(site: Site, first: date, days: int, now: datetime | None = None) -> Asked:
    grid = grid_over(first, days, site.timezone)
    start = pd.Timestamp(grid.times[0]).floor("h")
    end = pd.Timestamp(grid.moment(len(grid)).astimezone(UTC)).ceil("h")
    times = pd.date_range(start, end, freq=HOUR, inclusive="left")
    return Asked(times, grid.dates, grid.moment(len(grid)), now or start.to_pydatetime() + timedelta(hours=5))
