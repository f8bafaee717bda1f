"""The highest power of all lamps together in the month so far, from what earlier sheets set."""

from __future__ import annotations

from datetime import datetime

from lightplan.records import History
from lightplan.site.models import Site


def peak_so_far_kw(site: Site, history: History, until: datetime) -> float:
    """Peak [kW] from the month's first midnight on; days without a sheet count as unlit. 0 where no peak
    is charged."""
    if site.power is None or site.power.peak_price_per_kw == 0:
        return 0.0
    month = until.astimezone(site.timezone).replace(day=1, hour=0, minute=0, second=0, microsecond=0)
    changes = [
        (moment.timestamp(), change)
        for bench in site.benches
        if bench.lamps is not None
        for on, off in history.lamp_times(bench.id, month, until)
        for draw in (bench.lamps.power_kw * bench.lamps.working,)
        for moment, change in ((on, draw), (off, -draw))
    ]
    now = peak = 0.0
    for _, change in sorted(changes):  # at one moment what goes off comes first
        now += change
        peak = max(peak, now)
    return peak
