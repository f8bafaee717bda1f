"""Crops against houses on the year's pages, and moves in words."""

from __future__ import annotations

from lightplan.report import houses_chart as chart
from lightplan.report.drawing import svg
from lightplan.report.houses_view import FitCell, FitRow, FitTable, KeyBox
from lightplan.report.houses_words import short_date
from lightplan.report.names import STAGES, crop_name
from lightplan.report.units import KELVIN_TO_F, capital, figure, units_of
from lightplan.year.answer import HousesAnswer
from lightplan.year.fit import CropFit, HouseFit, Mark, Move
from lightplan.year.site_year import SiteYear

MOST_HOUSES = 4  # side by side
WORDS = {
    Mark.UNDER_MINIMUM: "under the minimum",
    Mark.SHORT: "short of target",
    Mark.ON_TARGET: "on target",
    Mark.OVER: "over the limit",
}
SLIGHT_MOL = 0.5  # rounds to nothing


def fit_tables(answer: HousesAnswer) -> tuple[FitTable, ...]:
    """Every crop in every house, in the site file's order of houses, so many side by side."""
    year = answer.year
    axis = chart.Axis(year.weeks, year.months, chart.FIT_WIDTH)
    names = {one.house.id: one.house.name for one in year.houses}
    ids = list(names)
    if not answer.fits:
        return ()
    return tuple(
        FitTable(
            tuple(names[one] for one in ids[start : start + MOST_HOUSES]),
            tuple(_row(fit, ids[start : start + MOST_HOUSES], axis) for fit in answer.fits),
        )
        for start in range(0, len(ids), MOST_HOUSES)
    )


def _row(fit: CropFit, houses: list[str], axis: chart.Axis) -> FitRow:
    where = "asked" if fit.bench is None else fit.bench.name
    return FitRow(
        crop=f"{capital(crop_name(fit.crop))}, {STAGES[fit.stage]}",
        where=f"{where}, {short_date(fit.from_date)} to {short_date(fit.to_date)}",
        cells=tuple(
            FitCell(
                weeks=chart.fit_row(axis, fit.house(one).marks, f"{fit.crop} in {one} by week"),
                words=_words(fit.house(one), own=fit.bench is not None and fit.bench.house == one),
                best=fit.best.house_id == one,
            )
            for one in houses
        ),
    )


def _words(one: HouseFit, *, own: bool) -> str:
    parts = []
    if one.short_mol >= SLIGHT_MOL:
        parts.append(f"short {figure(one.short_mol)}")
    if one.over_mol >= SLIGHT_MOL:
        parts.append(f"over {figure(one.over_mol)}")
    words = ", ".join(parts) or "on target"
    return f"{words} (here)" if own else words


def fit_key() -> tuple[KeyBox, ...]:
    return tuple(
        KeyBox(
            svg(20, chart.FIT_HEIGHT, [chart.fit_mark(mark, 0, 20)], WORDS[mark]).replace(
                "width:100%", "width:20pt"
            ),
            WORDS[mark],
        )
        for mark in Mark
    )


def move_words(move: Move, year: SiteYear) -> str:
    """A move with its gain in light, and how much warmer or cooler it stands there."""
    fit = move.fit
    assert fit.bench is not None
    house = year.house(move.to.house_id).house.name
    units = units_of(year.site)
    kelvin = abs(move.warmer_k) * (KELVIN_TO_F if year.site.us_units else 1.0)
    warm = "warmer" if move.warmer_k > 0 else "cooler"
    air = f"{figure(kelvin)} {units.degree} {warm} on average" if kelvin >= 0.5 else "as warm on average"
    coldest = units.temperature(move.coldest_c)
    own = fit.house(fit.bench.house)
    less = "missing" if own.short_mol >= own.over_mol else "over the limit"
    return (
        f"{capital(crop_name(fit.crop))}, {STAGES[fit.stage]}, {short_date(fit.from_date)} to "
        f"{short_date(fit.to_date)}: from {fit.bench.name} to {house}. {figure(move.gain_mol)} mol "
        f"less {less}, {figure(move.gain_mol / fit.days, 1)} a day; air {air}, {coldest} at the coldest."
    )
