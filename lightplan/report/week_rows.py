"""The week, one line a day, and the batches whose first seedlings are due."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache

from lightplan.dayplan import DayAhead, DayPlan
from lightplan.report.names import crop_name
from lightplan.report.units import capital, short, short_day
from lightplan.report.view import WeekBlock, WeekRow
from lightplan.site.models import Stage
from lightplan.tables import read_table


@dataclass(frozen=True)
class Due:
    """A batch and the dates between which its first seedlings come up."""

    bench: str
    crop: str
    sown: date
    first: date
    last: date


@cache
def _emergence_days() -> dict[str, tuple[int, int]]:
    """Days from sowing to emergence, low and high, by crop."""
    return {
        row["crop"]: (int(float(row["days_low"])), int(float(row["days_high"])))
        for row in read_table("crops_germination")
        if row["record"] == "merged" and row["days_low"] and row["days_high"]
    }


def due(plan: DayPlan) -> tuple[Due, ...]:
    """Batches in germination on this day whose window has not passed, soonest first."""
    found = []
    for bench in plan.benches:
        for batch in (b.batch for b in bench.batches):
            days = _emergence_days().get(batch.crop)
            if batch.stage is Stage.GERMINATION and batch.sown and days:
                first, last = (batch.sown + timedelta(days=n) for n in days)
                if last >= plan.day:
                    found.append(Due(bench.bench.name, batch.crop, batch.sown, first, last))
    return tuple(sorted(found, key=lambda d: (d.first, d.last, d.bench)))


def emergence_lines(plan: DayPlan) -> tuple[str, ...]:
    return tuple(
        f"{capital(crop_name(d.crop))} on {d.bench}, sown {short_day(d.sown)}:"
        f" {short_day(d.first)} to {short_day(d.last)}"
        for d in due(plan)
    )


def week_block(plan: DayPlan) -> WeekBlock | None:
    """The days ahead; None where the weather reaches no further than today."""
    if len(plan.week) < 2:
        return None
    batches = due(plan)
    rows = tuple(_row(ahead, plan, batches) for ahead in plan.week)
    usual = plan.weather.usual_dli_mol_m2_d
    return WeekBlock(
        rows=rows,
        has_emerging=any(row.emerging for row in rows),
        usual=None if usual is None else short(usual),
    )


def _row(ahead: DayAhead, plan: DayPlan, batches: tuple[Due, ...]) -> WeekRow:
    planted = {b.bench.id for b in plan.benches if b.batches}
    suns = [mol for bench, mol in ahead.sun_at_benches if bench in planted]
    outdoor = ahead.outdoor
    coming = list(dict.fromkeys(crop_name(d.crop) for d in batches if d.first <= ahead.day <= d.last))
    return WeekRow(
        day="Today" if ahead.day == plan.day else short_day(ahead.day),
        outdoors=short(outdoor.dli),
        spread=f"{short(outdoor.dli_low)}–{short(outdoor.dli_high)}",
        benches=_range(suns),
        emerging=", ".join(coming),
    )


def _range(values: list[float]) -> str:
    if not values:
        return "–"
    low, high = short(min(values)), short(max(values))
    return low if low == high else f"{low}–{high}"
