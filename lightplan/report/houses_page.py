"""The year, house by house, as pages: finished words, figures and drawings."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

import lightplan
from lightplan.report import houses_chart as chart
from lightplan.report.houses_benches import bench_rows, lamp_heads, lamp_rows
from lightplan.report.houses_fit import fit_key, fit_tables, move_words
from lightplan.report.houses_plan import EDGES, GREYS, compass, key_box, plan
from lightplan.report.houses_season import calendar_rows, one_line
from lightplan.report.houses_view import (
    HouseRow,
    HousesView,
    KeyBox,
    MonthRow,
    MonthTable,
    PlanMonth,
    PlanRow,
)
from lightplan.report.houses_what_if import what_if_view
from lightplan.report.houses_words import sentence, sides, wind
from lightplan.report.html import filled
from lightplan.report.learned_words import record_words
from lightplan.report.replay_page import SUNS
from lightplan.report.units import KELVIN_TO_F, MONTHS, figure, listing, short, units_of
from lightplan.site.models import Bench
from lightplan.site.quantities import METRES_PER_FOOT
from lightplan.year.answer import HousesAnswer
from lightplan.year.floor import Strip
from lightplan.year.site_year import HouseYear, SiteYear
from lightplan.year.stretches import band, means

Array = NDArray[np.float64]
FEW_HOUSES = 2  # share their first page with the plan
PLAN_WIDTH = 205.0  # points that the longest house takes


def houses_html(answer: HousesAnswer) -> str:
    view = houses_view(answer)
    return filled("houses.html.j2", footer=view.footer, page=view)


def houses_view(answer: HousesAnswer) -> HousesView:
    year = answer.year
    axis = chart.Axis(year.weeks, year.months)
    name, number = year.site.name, str(year.grid.dates[0].year)
    top = _top(year)
    return HousesView(
        title=f"The year in each house, {name}, {number}",
        site=name,
        year=number,
        paper=year.site.paper,
        few=len(year.houses) <= FEW_HOUSES and answer.what_if is None,
        sentence=sentence(year),
        facts=tuple(_facts(answer)),
        month_names=tuple(
            (MONTHS[m.first.month - 1][:3], 100 * len(m) / len(year.grid.dates)) for m in year.months
        ),
        top=f"{short(top, 0)} mol",
        houses=tuple(_house(answer, one, axis, top) for one in year.houses),
        light_table=_light_table(year),
        share_tables=tuple(_share_tables(year)),
        plans=tuple(_plans(year)),
        plan_key=_plan_key(),
        bench_top=f"{short(_bench_top(year), 0)} mol",
        benches=bench_rows(year, axis, _bench_top(year)),
        lamp_heads=lamp_heads(year),
        lamp_rows=lamp_rows(year),
        lamp_note=(
            "Lamps: the least that holds every target by the sheets' own rules, the year's sun known from "
            "the start; mornings that don't know it spend some percent more (`replay` tells how much). "
            "“Days short”: light owed past what may be. “Too hot”, “too bright”: days that pass a limit with "
            f"the house's vents open as needed, tent closed, nothing drawn. Peaks ±{_give(year)}."
        ),
        one_line=one_line(answer, axis),
        calendar=tuple(calendar_rows(answer, axis)),
        fit=fit_tables(answer),
        fit_key=fit_key(),
        moves=tuple(move_words(move, year) for move in answer.moves),
        moves_note=(
            "Light decides here, but nothing is sent where frost comes near. Warmer air hurries a crop, "
            "cooler air holds it back; how much is left out: no published figures for these crops are at "
            "hand. Whether there is room is yours to see."
        ),
        what_if=None if answer.what_if is None else what_if_view(answer.what_if),
        footer=f"lightplan {lightplan.__version__}, {name}, {number}",
    )


def _give(year: SiteYear) -> str:
    """How far a peak may lie off, in the site's degrees; of several houses the most."""
    kelvin = max(one.heat.ready.parameters.uncertainty_k for one in year.houses)
    return f"{figure(kelvin * KELVIN_TO_F if year.site.us_units else kelvin)} {units_of(year.site).degree}"


