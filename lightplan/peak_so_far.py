"""The highest power of all lamps together in the month so far, from what earlier sheets set."""

from __future__ import annotations

from datetime import datetime

from lightplan.records import History
from lightplan.site.models import Site

Interval = tuple[datetime, datetime]


def peak_so_far_kw(site: Site, history: History, until: datetime) -> float:
    """Peak [kW] from the month's first midnight on, 0 where none is charged; days without a sheet count as
    unlit."""
    if site.power is None or site.power.peak_price_per_kw == 0:
        return 0.0
    month = until.astimezone(site.timezone).replace(day=1, hour=0, minute=0, second=0, microsecond=0)
    changes = [
        (moment.timestamp(), change)
        for bench in site.benches
        if bench.lamps is not None
        for on, off in lamp_times(history, bench.id, month, until)
        for draw in (bench.lamps.power_kw * bench.lamps.working,)
        for moment, change in ((on, draw), (off, -draw))
    ]
    now = peak = 0.0
    for _, change in sorted(changes):  # at one moment what goes off comes first
        now += change
        peak = max(peak, now)
    return peak


def lamp_times(history: History, bench: str, start: datetime, end: datetime) -> tuple[Interval, ...]:
    """All lamp times known to lie in [start, end); a later plan rules from its own window's start on."""
    stretches = history.lamps.get(bench, ())
    begins = sorted({start, *(s.window[0] for s in stretches if start < s.window[0] < end)}, reverse=True)
    times: list[Interval] = []
    until = end
    for begin in begins:
        ruling = next((s for s in reversed(stretches) if s.window[0] <= begin), None)
        for on, off in ruling.intervals if ruling else ():
            if max(on, begin) < min(off, until):
                times.append((max(on, begin), min(off, until)))
        until = begin
    return tuple(sorted(times))
