"""A plan and its files as a parcel: the subject that tells the day, the orders as plain lines."""

from __future__ import annotations

from collections.abc import Collection
from contextlib import suppress
from pathlib import Path

from lightplan.dayplan import DayPlan
from lightplan.deliver.parcel import Parcel
from lightplan.report.cautions import caution_words
from lightplan.report.head import STAND_IN, sentence
from lightplan.report.save import order_lines
from lightplan.report.units import clock, day_month, weekday


def parcel_of(plan: DayPlan, files: Collection[Path]) -> Parcel:
    """What is to be delivered of a morning. files : as written; one that can't be read is left out."""
    contents = []
    for path in files:
        with suppress(OSError):
            contents.append((path.name, path.read_bytes()))
    date = f"{weekday(plan.day)} {day_month(plan.day)}"
    subject = f"{plan.site.name}, {date}: {sentence(plan)}"
    return Parcel(
        site=plan.site.id,
        day=plan.day,
        made_at=plan.generated_at,
        subject=" ".join(subject.split()),
        text=_text(plan, date, bool(contents)),
        files=tuple(contents),
    )


def _text(plan: DayPlan, date: str, whole: bool) -> str:
    made = clock(plan.generated_at, plan.site, plan.day)
    weather = (STAND_IN[plan.weather.kind], plan.weather.fallback_reason)
    orders = order_lines(plan) or ("Nothing is ordered.",)
    blocks = [
        [f"{plan.site.name}, {date} {plan.day.year}, made {made}", sentence(plan)],
        [f"Weather: {words}." for words in weather if words],
        orders,
        [f"Take care: {caution_words(slug, us=plan.site.us_units)}" for slug in plan.cautions],
        ["" if whole else "The sheet itself could not be written; these are its orders."],
    ]
    return "\n\n".join("\n".join(lines) for lines in blocks if any(lines)) + "\n"
