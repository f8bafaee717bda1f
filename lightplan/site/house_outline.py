"""The cross-section that a house's keys make, as far as they are sound."""

from __future__ import annotations

from lightplan.site.faces import high_wall
from lightplan.site.outline import (
    GUTTER_M,
    Points,
    gable_points,
    gothic_points,
    hoop_points,
    lean_to_points,
    set_down,
)
from lightplan.site.rows import Row

# what each shape needs; length, ridge direction and glazing are needed by all
NEEDED = {
    "gable": ("width_m", "eave_m", "ridge_m"),
    "hoop": ("width_m", "ridge_m"),
    "gothic": ("width_m", "eave_m", "ridge_m"),
    "multispan": ("width_m", "eave_m", "ridge_m"),
    "lean-to": ("width_m", "eave_m", "ridge_m", "faces_deg"),
    "flat": ("width_m", "eave_m"),
    "section": ("section",),
}

SHAPE_KEYS = (
    "width_m",
    "eave_m",
    "ridge_m",
    "spans",
    "gutter_m",
    "arc",
    "bulge_m",
    "faces_deg",
    "ridge_azimuth_deg",
)


def shape_of(row: Row) -> str | None:
    """The house's shape word; an outline needs none."""
    if not row.has("shape", "section"):
        return None
    return "section" if row["section"] is not None else row["shape"]


def outline_of(house: Row) -> Points | None:
    """Cross-section of a whole house (all spans as one), or None where its keys do not make one."""
    shape = shape_of(house)
    if (
        shape is None
        or not house.has(*SHAPE_KEYS, "ridge_azimuth_deg")
        or any(house[key] is None for key in NEEDED[shape])
    ):
        return None
    if shape == "section":
        return set_down(house["section"])
    width, eave = house["width_m"], house["eave_m"] or 0.0
    ridge = eave if shape == "flat" else house["ridge_m"]
    if ridge < eave or (ridge == eave and shape != "flat"):
        return None
    if shape == "hoop":
        return hoop_points(width, eave, ridge, circle=house["arc"] == "circle")
    if shape == "gothic":
        return gothic_points(width, eave, ridge, bulge=house["bulge_m"])
    if shape == "lean-to":
        wall_left = high_wall(house["faces_deg"], house["ridge_azimuth_deg"]) == "side-left"
        return lean_to_points(width, eave, ridge, wall_left=wall_left)
    if shape == "multispan":
        gutter = GUTTER_M if house["gutter_m"] is None else house["gutter_m"]
        width = width * house["spans"] + gutter * (house["spans"] - 1)
    return gable_points(width, eave, ridge)
