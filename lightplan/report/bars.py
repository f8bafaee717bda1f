"""A bench's light of the day as one bar: sun, what covers take, lamps; against minimum, target and limit."""

from __future__ import annotations

from collections.abc import Iterable

from markupsafe import Markup

from lightplan.dayplan import Dli
from lightplan.report.drawing import INK, SUN, box, hatch, line, svg
from lightplan.report.units import short

WIDTH, HEIGHT = 180.0, 16.0
TOP, DEPTH = 1.0, 9.6  # of the bar itself; the low–high line lies under it


def bar_scale(days: Iterable[Dli]) -> float:
    """Light [mol] at the right end of every bar of a sheet, so that benches can be compared.

    A limit far above what the day brings does not squeeze the bars: it then has no mark.
    """
    days = tuple(days)
    reach = max((max(d.high, d.total, d.sun_open, d.target or 0.0) for d in days), default=0.0)
    limits = [d.limit for d in days if d.limit is not None and d.limit <= 1.5 * reach]
    return max([reach, *limits]) * 1.04 or 1.0


def light_bar(dli: Dli, scale_mol: float) -> Markup:
    """The bar. Sun is light, lamps are solid, light kept out by covers is hatched; ticks are minimum
    (thin), target (thick) and limit (dashed); the thin line below runs from low to high."""

    def x(mol: float) -> float:
        return min(mol / scale_mol, 1.0) * WIDTH

    kept_out = max(dli.sun_open - dli.sun, 0.0)
    parts = [line(0, TOP + DEPTH, WIDTH, TOP + DEPTH, width=0.4)]
    if kept_out > 0:
        parts.append(hatch(x(dli.total), TOP, x(dli.total + kept_out) - x(dli.total), DEPTH))
    if dli.sun > 0:
        parts.append(box(0, TOP, x(dli.sun), DEPTH, fill=SUN, stroke=INK))
    if dli.lamps > 0:
        parts.append(box(x(dli.sun), TOP, x(dli.sun + dli.lamps) - x(dli.sun), DEPTH, fill=INK, stroke=INK))
    if dli.high > dli.low:
        y = TOP + DEPTH + 2.8
        parts.append(line(x(dli.low), y, x(dli.high), y, width=1.6))
        parts += [line(x(end), y - 2.2, x(end), y + 2.2, width=1.6) for end in (dli.low, dli.high)]
    for mol, width, dash in ((dli.minimum, 1.2, None), (dli.target, 3.4, None), (dli.limit, 2.0, "3 2")):
        if mol is not None and mol <= scale_mol:
            # white beside the tick keeps it seen across a solid bar
            parts.append(line(x(mol), 0, x(mol), TOP + DEPTH, width=width + 1.6, stroke="#ffffff"))
            parts.append(line(x(mol), 0, x(mol), TOP + DEPTH, width=width, dash=dash))
    return svg(WIDTH, HEIGHT, parts, f"{short(dli.total)} mol, of which {short(dli.lamps)} from lamps")
