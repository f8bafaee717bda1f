"""Drawings of an inverted bench's page: its day as a strip, and the medium by the hour of a week."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from markupsafe import Markup

from lightplan.advice.inversion.task import Array, Schedule, Way, Week
from lightplan.report.drawing import DARK, INK, RULE, SUN, box, line, path, svg
from lightplan.site.models import Span

WIDTH = 480.0
STRIP_HEIGHT, CHART_HEIGHT = 14.0, 56.0
DAY = 1440
WHITE = "#ffffff"

Height = Callable[[float], float]


def _x(minutes: float) -> float:
    return WIDTH * minutes / DAY


def _parts(start: int, end: int) -> list[Span]:
    """A span of the clock within the day; one past midnight is two."""
    return [(start, end)] if start <= end else [(start, DAY), (0, end)]


def day_strip(schedule: Schedule) -> Markup:
    """Dark under the cover as fill, lamps as solid; what is white stands open and unlit."""
    parts = [box(0, 0, WIDTH, STRIP_HEIGHT, fill=WHITE, stroke=INK)]
    parts.append(_bar(schedule.cover_on, schedule.cover_off, DARK))
    parts += [_bar(*part, INK) for part in _parts(schedule.lamps_on, schedule.lamps_off)]
    parts += _hours(STRIP_HEIGHT)
    return svg(WIDTH, STRIP_HEIGHT, parts, "the bench's day: dark, and lamps")


def _bar(start: int, end: int, fill: str) -> str:
    return box(_x(start), 0.7, _x(end) - _x(start), STRIP_HEIGHT - 1.4, fill=fill)


def _hours(height: float) -> list[str]:
    return [line(_x(hour * 60), 0, _x(hour * 60), height, width=0.4, stroke=RULE) for hour in range(3, 24, 3)]


def medium_chart(week: Week, limit_c: float, span_c: tuple[float, float]) -> Markup:
    """Medium at each clock hour: open (band and thin line), shaded (dashed), turned round (band, thick)."""
    low, top = span_c

    def y(celsius: float) -> float:
        return CHART_HEIGHT * (top - celsius) / (top - low)

    parts = [
        _band(week.open, y, SUN),
        _band(week.inverted, y, DARK),
        *_hours(CHART_HEIGHT),
        line(0, y(limit_c), WIDTH, y(limit_c), width=1.0, dash="7 3"),
        _line(week.open, y, width=0.9),
        _line(week.shaded, y, width=1.1, dash="2 2"),
        _line(week.inverted, y, width=2.2),
        line(0, CHART_HEIGHT, WIDTH, CHART_HEIGHT, width=0.7),
        line(0, 0, WIDTH, 0, width=0.4, stroke=RULE),
    ]
    return svg(WIDTH, CHART_HEIGHT, parts, f"medium by the hour in the week of {week.start.isoformat()}")


def _points(values: Array, y: Height) -> list[tuple[float, float]]:
    return [(_x(60 * hour + 30), y(float(value))) for hour, value in enumerate(values)]


def _band(way: Way, y: Height, fill: str) -> str:
    edge = _points(way.by_hour_c[:, 2], y) + _points(way.by_hour_c[:, 1], y)[::-1]
    return path(edge, fill=fill, stroke=RULE, width=0.4)


def _line(way: Way, y: Height, *, width: float, dash: str | None = None) -> str:
    return path(_points(way.by_hour_c[:, 0], y), fill="none", stroke=INK, width=width, dash=dash)


def span_of(weeks: Sequence[Week], limit_c: float) -> tuple[float, float]:
    """Lowest and highest temperature that the charts of these weeks show, to whole 5 K."""
    ways = [way for week in weeks for way in (week.open, week.shaded, week.inverted)]
    low = min(limit_c, *(float(way.by_hour_c.min()) for way in ways))
    high = max(limit_c, *(float(way.by_hour_c.max()) for way in ways))
    return 5 * (low // 5), 5 * -(-high // 5)
