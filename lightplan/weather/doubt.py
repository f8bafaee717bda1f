"""Whatever stands in for what should have come may promise no sunny day that nobody looked at."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd

from lightplan.site.models import Site
from lightplan.weather.bands import never_sunny
from lightplan.weather.clear_sky import clear_day_sums
from lightplan.weather.table import Weather


def doubted(found: Weather, site: Site) -> Weather:
    """A forecast that is old, stale or patched with a stand-in's band: sunny perhaps, never surely so."""
    index = pd.DatetimeIndex(found.table.index)
    hours = pd.Timedelta(index[1] - index[0]) / pd.Timedelta(hours=1)
    by_day = (found.table["ghi_w_m2"] * hours).groupby(index.tz_convert(site.timezone).date).sum()
    dates = found.spread.dates
    own = np.array([float(by_day.get(day, 0.0)) for day in dates])
    return replace(found, spread=never_sunny(found.spread, own, clear_day_sums(site, dates)))
