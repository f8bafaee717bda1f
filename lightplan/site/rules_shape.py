"""Rules of a house's shape: what must be given for it, and what can stand."""

from __future__ import annotations

import math
from collections.abc import Iterator

from lightplan.site.house_outline import NEEDED, shape_of
from lightplan.site.outline import crosses_itself, section_width, set_down
from lightplan.site.problems import Problem, a_list
from lightplan.site.rows import Row, wrong
from lightplan.site.rule import Around, rule
from lightplan.site.schema_house import HouseTable

# keys that one shape alone has
ONLY_FOR = {"faces_deg": "lean-to", "arc": "hoop", "bulge_m": "gothic", "gutter_m": "multispan"}
A_CENTIMETRE = 0.01


@rule(HouseTable, "shape", "section")
def has_a_shape(row: Row, around: Around) -> Iterator[Problem]:
    if row["shape"] is None and row["section"] is None:
        shapes = a_list([f'"{name}"' for name in NEEDED if name != "section"])
        yield row.problem(
            "shape", f"shape is missing; give {shapes}, or section = [[x, z], …]", "missing-key"
        )
    if row["section"] is not None and row["shape"] not in (None, "section"):
        yield wrong(row, "shape", ", but section gives another outline; keep one of the two", "twice")


@rule(HouseTable)
def has_what_its_shape_needs(row: Row, around: Around) -> Iterator[Problem]:
    shape = shape_of(row)
    for key in NEEDED.get(shape or "", ()):
        if row.has(key) and row[key] is None:
            quantity = row.quantity(key)
            forms = f" ({key} or {quantity.us_key(key)})" if quantity is not None else ""
            yield row.problem(key, f"{key} is missing; a {shape} needs it{forms}", "missing-key")


@rule(HouseTable)
def has_only_what_its_shape_has(row: Row, around: Around) -> Iterator[Problem]:
    shape = shape_of(row)
    for key, owner in ONLY_FOR.items():
        if shape and shape != owner and row.has(key) and row[key] is not None:
            yield wrong(row, key, f", but only a {owner} has it; take it out", "not-its-shape")
    if shape and shape != "multispan" and row.has("spans") and row["spans"] != 1:
        yield wrong(
            row, "spans", f', but a {shape} has one; shape = "multispan" has several', "not-its-shape"
        )


@rule(HouseTable, "eave_m", "ridge_m")
def ridge_above_eave(row: Row, around: Around) -> Iterator[Problem]:
    shape, eave, ridge = shape_of(row), row["eave_m"], row["ridge_m"]
    if eave is None or ridge is None or shape == "section":
        return
    if shape == "flat":
        if abs(ridge - eave) > A_CENTIMETRE:
            yield wrong(row, "ridge_m", ", but a flat roof has no ridge; take it out", "not-its-shape")
    elif ridge < eave:
        yield wrong(
            row, "ridge_m", f", below {row.told('eave_m')}; give the height at the ridge", "ridge-below-eave"
        )
    elif ridge == eave:
        told = f', the same as {row.told("eave_m")}; give the height at the ridge, or shape = "flat"'
        yield wrong(row, "ridge_m", told, "ridge-below-eave")


@rule(HouseTable, "eave_m")
def flat_roof_stands_up(row: Row, around: Around) -> Iterator[Problem]:
    if shape_of(row) == "flat" and row["eave_m"] == 0:
        yield wrong(row, "eave_m", "; give the height of the flat roof", "no-height")


@rule(HouseTable, "width_m", "eave_m", "ridge_m", "arc")
def circle_fits(row: Row, around: Around) -> Iterator[Problem]:
    width, ridge = row["width_m"], row["ridge_m"]
    if shape_of(row) != "hoop" or row["arc"] != "circle" or width is None or ridge is None:
        return
    rise = ridge - (row["eave_m"] or 0.0)
    if rise > width / 2 + A_CENTIMETRE:
        most = row.in_unit("ridge_m", (row["eave_m"] or 0.0) + width / 2)
        told = f', too high for a circle on {row.told("width_m")}; give {most} at most, or arc = "ellipse"'
        yield wrong(row, "ridge_m", told, "circle-too-high")


@rule(HouseTable, "width_m", "eave_m", "ridge_m", "bulge_m")
def bulge_fits(row: Row, around: Around) -> Iterator[Problem]:
    width, eave, ridge, bulge = (row[key] for key in ("width_m", "eave_m", "ridge_m", "bulge_m"))
    if shape_of(row) != "gothic" or None in (width, eave, ridge, bulge):
        return
    chord = math.hypot(width / 2, ridge - eave)
    if bulge > chord / 2:
        most = row.in_unit("bulge_m", chord / 2)
        yield wrong(
            row, "bulge_m", f", more than half a circle from eave to crown; give {most} at most", "bulge"
        )


@rule(HouseTable, "section")
def outline_stands(row: Row, around: Around) -> Iterator[Problem]:
    if row["section"] is None:
        return
    points = set_down(row["section"])
    if any(z < 0 for _, z in points):
        yield wrong(row, "section", "; no point may lie below the floor (z under 0)", "section")
    elif section_width(points) <= 0 or max(z for _, z in points) <= 0:
        yield wrong(row, "section", "; the points must enclose some room", "section")
    elif crosses_itself(points):
        yield wrong(
            row, "section", ", which crosses itself; give the points in order, left to right", "section"
        )


@rule(HouseTable, "section", "width_m", "ridge_m", "eave_m")
def outline_is_enough(row: Row, around: Around) -> Iterator[Problem]:
    if row["section"] is None:
        return
    points = set_down(row["section"])
    of_outline = {"width_m": section_width(points), "ridge_m": max(z for _, z in points)}
    for key, value in of_outline.items():
        if row[key] is not None and abs(row[key] - value) > A_CENTIMETRE:
            yield wrong(row, key, f", but section makes it {row.in_unit(key, value)}; take it out", "twice")


RULES = (
    has_a_shape,
    has_what_its_shape_needs,
    has_only_what_its_shape_has,
    ridge_above_eave,
    flat_roof_stands_up,
    circle_fits,
    bulge_fits,
    outline_stands,
    outline_is_enough,
)
