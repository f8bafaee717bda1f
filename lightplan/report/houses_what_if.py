"""A change tried beside today, on the year's pages."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lightplan.report.houses_view import FigureRow, MonthRow, MonthTable, WhatIfView
from lightplan.report.units import figure
from lightplan.year.beside import Beside, WhatIf

Array = NDArray[np.float64]
SLIGHT_MOL = 0.005  # less than this in every month is the same


def what_if_view(found: WhatIf) -> WhatIfView:
    power = found.then.site.power or found.today.site.power
    currency = "" if power is None else f", {power.currency}"
    return WhatIfView(
        title=f"What if: {'; '.join(found.changes)}",
        uncalibrated=None
        if found.calibrated
        else "Uncalibrated: no meter reading has corrected these houses; the change is surer.",
        table=MonthTable(
            "Today and then", "mol a day; benches with their lamps", "Year", tuple(_rows(found))
        ),
        figures=(
            FigureRow("Lamps, kWh a year", _three(*found.lamp_kwh)),
            FigureRow(f"Lamps a year{currency}", _three(*found.lamp_cost)),
            FigureRow("Heat for the houses, kWh a year", _three(*found.heating_kwh)),
            FigureRow("Bench days that pass a limit", _three(*map(float, found.remedy_days))),
        ),
    )


def _rows(found: WhatIf) -> list[MonthRow]:
    """Two rows for each house and bench that the change touches; one line where it touches none."""
    rows = []
    for one in (*found.houses, *found.benches):
        if _same(one):
            continue
        rows += [_row(f"{one.name}, today", one.today_mol), _row("then", one.then_mol, strong=True)]
    if not rows:
        rows.append(MonthRow("No house's or bench's light changes", ("",) * len(found.today.months), ""))
    return rows


def _same(one: Beside) -> bool:
    if one.today_mol is None or one.then_mol is None:
        return False
    return bool((np.abs(one.today_mol - one.then_mol) < SLIGHT_MOL).all())


def _row(name: str, values: Array | None, *, strong: bool = False) -> MonthRow:
    if values is None:
        return MonthRow(name, ("–",) * 12, "–", strong)
    return MonthRow(
        name,
        tuple(figure(float(v), 0 if v >= 99.5 else 1) for v in values),
        figure(float(values.mean()), 1),
        strong,
    )


def _three(today: float | None, then: float | None) -> tuple[str, str, str]:
    if today is None or then is None:
        return "–", "–", "–"
    change = then - today
    sign = "+" if round(change) > 0 else ""
    return figure(today), figure(then), f"{sign}{figure(change)}"
