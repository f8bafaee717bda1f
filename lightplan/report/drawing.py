"""SVG pieces for the sheet's strips and bars: plain shapes, every style on its element, no text.

Page CSS stops at inline SVG in some renderers, so nothing here relies on it. Drawings stretch to the
width of their cell; labels stand beside them as page text.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from markupsafe import Markup

INK = "#1a1a1a"
# Apart in grey too: sun nearly white, dark a middle grey, lamps ink
SUN = "#f9ecc0"
DARK = "#b4b7bd"
RULE = "#8a8a8a"


def n(value: float) -> str:
    """A coordinate: two decimals are a hundredth of a point."""
    return f"{value:.2f}".rstrip("0").rstrip(".")


def svg(width: float, height: float, parts: Sequence[str], label: str) -> Markup:
    """One drawing of `width` × `height` points that stretches sideways.

    label : what it shows, for those who can't see it.
    """
    return Markup(
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {w} {h}" preserveAspectRatio="none" role="img"'
        ' aria-label="{label}" style="display:block;width:100%;height:{h}pt">{parts}</svg>'
    ).format(w=n(width), h=n(height), label=label, parts=Markup("".join(parts)))


def box(x: float, y: float, width: float, height: float, *, fill: str, stroke: str = "none") -> str:
    line = f' stroke="{stroke}" stroke-width="0.7"' if stroke != "none" else ""
    return f'<rect x="{n(x)}" y="{n(y)}" width="{n(width)}" height="{n(height)}" fill="{fill}"{line}/>'


def line(
    x1: float,
    y1: float,
    x2: float,
    y2: float,
    *,
    width: float = 0.7,
    stroke: str = INK,
    dash: str | None = None,
) -> str:
    dashes = f' stroke-dasharray="{dash}"' if dash else ""
    return (
        f'<line x1="{n(x1)}" y1="{n(y1)}" x2="{n(x2)}" y2="{n(y2)}" stroke="{stroke}"'
        f' stroke-width="{n(width)}"{dashes}/>'
    )


def path(
    points: Sequence[tuple[float, float]],
    *,
    fill: str,
    stroke: str = "none",
    width: float = 0.7,
    dash: str | None = None,
) -> str:
    way = "L".join(f"{n(x)} {n(y)}" for x, y in points)
    close = "Z" if fill != "none" else ""
    dashes = f' stroke-dasharray="{dash}"' if dash else ""
    return f'<path d="M{way}{close}" fill="{fill}" stroke="{stroke}" stroke-width="{n(width)}"{dashes}/>'


def boxes(
    corners: Iterable[tuple[float, float, float, float]], *, fill: str, stroke: str = "none"
) -> list[str]:
    """Many boxes (x, y, width, height) of one look as one path; [] for none."""
    way = "".join(f"M{n(x)} {n(y)}h{n(w)}v{n(h)}h{n(-w)}Z" for x, y, w, h in corners)
    line = f' stroke="{stroke}" stroke-width="0.7"' if stroke != "none" else ""
    return [f'<path d="{way}" fill="{fill}"{line}/>'] if way else []


def lines(
    ends: Iterable[tuple[float, float, float, float]],
    *,
    width: float = 0.7,
    stroke: str = INK,
    dash: str | None = None,
) -> list[str]:
    """Many lines (x1, y1, x2, y2) of one look as one path; [] for none."""
    way = "".join(f"M{n(x1)} {n(y1)}L{n(x2)} {n(y2)}" for x1, y1, x2, y2 in ends)
    dashes = f' stroke-dasharray="{dash}"' if dash else ""
    look = f'fill="none" stroke="{stroke}" stroke-width="{n(width)}"{dashes}'
    return [f'<path d="{way}" {look}/>'] if way else []


def hatch(x: float, y: float, width: float, height: float, *, gap: float = 3.0) -> str:
    """Slanting lines cut to a box, with its outline: patterns print differently from machine to machine."""
    parts = [box(x, y, width, height, fill="#ffffff", stroke=INK)]
    offset = gap
    while offset < width + height:
        x1, y1 = (x + offset, y) if offset <= width else (x + width, y + offset - width)
        x2, y2 = (x, y + offset) if offset <= height else (x + offset - height, y + height)
        parts.append(line(x1, y1, x2, y2, width=0.5))
        offset += gap
    return "".join(parts)
