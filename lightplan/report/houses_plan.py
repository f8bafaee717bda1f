"""A house in plan, to scale: outline, ridges, gutters, numbered benches, light over the floor in greys."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

import numpy as np
from markupsafe import Markup
from numpy.typing import NDArray

from lightplan.house.shape import Section, section_of
from lightplan.report.drawing import INK, box, line, n, path
from lightplan.site.models import Bench, House, Shape
from lightplan.year.floor import FloorMonth

Array = NDArray[np.float64]
Placed = Callable[[float, float], tuple[float, float]]  # metres across and along to points

FINEST_ACROSS = 15  # cells across that a plan shows
# light over the floor's mean: the darkest grey up to the first edge, white past the last
EDGES = (0.8, 0.9, 0.96, 1.04, 1.1)
GREYS = ("#8c8c8c", "#a9a9a9", "#c6c6c6", "#dcdcdc", "#efefef", "#ffffff")
MARGIN = 3.0
FONT = "Morning Sheet"


def plan(house: House, month: FloorMonth, benches: Mapping[int, Bench], *, points_a_metre: float) -> Markup:
    """The floor of a month from above: the left wall on top, the end behind you to the left.

    benches : those with a place, by the number that the page gives them.
    """
    section, scale = section_of(house), points_a_metre
    left, right = section.foot_m
    wide, tall = section.length_m * scale, (right - left) * scale

    def at(across_m: float, along_m: float) -> tuple[float, float]:
        return MARGIN + along_m * scale, MARGIN + (across_m - left) * scale

    parts = _cells(month, at)
    parts += _ridges(house, section, at)
    parts.append(_outline(*at(left, 0.0), wide, tall, house))
    for number, bench in benches.items():
        parts += _bench(number, bench, at)
    return _svg(wide + 2 * MARGIN, tall + 2 * MARGIN, parts, f"plan of {house.name}")


def grey_of(share: float) -> str:
    """The grey of a cell by its light over the floor's mean."""
    return GREYS[int(np.searchsorted(EDGES, share, side="right"))]


def key_box(grey: str) -> Markup:
    return _svg(16, 9, [box(0.5, 0.5, 15, 8, fill=grey, stroke=INK)], "grey")


def compass(house: House) -> Markup:
    """Where north is in the plan: an arrow in a ring."""
    turn = math.radians(house.ridge_azimuth_deg)
    right, up = math.cos(turn), math.sin(turn)
    tip, tail = (13 + 10 * right, 13 - 10 * up), (13 - 10 * right, 13 + 10 * up)
    wing = [(13 - 4 * right + s * 4.5 * up, 13 + 4 * up + s * 4.5 * right) for s in (1, -1)]
    parts = [
        f'<circle cx="13" cy="13" r="12" fill="none" stroke="{INK}" stroke-width="0.6"/>',
        line(*tail, *tip, width=0.8),
        path([tip, wing[0], (13 - right, 13 + up), wing[1]], fill=INK),
    ]
    return _svg(26, 26, parts, "north arrow")


def _cells(month: FloorMonth, at: Placed) -> list[str]:
    cells = coarse(month.cells)
    across = np.linspace(*month.across_m, len(cells) + 1)
    along = np.linspace(*month.along_m, cells.shape[1] + 1)
    mean = float(cells.mean())
    parts = []
    for i, row in enumerate(cells):
        j = 0
        while j < len(row):  # cells of one grey in a row are one box
            grey, end = grey_of(row[j] / mean if mean > 0 else 1.0), j + 1
            while end < len(row) and grey_of(row[end] / mean if mean > 0 else 1.0) == grey:
                end += 1
            x, y = at(float(across[i]), float(along[j]))
            x2, y2 = at(float(across[i + 1]), float(along[end]))
            parts.append(box(x, y, x2 - x, y2 - y, fill=grey))
            j = end
    return parts


def coarse(cells: Array) -> Array:
    """Cells put together across until a plan can show them."""
    together = next(
        k for k in range(1, len(cells) + 1) if len(cells) % k == 0 and len(cells) // k <= FINEST_ACROSS
    )
    return np.asarray(cells.reshape(len(cells) // together, together, -1).mean(axis=1))


def _outline(x: float, y: float, wide: float, tall: float, house: House) -> str:
    return (
        f'<rect x="{n(x)}" y="{n(y)}" width="{n(wide)}" height="{n(tall)}" fill="none"'
        f' stroke="{INK}" stroke-width="1.6"/>'
    )


def _ridges(house: House, section: Section, at: Placed) -> list[str]:
    """Ridges dashed, valley gutters as pairs of thin lines."""
    points = section.points
    tops = [
        float(x)
        for (x, z), (_, before), (_, after) in zip(points[1:-1], points[:-2], points[2:], strict=True)
        if z > before + 1e-6 and z > after + 1e-6
    ]
    parts = [line(*at(x, 0.0), *at(x, section.length_m), width=0.8, dash="6 3") for x in tops]
    if house.shape is Shape.MULTISPAN:
        for span in range(1, house.spans):
            start = span * house.width_m + (span - 1) * house.gutter_m
            for x in (start, start + house.gutter_m):
                parts.append(line(*at(x, 0.0), *at(x, section.length_m), width=0.5))
    return parts


def _bench(number: int, bench: Bench, at: Placed) -> list[str]:
    assert bench.place is not None
    x, y = at(bench.place.across_m[0], bench.place.along_m[0])
    x2, y2 = at(bench.place.across_m[1], bench.place.along_m[1])
    middle_x, middle_y = (x + x2) / 2, (y + y2) / 2
    dash = "3 1.5" if bench.tent is not None else None
    corners = [(x, y), (x2, y), (x2, y2), (x, y2), (x, y)]
    return [
        path(corners, fill="none", stroke=INK, width=1.1, dash=dash),
        f'<circle cx="{n(middle_x)}" cy="{n(middle_y)}" r="6" fill="#ffffff" stroke="{INK}"'
        ' stroke-width="0.7"/>',
        f'<text x="{n(middle_x)}" y="{n(middle_y + 3)}" text-anchor="middle" font-family="{FONT}"'
        f' font-weight="700" font-size="9" fill="{INK}">{number}</text>',
    ]


def _svg(width: float, height: float, parts: list[str], label: str) -> Markup:
    """A drawing that keeps its size: plans are to scale."""
    return Markup(
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {w} {h}" role="img" aria-label="{label}"'
        ' style="display:block;width:{w}pt;height:{h}pt">{parts}</svg>'
    ).format(w=n(width), h=n(height), label=label, parts=Markup("".join(parts)))
