"""A house as a body that gains and loses heat: its areas, its volume, its vents and heating."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from lightplan.heat.parameters import AIR_WH_M3K, UNCALIBRATED, HeatParameters
from lightplan.house.shape import Section, section_of
from lightplan.site.models import Glazing, House

FLOOR_AT_M = 0.05  # low enough that every house has floor there


@dataclass(frozen=True)
class HouseBody:
    """Per m² of floor. Air changes per hour; temperatures [°C]; can_heat_w_m2: None = enough.

    loss_w_m2k : U·A of all faces. air_w_m2k : what one air change per hour carries off.
    """

    floor_m2: float
    loss_w_m2k: float
    air_w_m2k: float
    changes_closed: float
    changes_open: float
    vent_at_c: float
    heat_to_c: float
    can_heat_w_m2: float | None


def house_body(house: House, parameters: HeatParameters = UNCALIBRATED) -> HouseBody:
    """A house's heat per m² of floor from its real faces. Raises ValueError where it cannot stand."""
    section = section_of(house, FLOOR_AT_M)
    floor_m2 = (section.foot_m[1] - section.foot_m[0]) * section.length_m
    loss_w_k = sum(
        area * (parameters.opaque_w_m2k if glazing is None else glazing.u_w_m2k)
        for area, glazing in faces(section)
    )
    return HouseBody(
        floor_m2=floor_m2,
        loss_w_m2k=loss_w_k / floor_m2,
        air_w_m2k=AIR_WH_M3K * section.area_m2 * section.length_m / floor_m2,
        changes_closed=house.air_changes_closed,
        changes_open=max(house.air_changes_open, house.air_changes_closed),
        vent_at_c=house.vent_at_c,
        heat_to_c=house.heat_to_c,
        can_heat_w_m2=None if house.can_heat_kw is None else house.can_heat_kw * 1000 / floor_m2,
    )


def faces(section: Section) -> Iterator[tuple[float, Glazing | None]]:
    """Every face of a house: its area [m²] and its glazing, None = opaque."""
    for width, glazing in zip(section.widths, section.glazings, strict=True):
        yield float(width) * section.length_m, glazing
    for end in section.ends:
        for area, is_open in zip(section.band_areas_m2, section.band_is_open, strict=True):
            yield float(area), end if is_open else None
