"""The tables of the grower's own: `[glazing.X]`, `[cover.X]` and `[crop.X.STAGE]`."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BeforeValidator, Field

from lightplan.site.quantities import TEMPERATURE, Unit
from lightplan.site.table import Table
from lightplan.site.values import ANY_SPELLING, Share


class LayerRow(Table):
    """One layer of an own glazing."""

    n: float = Field(gt=1, le=3, description="the refractive index")
    normal_transmittance: float | None = Field(
        None, gt=0, le=1, description="the share of light it passes at right angles"
    )
    extinction_per_m: Annotated[float | None, Unit("per m")] = Field(
        None, ge=0, description="the extinction coefficient per metre"
    )
    thickness_mm: Annotated[float | None, Unit("mm")] = Field(
        None, gt=0, le=200, description="the thickness in mm"
    )


class GlazingTable(Table):
    """`[glazing.X]`: a glazing of the grower's own."""

    layers: Annotated[tuple[LayerRow, ...], Field(strict=False, min_length=1, max_length=6)] = Field(
        description="the layers from outside in"
    )
    haze: Share = Field(0.0, description="the share of the passed light that is scattered")
    u_w_m2k: Annotated[float | None, Unit("W/m²K")] = Field(
        None, gt=0, le=20, description="the heat it loses"
    )
    film: bool = Field(False, description="whether it is a plastic film, on which drops cost more light")


def light_range(value: object) -> object:
    """`[dark end, bright end]`, or one number for both."""
    return [value, value] if isinstance(value, int | float) and not isinstance(value, bool) else value


class CoverTable(Table):
    """`[cover.X]`: a cover of the grower's own."""

    transmittance: Annotated[tuple[Share, Share], Field(strict=False), BeforeValidator(light_range)] = Field(
        description="the share of light it passes, as [dark end, bright end]"
    )
    dark: bool | None = Field(None, description="whether it counts as full dark")
    combustible: bool = Field(True, description="whether it can burn: lamps under it stay off")
    night: bool = Field(False, description="whether it may be left on at night")
    life_h: Annotated[float | None, Unit("h")] = Field(
        None, gt=0, description="the hours it works (wet paper dries)"
    )
    where: Annotated[Literal["bench", "house", "outside"], ANY_SPELLING] = Field(
        "bench", description="the place where it is laid or drawn"
    )
    r_m2k_w: Annotated[float, Unit("m²K/W")] = Field(
        0.0, ge=0, le=20, description="the thermal resistance it adds"
    )


Mol = Annotated[float | None, Field(ge=0, le=80), Unit("mol m⁻² d⁻¹")]


class NeedsTable(Table):
    """`[crop.NAME.STAGE]`: the grower's own values; what is left out keeps the table's."""

    minimum: Mol = Field(None, description="the least light of a day")
    target: Mol = Field(None, description="the light to aim for in a day")
    limit: Mol = Field(None, description="the most light of a day")
    limit_ppfd: Annotated[float | None, Unit("µmol m⁻² s⁻¹")] = Field(
        None, gt=0, le=2500, description="the brightest light it bears"
    )
    limit_c: Annotated[float | None, TEMPERATURE] = Field(
        None, ge=5, le=60, description="the highest temperature it bears"
    )
    dark_h: Annotated[float | None, Unit("h")] = Field(
        None, ge=0, le=24, description="the unbroken dark it needs"
    )
    most_in_hand: Mol = Field(None, description="the most light counted over from bright days")
    most_owed: Mol = Field(None, description="the most light owed from dull days")
    flowering: Annotated[Literal["hasten", "hold-back", "leave"] | None, ANY_SPELLING] = Field(
        None, description="what day length is to do: hasten flowers, hold them back, or leave them"
    )
    critical_day_h: Annotated[float | None, Unit("h")] = Field(
        None, ge=6, le=20, description="the day length its flowering turns on"
    )