def _top(year: SiteYear) -> float:
    """mol at the top edge of every house's drawing: outdoors fits in too."""
    outdoors = means(year.houses[0].light.outdoor_mol, year.weeks).max()
    lights = [one.light.inside_mol for one in year.houses]
    inside = max(band(light, week, year.sample)[1] for light in lights for week in year.weeks)
    return float(max(outdoors, inside, 1.0)) * 1.04


def _bench_top(year: SiteYear) -> float:
    targets = [n.target for one in year.benches for n in one.needs if n is not None and n.target is not None]
    light = [float(means(one.total_mol, year.weeks).max()) for one in year.benches]
    return max([*targets, *light, 1.0]) * 1.04


def _facts(answer: HousesAnswer) -> Iterator[str]:
    weather = answer.year.weather
    yield f"The sun: {SUNS[weather.kind]}. {weather.attribution}."
    if weather.fallback_reason:
        yield f"Stand-in: {weather.fallback_reason}."
    if answer.years is not None:
        yield f"Years in the weather file: {listing([str(y) for y in answer.years.years])}."
    bare = [one.house.name for one in answer.year.houses if not one.calibrated]
    if len(bare) == len(answer.year.houses):
        yield "Uncalibrated: no meter reading has corrected the light of these houses yet."
    elif bare:
        yield f"Uncalibrated: no meter reading has corrected the light of {listing(bare)} yet."
    if answer.record is not None:
        yield record_words(answer.record)
    yield "mol is mol of light on a square metre in a day."


def _house(answer: HousesAnswer, one: HouseYear, axis: chart.Axis, top: float) -> HouseRow:
    year, light = answer.year, one.light
    bands = [band(light.inside_mol, week, year.sample) for week in year.weeks]
    inside = means(light.inside_mol, year.weeks)
    least, most = (figure(float(value), 1) for value in (inside.min(), inside.max()))
    return HouseRow(
        name=one.house.name,
        words=f"{least} to {most} mol{_years(answer, one)}",
        light=chart.house_light(
            axis,
            outdoor=means(light.outdoor_mol, year.weeks),
            inside=inside,
            low=np.array([low for low, _ in bands]),
            high=np.array([high for _, high in bands]),
            top=top,
            label=f"light in {one.house.name} by week",
        ),
    )


def _years(answer: HousesAnswer, one: HouseYear) -> str:
    """How far the years lie apart, where there are several."""
    if answer.years is None:
        return ""
    totals = np.nanmean(answer.years.houses[one.house.id], axis=1)
    return f"; years {figure(float(totals.min()), 1)} to {figure(float(totals.max()), 1)}"


def _light_table(year: SiteYear) -> MonthTable:
    rows = [
        MonthRow(
            "Outdoors",
            _figures(means(year.houses[0].light.outdoor_mol, year.months)),
            short(float(year.houses[0].light.outdoor_mol.mean())),
        )
    ]
    rows += [
        MonthRow(
            one.house.name,
            _figures(means(one.light.inside_mol, year.months)),
            short(float(one.light.inside_mol.mean())),
            strong=True,
        )
        for one in year.houses
    ]
    return MonthTable("Light over the whole floor", "mol a day, month by month", "Year", tuple(rows))


def _figures(values: Array) -> tuple[str, ...]:
    return tuple(figure(float(value), 0 if value >= 9.95 else 1) for value in values)


