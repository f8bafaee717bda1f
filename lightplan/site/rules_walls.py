"""Rules of a house's walls and bars."""

from __future__ import annotations

from collections.abc import Iterator

from lightplan.site.faces import COMPASS_DEG, face_towards
from lightplan.site.house_outline import shape_of
from lightplan.site.problems import Problem, a_list, held
from lightplan.site.rows import Row, wrong
from lightplan.site.rule import Around, rule
from lightplan.site.schema_house import FACES, BarsTable, HouseTable

A_DEGREE = 1.0


@rule(HouseTable, "faces_deg", "ridge_azimuth_deg")
def faces_across_its_ridge(row: Row, around: Around) -> Iterator[Problem]:
    if shape_of(row) != "lean-to" or row["faces_deg"] is None:
        return
    allowed = [(row["ridge_azimuth_deg"] + turn) % 360 for turn in (90, 270)]
    if all(abs((row["faces_deg"] - way + 180) % 360 - 180) > A_DEGREE for way in allowed):
        ways = a_list([f"{way:g}" for way in allowed])
        told = f", not across {row.told('ridge_azimuth_deg')}; give {ways}"
        yield wrong(row, "faces_deg", told, "faces")


@rule(HouseTable, "opaque", "ridge_azimuth_deg")
def faces_are_clear(row: Row, around: Around) -> Iterator[Problem]:
    for name in row["opaque"]:
        if name in COMPASS_DEG and face_towards(name, row["ridge_azimuth_deg"]) is None:
            corner = f"which is a corner with {row.told('ridge_azimuth_deg')}"
            yield row.problem("opaque", f"opaque holds {held(name)}, {corner}; use {a_list(FACES)}", "faces")


@rule(HouseTable, "knee_wall_m", "eave_m")
def knee_wall_below_eave(row: Row, around: Around) -> Iterator[Problem]:
    shape, knee = shape_of(row), row["knee_wall_m"]
    if shape in (None, "section") or (row["eave_m"] is None and shape != "hoop"):
        return
    if knee > (row["eave_m"] or 0.0):
        eave = row.told("eave_m") if row.gave("eave_m") else "eave_m 0 (the default)"
        yield wrong(row, "knee_wall_m", f", above {eave}; give the height of the solid wall", "knee-wall")


@rule(HouseTable, "bars")
def bars_or_share(row: Row, around: Around) -> Iterator[Problem]:
    if row["bars"] is not None and row.gave("frame_loss"):
        yield wrong(row, "frame_loss", ", but bars are given too; keep one of the two", "twice")


@rule(BarsTable, "spacing_m", "width_m")
def bars_leave_glass(row: Row, around: Around) -> Iterator[Problem]:
    if row["width_m"] >= row["spacing_m"]:
        yield wrong(row, "width_m", f", not below {row.told('spacing_m')}; give the width of one bar", "bars")


RULES = (
    faces_across_its_ridge,
    faces_are_clear,
    knee_wall_below_eave,
    bars_or_share,
    bars_leave_glass,
)
