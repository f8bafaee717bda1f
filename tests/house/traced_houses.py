"""Houses of other shapes than the reference's, each said twice: as a site file says it, and as the
bare outline that the ray tracer gets, drawn here by other means than the model's.

All invented. In single glass of index 1.52 that passes 0.900 at right angles, unless a house says otherwise.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from lightplan.site.models import Glazing, House, Layer, Shape
from tests.house.houses import FILM, glazing, house
from tests.house.houses import GLASS as GLASS_LAYER

Point = tuple[float, float]
GLASS, WALL = "glass", "wall"
FILMS, TWIN_WALL, HAZY_FILM, HAZY_GLASS = "films", "twin-wall", "hazy-film", "hazy-glass"
# What the model is told of each. Two films as one stack; the twin wall's webs are left out.
GLAZINGS: dict[str, Glazing] = {
    GLASS: glazing(GLASS_LAYER),
    FILMS: glazing(FILM, FILM),
    TWIN_WALL: glazing(*(Layer(n=1.585, extinction_per_m=20.0, thickness_mm=1.0),) * 2),
    HAZY_FILM: glazing(FILM, haze=0.5),
    HAZY_GLASS: glazing(GLASS_LAYER, haze=0.75),
}
ARC = 60  # panes in an arc


@dataclass(frozen=True)
class TracedHouse:
    """outline : points x, z from left foot to right foot. panes : material between each two of them.

    ends : material of end-a and end-b. knee_m : solid wall at the foot of the ends.
    symmetric : four quarters of the sky are alike.
    """

    house: House
    outline: tuple[Point, ...]
    panes: tuple[str, ...]
    ends: tuple[str, str] = (GLASS, GLASS)
    knee_m: float = 0.0
    symmetric: bool = True

    @property
    def length_m(self) -> float:
        return self.house.length_m


def gable() -> TracedHouse:
    outline = ((0, 0), (0, 2.4), (4.55, 4.675), (9.1, 2.4), (9.1, 0))
    return TracedHouse(house(), outline, (GLASS,) * 4)


def gothic() -> TracedHouse:
    """Arcs by their circles: centres at equal distance from eave and crown, bulge 0.105 of the chord."""
    width, eave, ridge = 7.2, 1.5, 4.2
    chord = math.hypot(width / 2, ridge - eave)
    bulge = 0.105 * chord
    radius = (chord**2 / 4 + bulge**2) / (2 * bulge)
    away = (radius - bulge) / chord  # from the chord's middle to the centre, in chords, to the right and down
    cx, cz = width / 4 + away * (ridge - eave), (eave + ridge) / 2 - away * width / 2
    first, last = math.atan2(eave - cz, -cx), math.atan2(ridge - cz, width / 2 - cx)
    turns = [first + (last - first) * n / (ARC // 2) for n in range(ARC // 2 + 1)]
    left = [(cx + radius * math.cos(t), cz + radius * math.sin(t)) for t in turns]
    right = [(width - x, z) for x, z in left[-2::-1]]
    outline = ((0.0, 0.0), *left, *right, (width, 0.0))
    model = house(Shape.GOTHIC, width_m=width, length_m=20.0, eave_m=eave, ridge_m=ridge)
    return TracedHouse(model, outline, (GLASS,) * (ARC + 2))


def circle_hoop_one_solid_end() -> TracedHouse:
    """A segment of a circle 8 m wide and 2.2 m high on 1.5 m walls; end-b solid."""
    width, rise, eave = 8.0, 2.2, 1.5
    radius = (width**2 / 4 + rise**2) / (2 * rise)
    half = math.asin(width / 2 / radius)
    turns = [half * (2 * n / ARC - 1) for n in range(ARC + 1)]
    arc = [(width / 2 + radius * math.sin(t), eave + rise - radius * (1 - math.cos(t))) for t in turns]
    model = house(
        Shape.HOOP,
        width_m=width,
        length_m=24.0,
        eave_m=eave,
        ridge_m=eave + rise,
        arc="circle",
        opaque=frozenset({"end-b"}),
    )
    outline = ((0.0, 0.0), *arc, (width, 0.0))
    return TracedHouse(model, outline, (GLASS,) * (ARC + 2), (GLASS, WALL), symmetric=False)


def multispan(spans: int, width: float, eave: float, ridge: float, length: float, **changes: object) -> House:
    return house(
        Shape.MULTISPAN, width_m=width, eave_m=eave, ridge_m=ridge, length_m=length, spans=spans, **changes
    )


def _zigzag(spans: int, width: float, eave: float, ridge: float) -> tuple[tuple[Point, ...], list[str]]:
    outline: list[Point] = [(0, 0), (0, eave)]
    panes = [GLASS]
    for span in range(spans):
        left = span * (width + 0.2)
        if span:
            outline.append((left, eave))
            panes.append(WALL)
        outline += [(left + width / 2, ridge), (left + width, eave)]
        panes += [GLASS, GLASS]
    outline.append((outline[-1][0], 0))
    return tuple(outline), [*panes, GLASS]


def three_spans() -> TracedHouse:
    outline, panes = _zigzag(3, 6.4, 3.0, 4.6)
    return TracedHouse(multispan(3, 6.4, 3.0, 4.6, 30.0), outline, tuple(panes))


def two_spans_solid_walls() -> TracedHouse:
    """Both ends and the right wall solid."""
    outline, panes = _zigzag(2, 9.6, 2.5, 4.9)
    solid = frozenset({"end-a", "end-b", "side-right"})
    model = multispan(2, 9.6, 2.5, 4.9, 20.0, opaque=solid)
    return TracedHouse(model, outline, (*panes[:-1], WALL), (WALL, WALL), symmetric=False)


def lean_to() -> TracedHouse:
    """Ridge azimuth 90 (east), facing south: to the right of the ridge's azimuth; the wall is on the left."""
    model = house(
        Shape.LEAN_TO,
        width_m=4.0,
        length_m=12.0,
        eave_m=2.0,
        ridge_m=3.4,
        faces_deg=180.0,
        opaque=frozenset({"side-left"}),
    )
    return TracedHouse(model, ((0, 0), (0, 3.4), (4, 2), (4, 0)), (WALL, GLASS, GLASS), symmetric=False)


