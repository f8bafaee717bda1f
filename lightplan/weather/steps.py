"""A table brought to a finer step, each interval's energy kept."""

from __future__ import annotations

import numpy as np
import pandas as pd

from lightplan.refine import spread_over_steps
from lightplan.site.models import Site
from lightplan.weather.clear_sky import clear_sky_ghi
from lightplan.weather.table import LIGHT


def on_step(table: pd.DataFrame, step: pd.Timedelta, site: Site) -> pd.DataFrame:
    """The table on a step that divides its own: light follows the clear sky, the rest is repeated."""
    index = pd.DatetimeIndex(table.index)
    own = pd.Timedelta(index[1] - index[0])
    parts = own // step
    if parts <= 1:
        return table
    fine = pd.date_range(index[0], index[-1] + own, freq=step, inclusive="left")
    repeated = table.loc[index.repeat(parts)].set_axis(fine, axis=0)
    clear = clear_sky_ghi(site, fine, step).to_numpy()
    above = np.ones(len(fine))
    shape = spread_over_steps(np.ones(len(index)), clear, above)
    for column in LIGHT:
        weights = shape if column != "dni_w_m2" else (shape > 0) * 1.0
        repeated[column] = repeated[column].to_numpy(dtype=float) * weights
    return repeated
