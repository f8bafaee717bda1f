"""Rows of the benches on the year's pages: light by week, heat under tents, lamps, days that need a hand."""

from __future__ import annotations

import numpy as np
from markupsafe import Markup

from lightplan.report import houses_chart as chart
from lightplan.report.houses_view import BenchRow, FigureRow
from lightplan.report.units import figure, units_of
from lightplan.year.site_year import BenchYear, SiteYear
from lightplan.year.stretches import means

COOL_C, HOT_C = 10.0, 60.0  # bottom and top of the heat drawings, the same for all
COUNTS = 1e-6  # mol owed past what may be


def bench_rows(year: SiteYear, axis: chart.Axis, top: float) -> tuple[BenchRow, ...]:
    return tuple(_row(year, one, number, axis, top) for number, one in enumerate(year.benches, 1))


def _row(year: SiteYear, one: BenchYear, number: int, axis: chart.Axis, top: float) -> BenchRow:
    sun = means(one.light.inside_mol, year.weeks)
    lamps = np.zeros(len(sun)) if one.lamps is None else means(one.lamps.mol, year.weeks)
    tented = one.bench.tent is not None
    return BenchRow(
        name=f"{number} {one.bench.name}",
        place=year.site.house(one.bench.house).name,
        light=chart.bench_light(
            axis,
            sun=sun,
            lamps=lamps,
            minimum=_levels(year, one, "minimum"),
            target=_levels(year, one, "target"),
            top=top,
            label=f"light at {one.bench.name} by week",
        ),
        heat=_heat(year, one, axis) if tented else None,
        heat_words=_heat_words(year, one) if tented else "",
    )


def _levels(year: SiteYear, one: BenchYear, which: str) -> list[float | None]:
    """What each week asks: the most of its days, None where none of them asks anything."""
    found: list[float | None] = []
    for week in year.weeks:
        asked = [getattr(n, which) for n in one.needs[week.days] if n is not None]
        found.append(max((value for value in asked if value is not None), default=None))
    return found


def _heat(year: SiteYear, one: BenchYear, axis: chart.Axis) -> Markup:
    heat = one.heat
    return chart.bench_heat(
        axis,
        peak=np.array([heat.peak_c[week.days].max() for week in year.weeks]),
        days_over=np.array([heat.too_hot[week.days].sum() for week in year.weeks]),
        low=COOL_C,
        top=HOT_C,
        label=f"hottest moment of each week under the tent of {one.bench.name}",
    )


def _heat_words(year: SiteYear, one: BenchYear) -> str:
    units = units_of(year.site)
    low, high = units.degrees(COOL_C), units.degrees(HOT_C)
    return f"tent closed, {low} to {high} {units.degree}; hottest {units.peak(float(one.heat.peak_c.max()))}"


def lamp_heads(year: SiteYear) -> tuple[str, ...]:
    power = year.site.power
    priced = power is not None and year.lamps.cost is not None
    cost = (f"{power.currency}",) if priced and power is not None else ()
    return ("Lamp hours", "kWh", *cost, "Days short", "Too hot", "Too bright")


def lamp_rows(year: SiteYear) -> tuple[FigureRow, ...]:
    rows = []
    priced = year.lamps.cost is not None
    for number, one in enumerate(year.benches, 1):
        lamps = one.lamps
        cells = (
            ["–", "–", *(["–"] if priced else []), "–"]
            if lamps is None
            else [
                figure(float(lamps.hours.sum())),
                figure(float(lamps.kwh.sum())),
                *([figure(float(lamps.cost.sum()))] if priced and lamps.cost is not None else []),
                figure(float((lamps.short_mol > COUNTS).sum())),
            ]
        )
        cells += [figure(float(one.heat.too_hot.sum())), figure(float(one.heat.too_bright.sum()))]
        rows.append(FigureRow(f"{number} {one.bench.name}", tuple(cells)))
    if year.lamps.benches:
        total = ["", figure(year.lamps.kwh)]
        if priced and year.lamps.cost is not None:
            total.append(figure(year.lamps.cost))
        rows.append(FigureRow("All, peak charges in", (*total, "", "", "")))
    return tuple(rows)
