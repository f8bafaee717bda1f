"""Power of all lamps over the day, on the time axis that the houses share, against what may be drawn."""

from __future__ import annotations

from lightplan.dayplan import DayPlan
from lightplan.report.drawing import INK, box, line, path, svg
from lightplan.report.strip import WIDTH, Axis
from lightplan.report.units import short
from lightplan.report.view import HouseStrip


def power_strip(plan: DayPlan, height: float) -> HouseStrip | None:
    """None where no bound is known or no lamps burn that day."""
    together = plan.lamps_together
    if together is None or together.most_kw is None:
        return None
    axis = Axis(plan)
    drawn = together.power_kw[: axis.steps]
    peak = float(drawn.max(initial=0.0))
    if peak <= 0:
        return None
    top = 1.06 * max(peak, together.most_kw)
    width = WIDTH / axis.steps
    points = [(0.0, height)]
    for step in range(axis.steps):
        y = height - float(drawn[step]) / top * height
        points += [(step * width, y), ((step + 1) * width, y)]
    points.append((WIDTH, height))
    level = height - together.most_kw / top * height
    parts = [
        box(0, 0, WIDTH, height, fill="#ffffff"),
        *axis.hour_lines(height),
        path(points, fill=INK),
        line(0, level, WIDTH, level, width=0.6),
        *axis.crew_lines(height),
        line(0, height, WIDTH, height, width=0.7),
    ]
    return HouseStrip(
        name="Lamps",
        figures=f"{short(peak)} of {short(together.most_kw)} kW (line)",
        drawing=svg(WIDTH, height, parts, "power of all lamps over the day"),
        lanes=(),
    )
