"""Price of lamp power on every step, and what a pattern of lamp hours costs."""

from __future__ import annotations

import numpy as np

from lightplan.advice.lamps.task import Array
from lightplan.clock import Grid
from lightplan.site.models import Power
from lightplan.site.tariff import price_per_kwh


def prices(power: Power | None, grid: Grid) -> Array | None:
    """Price per kWh of every step by clock time, weekday and month; None without rates."""
    if power is None or not power.rates:
        return None
    found = np.empty(len(grid))
    for number, day in enumerate(grid.dates):
        steps = np.flatnonzero(grid.day == number)
        of_minute = {
            minute: price_per_kwh(power.rates, month=day.month, weekday=day.weekday(), minute=minute)
            for minute in {int(m) for m in grid.minute[steps]}
        }
        found[steps] = [of_minute[int(m)] for m in grid.minute[steps]]
    return found
