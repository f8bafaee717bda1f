"""Ranges in words, in the unit that the file uses, and a hint where a number looks like another unit."""

from __future__ import annotations

from typing import Any

import annotated_types

from lightplan.site.problems import held
from lightplan.site.rows import Row
from lightplan.site.table import fields, unit_of

MARKS = {  # bound of a field: (attribute, words for it)
    annotated_types.Gt: ("gt", "more than "),
    annotated_types.Ge: ("ge", ""),
    annotated_types.Lt: ("lt", "under "),
    annotated_types.Le: ("le", ""),
}


def bound_in_words(context: dict[str, float]) -> str:
    """One bound as pydantic's error context gives it: `at most 12`."""
    words = {"gt": "more than", "ge": "at least", "lt": "under", "le": "at most"}
    return next(f"{words[key]} {value:g}" for key, value in context.items())


def range_in_words(row: Row, key: str) -> str:
    """The range of a key in the unit that the file uses: `, from 0 to 15 m`."""
    bounds = [
        (MARKS[type(mark)], getattr(mark, MARKS[type(mark)][0]))
        for mark in fields(row.kind)[key].metadata
        if type(mark) in MARKS
    ]
    least = next((words + _figure(row, key, bound) for (name, words), bound in bounds if name[0] == "g"), "")
    most = next((words + _figure(row, key, bound) for (name, words), bound in bounds if name[0] == "l"), "")
    unit = _unit(row, key)
    if not most:
        return f", {least}{unit}" if least.startswith("more") else f", {least}{unit} or more"
    return f", {least}, up to {most}{unit}" if least.startswith("more") else f", from {least} to {most}{unit}"


def _figure(row: Row, key: str, bound: Any) -> str:
    return row.in_unit(key, float(bound)).split(" ")[0] if row.quantity(key) is not None else f"{bound:g}"


def _unit(row: Row, key: str) -> str:
    """The unit after a range; none after degrees and shares, whose keys say it."""
    unit = unit_of(fields(row.kind)[key])
    if row.quantity(key) is not None:
        return " " + row.in_unit(key, 1.0).split(" ")[1]
    return "" if unit in ("", "share", "°") else f" {unit}"


def other_unit(row: Row, key: str) -> str:
    """A hint where the number would be right as percent, or under the key of the other unit."""
    value = row.raw.get(row.written(key))
    if isinstance(value, bool) or not isinstance(value, int | float) or value <= 0:
        return ""
    if key == "ridge_azimuth_deg" and 180 <= value <= 360:
        return f"; the same ridge is {value - 180:g} seen from its other end"
    if unit_of(fields(row.kind)[key]) == "share":
        return f" (a share, not percent: {value:g} % is {value / 100:g})" if 1 < value <= 100 else ""
    quantity = row.quantity(key)
    if quantity is None:
        return ""
    metric = row.written(key) == key
    if not _within(quantity.to_metric(value) if metric else float(value), row, key):
        return ""
    unit, other = (quantity.us_unit, quantity.us_key(key)) if metric else (quantity.metric_unit, key)
    return f"; if that is {unit}, write {other} = {value:g}"


def _within(value: float, row: Row, key: str) -> bool:
    checks = {"gt": value.__gt__, "ge": value.__ge__, "lt": value.__lt__, "le": value.__le__}
    bounds = ((MARKS[type(mark)][0], mark) for mark in fields(row.kind)[key].metadata if type(mark) in MARKS)
    return all(checks[name](float(getattr(mark, name))) for name, mark in bounds)


def swapped_coordinates(row: Row) -> str:
    """What would do where latitude is past the pole and the two would fit the other way round."""
    latitude, longitude = row.raw.get("latitude"), row.raw.get("longitude")
    if not isinstance(latitude, int | float) or not isinstance(longitude, int | float):
        return ""
    if abs(latitude) > 180 or abs(longitude) > 90:
        return ""
    right = f"latitude = {held(longitude)}, longitude = {held(latitude)}"
    return f", past 90; latitude and longitude look swapped: write {right}"
