"""The season on the year's pages: a calendar of one line, and a row for each thing with its dates."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby

import numpy as np
from numpy.typing import NDArray

from lightplan.crops.day_length import DayKind
from lightplan.report import houses_chart as chart
from lightplan.report.houses_view import CalendarRow, OneLine
from lightplan.report.houses_words import crossing_words, need_words, shade_words, turned_words
from lightplan.report.names import crop_name
from lightplan.report.units import listing
from lightplan.year.answer import HousesAnswer
from lightplan.year.season import Crossing, Need
from lightplan.year.stretches import means

Mask = NDArray[np.bool_]


def one_line(answer: HousesAnswer, axis: chart.Axis) -> OneLine | None:
    """The year's needs of the whole site on one line of weeks; None where nothing is ever needed."""
    dates = answer.dates
    lanes: tuple[tuple[str, str, list[Mask]], ...] = (
        ("lamps", "solid", [dates.lamps.weeks, dates.seed_lamps.weeks]),
        ("tents, covers", "hatch", [dates.tents.weeks, dates.covers.weeks]),
        ("fixed shade", "grey", [shade.weeks for shade in dates.shades]),
        ("day turned round", "turned", [one.need.weeks for one in dates.turned]),
    )
    held = [
        (name, kind, weeks)
        for name, kind, several in lanes
        if several and (weeks := np.any(several, axis=0)).any()
    ]
    if not held:
        return None
    return OneLine(
        tuple(name for name, _, _ in held),
        chart.one_line(axis, [(weeks, kind) for _, kind, weeks in held], "the year in one line"),
    )


def calendar_rows(answer: HousesAnswer, axis: chart.Axis) -> Iterator[CalendarRow]:
    dates = answer.dates

    def row(name: str, need: Need, kind: str) -> CalendarRow:
        return CalendarRow(name, need_words(need), chart.weeks_row(axis, need.weeks, kind, name))

    if answer.year.lamps.benches:
        yield row("Lamps for light", dates.lamps, "solid")
        yield row("Lamps for seed", dates.seed_lamps, "solid")
    tented = any(one.tented for one in dates.benches)
    if tented:
        yield row("Tents: open or cover", dates.tents, "hatch")
    yield row("Covers on other benches" if tented else "Covers on benches", dates.covers, "hatch")
    for one in dates.turned:
        if one.crops:
            name = f"Day turned round, {one.bench.name}"
            yield CalendarRow(name, turned_words(one), chart.weeks_row(axis, one.need.weeks, "turned", name))
    if dates.turned and not any(one.crops for one in dates.turned):
        yield row("Day turned round", dates.turned[0].need, "turned")
    names = {house.id: house.name for house in answer.year.site.houses}
    for shade in dates.shades:
        yield CalendarRow(
            f"Fixed shade, {names[shade.house_id]}",
            shade_words(shade),
            chart.weeks_row(axis, shade.weeks, "grey", f"fixed shade over {shade.house_id}"),
        )
    for alike in _alike(dates.crossings):
        crossing = alike[0]
        weeks = means(crossing.needed.astype(float), answer.year.weeks) > 0
        long = crossing.kind is DayKind.LONG
        name = f"{'Long' if long else 'Short'} days, {listing([crop_name(one.crop) for one in alike])}"
        drawn = chart.weeks_row(axis, weeks, "solid" if long else "hatch", name)
        yield CalendarRow(name, crossing_words(crossing), drawn)


def _alike(crossings: tuple[Crossing, ...]) -> Iterator[tuple[Crossing, ...]]:
    """Crops that want the same day together, in the order of the first of each."""

    def wants(crossing: Crossing) -> tuple[DayKind, float]:
        return crossing.kind, crossing.critical_h

    order = list(dict.fromkeys(wants(one) for one in crossings))
    ranked = sorted(crossings, key=lambda one: order.index(wants(one)))
    for _, alike in groupby(ranked, key=wants):
        yield tuple(alike)
