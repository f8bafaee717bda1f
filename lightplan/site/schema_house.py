"""The table `[[house]]` and the rows inside it."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from lightplan.site.quantities import LENGTH, TEMPERATURE, Unit
from lightplan.site.table import Table
from lightplan.site.values import ANY_SPELLING, Date, LossShare, Metres, Text

VENTING = ("none", "door", "sides", "roof", "roof-and-sides", "fan")
FACES = ("side-left", "side-right", "end-a", "end-b")
COMPASS = ("north", "east", "south", "west")


class OverheadRow(Table):
    """Hanging baskets and the like."""

    loss: LossShare = Field(description="the share of light it takes")
    from_: Date = Field(alias="from", description="the first date it hangs there")
    to: Date = Field(description="the last date it hangs there")


class ShadeRow(Table):
    """Something on the house for a season."""

    cover: Text = Field(description="the name of a cover")
    from_: Date = Field(alias="from", description="the first date it is on")
    to: Date = Field(description="the last date it is on")


class BarsTable(Table):
    """Glazing bars, in place of `frame_loss`."""

    spacing_m: Metres = Field(gt=0, le=10, description="the distance from bar to bar")
    width_m: Metres = Field(gt=0, le=1, description="the width of a bar")
    depth_m: Metres = Field(ge=0, le=1, description="the depth of a bar")


ShapeWord = Literal["gable", "hoop", "gothic", "multispan", "lean-to", "flat", "section"]
VentingWord = Literal["none", "door", "sides", "roof", "roof-and-sides", "fan"]
FaceWord = Literal["side-left", "side-right", "end-a", "end-b", "north", "east", "south", "west"]
Point = Annotated[tuple[float, float], Field(strict=False)]
Height = Annotated[float | None, LENGTH]
Rows = Field(strict=False)


class HouseTable(Table):
    """`[[house]]`: one glazed structure."""

    id: Text = Field(description="a short name that benches and sheets use")
    name: Text | None = Field(None, description="the name on the sheet")
    shape: Annotated[ShapeWord | None, ANY_SPELLING] = Field(
        None, description="the shape of its cross-section"
    )
    section: Annotated[tuple[Point, ...] | None, Field(strict=False, min_length=3), LENGTH] = Field(
        None, description="the outline as points [x, height], left to right, from floor to floor"
    )
    width_m: Height = Field(None, gt=0.3, le=100, description="the width of one span")
    length_m: Metres = Field(gt=0.3, le=1000, description="the length along the ridge")
    eave_m: Height = Field(None, ge=0, le=15, description="the height of the side walls")
    ridge_m: Height = Field(None, gt=0, le=30, description="the height at the ridge or crown")
    spans: int = Field(1, ge=1, le=100, description="the number of spans")
    gutter_m: Height = Field(None, ge=0, le=2, description="the width of a gutter between spans")
    ridge_azimuth_deg: Annotated[float, Unit("°")] = Field(
        ge=0, lt=180, description="the direction of the ridge (0 north-south, 90 east-west)"
    )
    faces_deg: Annotated[float | None, Unit("°")] = Field(
        None, ge=0, le=360, description="the direction a lean-to faces (ridge ± 90)"
    )
    arc: Annotated[Literal["ellipse", "circle"] | None, ANY_SPELLING] = Field(
        None, description="the curve of a hoop"
    )
    bulge_m: Height = Field(None, ge=0, le=10, description="the bulge of a gothic arc out of its chord")
    glazing: Text = Field(description="the glazing of the roof")
    wall_glazing: Text | None = Field(None, description="the glazing of the side walls")
    end_glazing: Text | None = Field(None, description="the glazing of the end walls")
    end_walls: Annotated[Literal["glazed", "opaque"], ANY_SPELLING] = Field(
        "glazed", description="what the end walls are"
    )
    opaque: Annotated[tuple[FaceWord, ...], Field(strict=False), ANY_SPELLING] = Field(
        (), description="the single faces that pass no light"
    )
    knee_wall_m: Metres = Field(0.0, ge=0, le=10, description="the height of the solid wall at the foot")
    frame_loss: LossShare = Field(0.12, description="the light lost to frame and fittings")
    bars: BarsTable | None = Field(None, description="the glazing bars, in place of frame_loss")
    dirt_loss: LossShare = Field(0.05, description="the light lost to dirt")
    washed: Date | None = Field(None, description="the date it was last washed: since then dirt gathers")
    overhead: Annotated[tuple[OverheadRow, ...], Rows] = Field(
        (), description="the hanging baskets and the like"
    )
    shade: Annotated[tuple[ShadeRow, ...], Rows] = Field(
        (), description="the shade that stays on for a season"
    )
    covers: Annotated[tuple[Text, ...], Rows] = Field((), description="the covers drawn over the whole house")
    heat_to_c: Annotated[float, TEMPERATURE] = Field(
        16.0, ge=-40, le=40, description="the temperature it is heated to"
    )
    can_heat_kw: Annotated[float | None, Unit("kW")] = Field(
        None, gt=0, description="the most its heater can give"
    )
    vent_at_c: Annotated[float, TEMPERATURE] = Field(
        24.0, ge=0, le=50, description="the temperature its vents open at"
    )
    venting: Annotated[VentingWord, ANY_SPELLING] = Field("sides", description="what opens to cool it")
    vents_by: Annotated[Literal["hand", "automatic"] | None, ANY_SPELLING] = Field(
        None, description="who opens the vents"
    )
    air_changes_closed: Annotated[float, Unit("per h")] = Field(
        1.0, ge=0, le=20, description="the air changes with the vents shut"
    )
    air_changes_open: Annotated[float | None, Unit("per h")] = Field(
        None, gt=0, le=200, description="the air changes with the vents open"
    )
