"""The table `[[bench]]` and the rows inside it."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from lightplan.site.quantities import LENGTH, TEMPERATURE, Unit
from lightplan.site.schema_house import Rows
from lightplan.site.table import Table
from lightplan.site.values import ANY_SPELLING, Date, Metres, Share, Spans, SquareMetres, Text

INSULATED = {"where": "under-and-sides", "r_m2k_w": 0.9}  # what `insulated = true` is short for

FromTo = Annotated[tuple[float, float], Field(strict=False), LENGTH]


class PlaceTable(Table):
    """Where the bench stands in its house."""

    across_m: FromTo = Field(description="from and to, measured from the left wall looking along the ridge")
    along_m: FromTo = Field(description="from and to, measured from the end behind you")


class InsulationTable(Table):
    """Insulation of a tented bench."""

    where: Annotated[Literal["under-and-sides", "under", "sides"], ANY_SPELLING] = Field(
        "under-and-sides", description="the place where it lies"
    )
    r_m2k_w: Annotated[float, Unit("m²K/W")] = Field(0.9, gt=0, le=20, description="the thermal resistance")


class LampsTable(Table):
    """Fixtures switched together over one bench."""

    ppfd: Annotated[float, Unit("µmol m⁻² s⁻¹")] = Field(
        gt=0, le=2500, description="the light at the trays with all fixtures working"
    )
    power_kw: Annotated[float, Unit("kW")] = Field(gt=0, le=1000, description="the power they draw together")
    kind: Text = Field("led-white", description="the kind of lamp")
    place: Annotated[Literal["in-tent", "above"] | None, ANY_SPELLING] = Field(
        None, description="the place: inside the tent or above it"
    )
    switch: Annotated[Literal["timer", "hand", "remote"], ANY_SPELLING] = Field(
        "timer", description="the way they are switched"
    )
    pairs: int = Field(2, ge=1, le=48, description="the on/off pairs its timer holds in 24 h")
    usual: Spans = Field((), description="the hours they run when nothing else was set")
    least_run_min: Annotated[int, Unit("min")] = Field(30, ge=0, le=1440, description="the shortest run")
    starts: int = Field(2, ge=1, le=48, description="the most starts in a day")
    sun_enough_ppfd: Annotated[float, Unit("µmol m⁻² s⁻¹")] = Field(
        400.0, gt=0, le=2500, description="the sun at the bench from which lamps stay off"
    )
    cooling_min: Annotated[int, Unit("min")] = Field(
        0, ge=0, le=240, description="the time they need to cool"
    )
    working: Share = Field(1.0, description="the share of the fixtures that work")


class BatchRow(Table):
    """A crop at a stage on a bench."""

    crop: Text = Field(description="the name of the crop")
    stage: Annotated[
        Literal["germination", "seedling", "growing-on", "finishing", "hardening"], ANY_SPELLING
    ] = Field(description="germination, seedling, growing-on, finishing or hardening")
    from_: Date = Field(alias="from", description="the first date it is there")
    to: Date = Field(description="the last date it is there")
    sown: Date | None = Field(None, description="the date it was sown")
    trays: int | None = Field(None, ge=1, le=100000, description="the number of trays")
    day: Annotated[Literal["normal", "inverted"], ANY_SPELLING] = Field(
        "normal", description="normal, or inverted (day and night turned round)"
    )


class BenchTable(Table):
    """`[[bench]]`: a growing area, the unit of advice."""

    id: Text = Field(description="a short name that sheets and commands use")
    house: Text = Field(description="the id of the house it stands in")
    name: Text | None = Field(None, description="the name on the sheet")
    area_m2: SquareMetres = Field(gt=0, le=100000, description="the growing area")
    height_m: Metres = Field(0.8, ge=0, le=20, description="the height of the trays above the floor")
    place: PlaceTable | None = Field(
        None, description="the place it stands (else the house's mean light counts)"
    )
    tent: Text | None = Field(None, description="the glazing of a tent over the bench")
    tent_height_m: Metres = Field(0.45, gt=0, le=5, description="the height of the tent above the trays")
    tent_opens: bool = Field(True, description="whether the tent can be propped or rolled back")
    insulation: InsulationTable | None = Field(None, description="the insulation of the bench")
    insulated: bool | None = Field(None, description="whether it is insulated (short for insulation = { … })")
    bottom_heat: bool = Field(True, description="whether it is heated from below")
    heat_to_c: Annotated[float | None, TEMPERATURE] = Field(
        None, ge=0, le=40, description="the temperature the bench is heated to"
    )
    light_for_seed_ppfd: Annotated[float, Unit("µmol m⁻² s⁻¹")] = Field(
        20.0, ge=0, le=500, description="the light that germinating seed wants"
    )
    stray_ppfd: Annotated[float, Unit("µmol m⁻² s⁻¹")] = Field(
        0.0, ge=0, le=100, description="the street or yard light at night"
    )
    lamps: LampsTable | None = Field(None, description="the lamps over the bench")
    lamp_hours: Spans = Field(((0, 1440),), description="the hours when lamps may run")
    covers: Annotated[tuple[Text, ...], Rows] = Field((), description="the covers at hand for this bench")
    batch: Annotated[tuple[BatchRow, ...], Rows] = Field((), description="the crops on the bench")