def flat_solid_ends() -> TracedHouse:
    solid = frozenset({"end-a", "end-b"})
    model = house(Shape.FLAT, width_m=6.0, length_m=12.0, eave_m=2.5, ridge_m=2.5, opaque=solid)
    return TracedHouse(model, ((0, 0), (0, 2.5), (6, 2.5), (6, 0)), (GLASS,) * 3, (WALL, WALL))


def uneven_section() -> TracedHouse:
    outline = ((0.0, 0.0), (0.0, 1.5), (6.5, 4.5), (9.0, 2.5), (9.0, 0.0))
    model = house(Shape.SECTION, width_m=9.0, length_m=18.0, eave_m=1.5, ridge_m=4.5, section=outline)
    return TracedHouse(model, outline, (GLASS,) * 4, symmetric=False)


def knee_walls() -> TracedHouse:
    outline = ((0, 0), (0, 0.9), (0, 2.2), (3, 3.7), (6, 2.2), (6, 0.9), (6, 0))
    model = house(width_m=6.0, length_m=15.0, eave_m=2.2, ridge_m=3.7, knee_wall_m=0.9)
    return TracedHouse(model, outline, (WALL, GLASS, GLASS, GLASS, GLASS, WALL), knee_m=0.9)


def small_solid_end() -> TracedHouse:
    """3 by 4 m, end-a solid: ends count for much."""
    outline = ((0, 0), (0, 1.8), (1.5, 2.8), (3, 1.8), (3, 0))
    model = house(width_m=3.0, length_m=4.0, eave_m=1.8, ridge_m=2.8, opaque=frozenset({"end-a"}))
    return TracedHouse(model, outline, (GLASS,) * 4, (WALL, GLASS), symmetric=False)


def film_hoop() -> TracedHouse:
    """Half an ellipse from the ground under two films, ends of single glass."""
    width, crown = 7.0, 3.2
    turns = [math.pi * n / ARC for n in range(ARC + 1)]
    outline = tuple((width / 2 * (1 - math.cos(t)), crown * math.sin(t)) for t in turns)
    model = house(
        Shape.HOOP,
        GLAZINGS[FILMS],
        width_m=width,
        length_m=18.0,
        eave_m=0.0,
        ridge_m=crown,
        end_glazing=GLAZINGS[GLASS],
    )
    return TracedHouse(model, (*outline[:-1], (width, 0.0)), (FILMS,) * ARC)


def twin_wall_gable() -> TracedHouse:
    """Twin wall all round but for glass in the side walls; end-b solid."""
    outline = ((0, 0), (0, 2.1), (3.2, 3.5), (6.4, 2.1), (6.4, 0))
    model = house(
        Shape.GABLE,
        GLAZINGS[TWIN_WALL],
        width_m=6.4,
        length_m=14.0,
        eave_m=2.1,
        ridge_m=3.5,
        wall_glazing=GLAZINGS[GLASS],
        opaque=frozenset({"end-b"}),
    )
    panes = (GLASS, TWIN_WALL, TWIN_WALL, GLASS)
    return TracedHouse(model, outline, panes, (TWIN_WALL, WALL), symmetric=False)


def hazy_hoop() -> TracedHouse:
    """Half an ellipse on walls of 1.2 m, hazy film; ends of glass."""
    width, eave, rise = 8.0, 1.2, 2.4
    turns = [math.pi * n / ARC for n in range(ARC + 1)]
    arc = [(width / 2 * (1 - math.cos(t)), eave + rise * math.sin(t)) for t in turns]
    model = house(
        Shape.HOOP,
        GLAZINGS[HAZY_FILM],
        width_m=width,
        length_m=20.0,
        eave_m=eave,
        ridge_m=eave + rise,
        end_glazing=GLAZINGS[GLASS],
    )
    return TracedHouse(model, ((0.0, 0.0), *arc[:-1], (width, eave), (width, 0.0)), (HAZY_FILM,) * (ARC + 2))


def hazy_spans() -> TracedHouse:
    """Three spans under hazy glass; walls and ends clear."""
    outline, panes = _zigzag(3, 8.0, 3.0, 5.0)
    panes = [WALL if made == WALL else HAZY_GLASS for made in panes]
    clear = {"wall_glazing": GLAZINGS[GLASS], "end_glazing": GLAZINGS[GLASS]}
    model = multispan(3, 8.0, 3.0, 5.0, 25.0, glazing=GLAZINGS[HAZY_GLASS], **clear)
    return TracedHouse(model, outline, (GLASS, *panes[1:-1], GLASS))


HOUSES = {
    "gable": gable,
    "gothic": gothic,
    "circle-hoop": circle_hoop_one_solid_end,
    "three-spans": three_spans,
    "two-spans-solid": two_spans_solid_walls,
    "lean-to": lean_to,
    "flat": flat_solid_ends,
    "section": uneven_section,
    "knee-walls": knee_walls,
    "small": small_solid_end,
    "film-hoop": film_hoop,
    "twin-wall": twin_wall_gable,
    "hazy-hoop": hazy_hoop,
    "hazy-spans": hazy_spans,
}
