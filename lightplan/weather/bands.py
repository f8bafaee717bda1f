"""How far a day's light may lie from its forecast: 10 and 90 % points, and equally likely days for odds.

The measure is the day's clearness (light over clear-sky light), stretched by the logit of clearness over
BRIGHTEST_DAY: on this scale an error is about as wide on a dull day as on a bright one, and no day is
brighter than it can be.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.stats import norm

from lightplan.clock import at_local
from lightplan.site.models import Site
from lightplan.weather.assumed import assumed_measure
from lightplan.weather.clear_sky import QUANTILES, STAND_IN_DULL
from lightplan.weather.cloud import CURVES, CloudKind
from lightplan.weather.table import Spread

Array = NDArray[np.float64]

BRIGHTEST_DAY = 1.15  # of the Ineichen clear sky, which reads up to 8 % low; judgement
DULLEST_DAY, BRIGHTEST_SEEN = 0.02, 1.10  # where the logit is cut

LIGHT_SHARE_KNOWN = 0.8  # of a day's clear-sky light; with less a day's members or clearness say too little
FEWEST_MEMBERS = 5


@dataclass(frozen=True)
class SiteErrors:
    """What a site's own scores have taught about a source; as it stands, nothing.

    cloud_light : factor on light that was worked out from cloud cover. spread : factor on the assumed spread.
    """

    cloud_light: float = 1.0
    spread: float = 1.0


NOTHING_LEARNED = SiteErrors()


def stretched(clearness: Array) -> Array:
    share = np.clip(clearness, DULLEST_DAY, BRIGHTEST_SEEN) / BRIGHTEST_DAY
    return np.asarray(np.log(share / (1 - share)))


def squeezed(measure: Array) -> Array:
    return np.asarray(BRIGHTEST_DAY / (1 + np.exp(-measure)))


def spread_measure(
    site: Site, day: date, *, issued_at: datetime, cloud: CloudKind | None, learned: SiteErrors
) -> float:
    """Standard deviation of the stretched clearness of a day forecast at a time from a kind of source."""
    lead_h = (at_local(day, 720, site.timezone) - issued_at).total_seconds() / 3600
    of_lead, of_season = assumed_measure(site, day, lead_h)
    of_curve = CURVES[cloud].spread * of_season if cloud is not None else 0.0
    return float(np.hypot(of_lead, of_curve)) * learned.spread


def clearness_of_days(light: pd.Series, clear: pd.Series, site: Site, dates: tuple[date, ...]) -> Array:
    """Light over clear-sky light of civil days over the hours that are known; nan without light or hours.

    light, clear : same UTC index, W/m².
    """
    local = pd.DatetimeIndex(light.index).tz_convert(site.timezone).date
    known = light.notna()
    have = light.where(known, 0.0).groupby(local).sum()
    could = clear.where(known, 0.0).groupby(local).sum()
    of_day = (have / could.where(could > 0)).to_dict()
    return np.array([of_day.get(day, np.nan) for day in dates], dtype=float)


def assumed_spread(
    dates: tuple[date, ...], clearness: Array, measure: Array, count: int | None = None
) -> Spread:
    """The band about each day's clearness.

    clearness, measure : (days,); a day of unknown clearness (no daylight) has no band.
    count : members of the sample.
    """
    ranks = QUANTILES if count is None else (np.arange(count) + 0.5) / count
    middle = stretched(np.nan_to_num(clearness, nan=0.5))

    def factor(quantile: Array) -> Array:
        days = squeezed(middle + measure * norm.ppf(quantile)[:, None]) / squeezed(middle)
        return np.where(np.isfinite(clearness), days, 1.0)

    low, high = factor(np.array([0.1, 0.9]))
    return Spread(dates, low, high, factor(ranks))


def with_members(
    spread: Spread,
    members: pd.DataFrame,
    light: pd.Series,
    clear: pd.Series,
    site: Site,
    *,
    wider: float = 1.0,
) -> tuple[Spread, int]:
    """The band of the days that an ensemble covers taken from its members, and how many days those are.

    members : hourly global light, a column each. light, clear : the forecast's own and the clear sky's.
    wider : how many times as far from the forecast the site's own past says they lie.
    Days that the members leave out keep the assumed band. The own day is always inside.
    """
    shared = light.dropna().index.intersection(members.index)
    local = pd.DatetimeIndex(shared).tz_convert(site.timezone).date
    whole = clear.groupby(pd.DatetimeIndex(clear.index).tz_convert(site.timezone).date).sum()
    own_sums = light.loc[shared].groupby(local).sum()
    sums = members.loc[shared].groupby(local).sum(min_count=1)
    gaps = members.loc[shared].isna().where(clear.loc[shared] > 0, False).groupby(local).sum()
    covered = clear.loc[shared].groupby(local).sum()
    low, high = spread.low.copy(), spread.high.copy()
    sample = assumed_sample(spread, members.shape[1])
    taken = 0
    for number, day in enumerate(spread.dates):
        if day not in own_sums.index or own_sums[day] <= 0 or covered[day] < LIGHT_SHARE_KNOWN * whole[day]:
            continue
        there = (gaps.loc[day] == 0).to_numpy()
        if there.sum() < FEWEST_MEMBERS:
            continue
        factors = sums.loc[day].to_numpy()[there] / own_sums[day]
        if wider != 1.0:
            factors = _moved_apart(factors, float(own_sums[day] / covered[day]), wider)
        low[number] = min(1.0, np.quantile(factors, 0.1, method="median_unbiased"))
        high[number] = max(1.0, np.quantile(factors, 0.9, method="median_unbiased"))
        sample[:, number] = np.where(there, 0.0, np.median(factors))
        sample[there, number] = factors
        taken += 1
    return (Spread(spread.dates, low, high, sample), taken) if taken else (spread, 0)


def _moved_apart(factors: Array, clearness: float, wider: float) -> Array:
    """Factors on a day of a clearness, so many times as far from it on the stretched measure."""
    middle = stretched(np.array([clearness]))
    moved = squeezed(middle + wider * (stretched(clearness * factors) - middle)) / squeezed(middle)
    return np.asarray(moved)


def assumed_sample(spread: Spread, count: int) -> Array:
    """A spread's sample with another number of members, each day's quantiles kept."""
    ranks = (np.arange(count) + 0.5) / count
    return np.quantile(spread.sample, ranks, axis=0)


def mixed(own: Spread, other: Spread, own_light: Array, other_light: Array) -> Spread:
    """The band of days whose light comes partly from one source and partly from another.

    own_light, other_light : (days,) what each brings; both are taken to err the same way at once.
    """
    total = own_light + other_light
    share = np.where(total > 0, own_light / np.where(total > 0, total, 1.0), 1.0)
    ranked = assumed_sample(other, own.sample.shape[0])
    order = own.sample.argsort(axis=0).argsort(axis=0)
    sample = share * own.sample + (1 - share) * np.take_along_axis(np.sort(ranked, axis=0), order, axis=0)
    return Spread(
        own.dates,
        share * own.low + (1 - share) * other.low,
        share * own.high + (1 - share) * other.high,
        sample,
    )


def never_sunny(spread: Spread, light: Array, clear: Array) -> Spread:
    """A stand-in's band with its 10 % point at STAND_IN_DULL of a clear day at most, odds with it.

    light, clear : (days,) the table's own light and a clear sky's, same unit. Nobody looked at today's sky,
    so what stands in may say "sunny", but not that it is sure of it. Members above the middle stay.
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        dull = np.where(light > 0, STAND_IN_DULL * clear / light, np.inf)
    low = np.minimum(spread.low, dull)
    count = len(spread.sample)
    rank = (spread.sample.argsort(axis=0).argsort(axis=0) + 0.5) / count
    middle = np.median(spread.sample, axis=0)
    below = np.maximum(low + (middle - low) * (rank - 0.1) / 0.4, 0.0)
    lowered = (rank < 0.5) & (low < spread.low)
    return Spread(
        spread.dates, low, spread.high, np.where(lowered, np.minimum(spread.sample, below), spread.sample)
    )
