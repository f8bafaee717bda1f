"""The shipped fonts' zero without its stroke: on a grey office printer a stroked zero reads as an eight.

`python -m tests.plain_zero FONT.ttf …` changes files of the family as its authors publish them (SIL Open
Font License, no reserved name) in place; one that is changed already is left alone.
"""

from __future__ import annotations

import sys
from pathlib import Path

from fontTools.misc.transform import Transform
from fontTools.pens.recordingPen import RecordingPen
from fontTools.pens.reverseContourPen import ReverseContourPen
from fontTools.pens.transformPen import TransformPen
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import TTFont

Contour = list[tuple[str, tuple[tuple[float, float], ...]]]
Box = tuple[float, float, float, float]


def contours(font: TTFont, glyph: str) -> list[Contour]:
    pen = RecordingPen()
    font.getGlyphSet()[glyph].draw(pen)
    found: list[Contour] = []
    for command in pen.value:
        if command[0] == "moveTo":
            found.append([])
        found[-1].append(command)
    return found


def box_of(parts: list[Contour]) -> Box:
    points = [point for part in parts for _, at in part for point in at if point is not None]
    xs, ys = zip(*points, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def without_stroke(font: TTFont) -> bool:
    """Draws the counter as the outline made smaller; whether there was a stroke to take away."""
    parts = contours(font, "zero")
    if len(parts) != 3:
        return False
    outer = max(parts, key=lambda part: box_of([part])[2] - box_of([part])[0])
    inner = box_of([part for part in parts if part is not outer])
    left, low, right, high = box_of([outer])
    wide, tall = (inner[2] - inner[0]) / (right - left), (inner[3] - inner[1]) / (high - low)
    pen = TTGlyphPen(font.getGlyphSet())
    smaller = Transform(wide, 0, 0, tall, inner[0] - left * wide, inner[1] - low * tall)
    for target in (pen, TransformPen(ReverseContourPen(pen), smaller)):
        for name, at in outer:
            getattr(target, name)(*at)
    font["glyf"]["zero"] = pen.glyph()
    return True


def main() -> None:
    for name in sys.argv[1:]:
        font = TTFont(Path(name), recalcTimestamp=False)
        if without_stroke(font):
            font.save(name)


if __name__ == "__main__":
    main()
