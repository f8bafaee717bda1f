"""A sheet saved whatever the disk does: in its folder, else in the computer's own, else told in lines."""

from __future__ import annotations

import tempfile
from collections.abc import Collection
from dataclasses import replace
from pathlib import Path

from lightplan.changes import SecondLook
from lightplan.dayplan import DayPlan
from lightplan.report.order_words import what
from lightplan.report.units import clock
from lightplan.report.write import WriteResult, write_sheet


def save_sheet(
    plan: DayPlan,
    formats: Collection[str],
    out_folder: Path,
    *,
    steps: bool = False,
    look: SecondLook | None = None,
) -> WriteResult:
    """`write_sheet`, with another folder where the one that was asked for can't be written to.

    Raises OSError where there is none: then `order_lines` is what is left.
    """
    try:
        return write_sheet(plan, formats, out_folder, steps=steps, look=look)
    except OSError as error:
        elsewhere = Path(tempfile.gettempdir()) / f"lightplan-{plan.site.id}"
        written = write_sheet(plan, formats, elsewhere, steps=steps, look=look)
        reason = error.strerror or error
        sentence = f"{out_folder} can't be written to ({reason}); the sheet lies in {elsewhere} instead."
        return replace(written, missing=(sentence, *written.missing))


def order_lines(plan: DayPlan) -> tuple[str, ...]:
    """The day's orders as plain lines: number, time, what."""
    return tuple(f"{o.number}. {clock(o.time, plan.site, plan.day)} {what(plan, o)}" for o in plan.orders)
