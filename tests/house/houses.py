"""Houses to trace in tests, as short as a site file would say them."""

from __future__ import annotations

from functools import cache
from typing import Any

from lightplan.house.transmission import HouseLight, house_light
from lightplan.site.models import Glazing, House, Layer, Shape

# The panes of the reference houses: index, and 0.900 passed at right angles.
GLASS = Layer(n=1.52, normal_transmittance=0.9)
FILM = Layer(n=1.50, normal_transmittance=0.9)


def glazing(*layers: Layer, haze: float = 0.0, is_film: bool = False) -> Glazing:
    return Glazing("own", layers, haze, 6.0, is_film, "tests", "tests")


def house(shape: Shape = Shape.GABLE, pane: Glazing | None = None, **changes: Any) -> House:
    """A gable house of the reference's case A; any field may be changed."""
    pane = glazing(GLASS) if pane is None else pane
    values: dict[str, Any] = {
        "id": "h",
        "name": "h",
        "shape": shape,
        "width_m": 9.1,
        "length_m": 29.0,
        "eave_m": 2.4,
        "ridge_m": 4.675,
        "spans": 1,
        "gutter_m": 0.2 if shape is Shape.MULTISPAN else 0.0,
        "ridge_azimuth_deg": 90.0,
        "faces_deg": None,
        "arc": "ellipse",
        "bulge_m": None,
        "section": None,
        "glazing": pane,
        "wall_glazing": pane,
        "end_glazing": pane,
        "opaque": frozenset(),
        "knee_wall_m": 0.0,
        "frame_loss": 0.12,
        "bars": None,
        "dirt_loss": 0.05,
        "washed": None,
        "overhead": (),
        "shade": (),
        "covers": (),
        "heat_to_c": 16.0,
        "can_heat_kw": None,
        "vent_at_c": 24.0,
        "venting": "sides",
        "vents_by": "hand",
        "air_changes_closed": 1.0,
        "air_changes_open": 20.0,
    }
    return House(**(values | changes))


def hoop_of_reference(**changes: Any) -> House:
    """Case C_stack of the reference houses: half ellipse from the ground, two films as one stack."""
    return house(
        Shape.HOOP,
        glazing(FILM, FILM, is_film=True),
        **({"eave_m": 0.0, "ridge_m": 3.7, "ridge_azimuth_deg": 0.0} | changes),
    )


@cache
def light_of(which: House) -> HouseLight:
    """Traced once for all tests."""
    return house_light(which)