def _share_tables(year: SiteYear) -> Iterator[MonthTable]:
    def shares(part: str, whole: str) -> tuple[MonthRow, ...]:
        rows = []
        for one in year.houses:
            a, b = getattr(one.light, part), getattr(one.light, whole)
            monthly = zip(means(a, year.months), means(b, year.months), strict=True)
            rows.append(
                MonthRow(
                    one.house.name,
                    tuple("–" if y <= 0 else figure(100 * x / y) for x, y in monthly),
                    "–" if b.sum() <= 0 else figure(100 * a.sum() / b.sum()),
                )
            )
        return tuple(rows)

    yield MonthTable(
        "What the house lets in",
        "% of the light outdoors: glazing, frame, dirt, shade and all",
        "Year",
        shares("inside_mol", "outdoor_mol"),
    )
    yield MonthTable(
        "How much of that is direct sun",
        "%: it throws shadows and comes in bursts",
        "Year",
        shares("beam_mol", "inside_mol"),
    )


def _plans(year: SiteYear) -> Iterator[PlanRow]:
    scale = PLAN_WIDTH / max(one.house.length_m for one in year.houses)
    outdoors = means(year.houses[0].light.outdoor_mol, year.months)
    numbers = {one.bench.id: n for n, one in enumerate(year.benches, 1)}
    for one in year.houses:
        mine = [b.bench for b in year.benches if b.bench.house == one.house.id]
        placed = {numbers[b.id]: b for b in mine if b.place is not None}
        yield PlanRow(
            name=one.house.name,
            size=_size(year, one),
            compass=compass(one.house),
            sides=sides(one.house),
            months=tuple(
                _plan_month(year, one, int(n), placed, scale) for n in (outdoors.argmin(), outdoors.argmax())
            ),
            benches=_benches({numbers[b.id]: b for b in mine}),
        )


def _benches(mine: dict[int, Bench]) -> tuple[str, ...]:
    """Those in the plan by number and name, then those that can't be drawn."""

    def named(placed: bool) -> str:
        return listing([f"{n} {b.name}" for n, b in mine.items() if (b.place is not None) is placed])

    drawn, others = named(True), named(False)
    return tuple(
        words for words in (drawn and f"Benches: {drawn}.", others and f"No place given: {others}.") if words
    )


def _size(year: SiteYear, one: HouseYear) -> str:
    wide = one.floor[0].across_m[1] - one.floor[0].across_m[0]
    per, unit = (METRES_PER_FOOT, "ft") if year.site.us_units else (1.0, "m")
    return (
        f"{short(one.house.length_m / per)} {unit} long, floor {short(wide / per)} {unit} wide, "
        f"ridge {wind(one.house.ridge_azimuth_deg + 180)} to {wind(one.house.ridge_azimuth_deg)}"
    )


def _plan_month(
    year: SiteYear, one: HouseYear, month: int, placed: dict[int, Bench], scale: float
) -> PlanMonth:
    found = one.floor[month]
    per, unit = (METRES_PER_FOOT, "ft") if year.site.us_units else (1.0, "m")
    left, side = found.across_m[0], wind(one.house.ridge_azimuth_deg - 90)

    def strip(words: str, part: Strip) -> str:
        edges = [short((edge - left) / per) for edge in part.across_m]
        return f"{words} strip {figure(part.mol, 1)} mol: {edges[0]}–{edges[1]} {unit} from {side}"

    least = found.min_over_mean
    return PlanMonth(
        title=f"{MONTHS[year.months[month].first.month - 1]}, {short(float(found.cells.mean()))} mol",
        drawing=plan(one.house, found, placed, points_a_metre=scale),
        words=(
            strip("darkest", found.darkest),
            strip("brightest", found.brightest),
            "" if least is None else f"darkest spot {figure(100 * least)} % of the mean",
        ),
    )


def _plan_key() -> tuple[KeyBox, ...]:
    percent = [figure(100 * edge) for edge in EDGES]
    words = [f"under {percent[0]} %"]
    words += [f"{a} to {b} %" for a, b in pairwise(percent)]
    words.append(f"over {percent[-1]} %")
    return tuple(KeyBox(key_box(grey), text) for grey, text in zip(GREYS, words, strict=True))
