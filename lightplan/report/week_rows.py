"""The week, one line a day, and the batches whose first seedlings are due."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from lightplan.crops.needs import emergence_window
from lightplan.dayplan import DayAhead, DayPlan
from lightplan.report.names import crop_name
from lightplan.report.units import capital, figure, listing, short_day
from lightplan.report.view import WeekBlock, WeekRow
from lightplan.site.models import Stage


@dataclass(frozen=True)
class Due:
    """A batch and the dates between which its first seedlings come up."""

    bench: str
    crop: str
    first: date
    last: date


def due(plan: DayPlan) -> tuple[Due, ...]:
    """Batches in germination on this day whose window has not passed, soonest first."""
    found = []
    for bench in plan.benches:
        for batch in (b.batch for b in bench.batches):
            window = emergence_window(batch)
            if batch.stage is Stage.GERMINATION and window and window[1] >= plan.day:
                found.append(Due(bench.bench.name, batch.crop, *window))
    return tuple(sorted(found, key=lambda d: (d.first, d.last, d.bench)))


def emergence_lines(plan: DayPlan) -> tuple[str, ...]:
    alike: dict[tuple[str, date, date], list[str]] = {}
    for batch in due(plan):
        alike.setdefault((batch.crop, batch.first, batch.last), []).append(batch.bench)
    return tuple(
        f"{capital(crop_name(crop))} on {listing(benches)}: {short_day(first)} to {short_day(last)}"
        for (crop, first, last), benches in alike.items()
    )


def week_block(plan: DayPlan) -> WeekBlock | None:
    """The days ahead (today stands at the top); None where the weather reaches no further."""
    if len(plan.week) < 2:
        return None
    return WeekBlock(tuple(_row(ahead, plan) for ahead in plan.week if ahead.day != plan.day))


def _row(ahead: DayAhead, plan: DayPlan) -> WeekRow:
    planted = {b.bench.id for b in plan.benches if b.batches}
    suns = [mol for bench, mol in ahead.sun_at_benches if bench in planted]
    outdoor = ahead.outdoor
    return WeekRow(
        day=short_day(ahead.day),
        outdoors=figure(outdoor.dli, 1),
        spread=f"{figure(outdoor.dli_low, 1)}–{figure(outdoor.dli_high, 1)}",
        benches=_range(suns),
    )


def _range(values: list[float]) -> str:
    if not values:
        return "–"
    low, high = figure(min(values), 1), figure(max(values), 1)
    return low if low == high else f"{low}–{high}"
