"""Drawings of the year's pages: light by week, heat by week, weeks of need, how a crop fits a house."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

import numpy as np
from markupsafe import Markup
from numpy.typing import NDArray

from lightplan.report.drawing import DARK, INK, RULE, SUN, box, boxes, hatch, line, lines, path, svg
from lightplan.year.fit import Mark
from lightplan.year.stretches import Stretch

Array = NDArray[np.float64]

WIDTH = 480.0
LIGHT_HEIGHT, HEAT_HEIGHT, ROW_HEIGHT, LANE_HEIGHT, FIT_HEIGHT = 54.0, 26.0, 11.0, 12.0, 9.0
FIT_WIDTH = 106.0  # a week is two points wide
WHITE = "#ffffff"


class Axis:
    """Weeks and months of a year along a width [points]."""

    def __init__(self, weeks: tuple[Stretch, ...], months: tuple[Stretch, ...], width: float = WIDTH) -> None:
        self.weeks, self.months, self.width = weeks, months, width
        self.days = weeks[-1].days.stop

    def x(self, day: int) -> float:
        return float(self.width * day / self.days)

    def span(self, week: int) -> tuple[float, float]:
        """From where, how wide."""
        start, stop = self.weeks[week].days.start, self.weeks[week].days.stop
        return self.x(start), self.x(stop) - self.x(start)

    def middle(self, week: int) -> float:
        at, wide = self.span(week)
        return at + wide / 2

    def month_lines(self, height: float) -> list[str]:
        at = [self.x(month.days.start) for month in self.months[1:]]
        return lines([(x, 0, x, height) for x in at], width=0.4, stroke=RULE)


def house_light(
    axis: Axis, *, outdoor: Array, inside: Array, low: Array, high: Array, top: float, label: str
) -> Markup:
    """Light of each week over a floor: the line inside, its band of days, the light outdoors dotted."""
    band = [(axis.middle(n), _y(v, top)) for n, v in enumerate(high)]
    band += [(axis.middle(n), _y(v, top)) for n, v in reversed(list(enumerate(low)))]
    parts = [path(band, fill=SUN, stroke=RULE, width=0.4), *axis.month_lines(LIGHT_HEIGHT)]
    parts += _curve(axis, outdoor, top, width=1.0, dash="1.2 2.2")
    parts += _curve(axis, inside, top, width=1.8)
    parts += _rules(axis, top)
    return svg(axis.width, LIGHT_HEIGHT, parts, label)


def bench_light(
    axis: Axis,
    *,
    sun: Array,
    lamps: Array,
    minimum: Sequence[float | None],
    target: Sequence[float | None],
    top: float,
    label: str,
) -> Markup:
    """Light of each week at a bench: sun light, lamps solid on it; target a line, minimum dashed."""
    spans = [axis.span(week) for week in range(len(sun))]
    below = [_y(float(bright), top) for bright in sun]
    above = [_y(float(both), top) for both in sun + lamps]
    parts = boxes([(x, y, w, LIGHT_HEIGHT - y) for (x, w), y in zip(spans, below, strict=True)], fill=SUN)
    lit = zip(spans, above, below, lamps > 0, strict=True)
    parts += boxes([(x, y, w, low - y) for (x, w), y, low, burn in lit if burn], fill=INK)
    parts += axis.month_lines(LIGHT_HEIGHT)
    parts += _curve(axis, sun, top, width=0.7, stroke=RULE)
    for values, weight, dash in ((minimum, 1.0, "3 2"), (target, 1.8, None)):
        level = list(_levels(axis, values, top))
        parts += lines(level, width=weight + 1.4, stroke=WHITE)
        parts += lines(level, width=weight, dash=dash)
    parts += _rules(axis, top)
    return svg(axis.width, LIGHT_HEIGHT, parts, label)


def bench_heat(axis: Axis, *, peak: Array, days_over: Array, low: float, top: float, label: str) -> Markup:
    """Hottest moment of each week: the bar white with an outline, ink where days pass a limit."""
    tall = np.maximum(np.clip((peak - low) / (top - low), 0.0, 1.0) * HEAT_HEIGHT, 0.4)
    bars = [
        (x + 0.4, HEAT_HEIGHT - height, wide - 0.8, height)
        for (x, wide), height in zip(map(axis.span, range(len(peak))), tall.tolist(), strict=True)
    ]
    over = (days_over > 0).tolist()
    parts = []
    for kind, fill in ((False, WHITE), (True, INK)):
        held = [bar for bar, passed in zip(bars, over, strict=True) if passed is kind]
        parts += boxes(held, fill=fill, stroke=INK)
    parts += axis.month_lines(HEAT_HEIGHT)
    parts.append(line(0, HEAT_HEIGHT, axis.width, HEAT_HEIGHT, width=0.7))
    return svg(axis.width, HEAT_HEIGHT, parts, label)


def weeks_row(axis: Axis, weeks: NDArray[np.bool_], kind: str, label: str) -> Markup:
    """Weeks of need in a row: `solid`, `hatch`, `grey`, or `turned` (dark by day, lamps by night)."""
    parts = [box(0, 0, axis.width, ROW_HEIGHT, fill=WHITE), *axis.month_lines(ROW_HEIGHT)]
    parts += _lane(axis, weeks, kind, 1, ROW_HEIGHT - 2)
    parts.append(line(0, ROW_HEIGHT, axis.width, ROW_HEIGHT, width=0.4, stroke=RULE))
    return svg(axis.width, ROW_HEIGHT, parts, label)


def one_line(axis: Axis, lanes: Sequence[tuple[NDArray[np.bool_], str]], label: str) -> Markup:
    """Several needs on one line of weeks, each in its lane of it, as `weeks_row` draws them."""
    height = LANE_HEIGHT * len(lanes)
    parts = [box(0, 0, axis.width, height, fill=WHITE), *axis.month_lines(height)]
    for number, (weeks, kind) in enumerate(lanes):
        parts += _lane(axis, weeks, kind, number * LANE_HEIGHT + 1, LANE_HEIGHT - 2)
    for y in (0.0, height):
        parts.append(line(0, y, axis.width, y, width=0.7))
    return svg(axis.width, height, parts, label)


def _lane(axis: Axis, weeks: NDArray[np.bool_], kind: str, y: float, tall: float) -> list[str]:
    parts = []
    for first, last in _runs(weeks):
        x, end = axis.span(first)[0], sum(axis.span(last))
        if kind == "hatch":
            parts.append(hatch(x, y, end - x, tall))
        elif kind == "turned":
            parts.append(box(x, y, end - x, tall, fill=WHITE, stroke=INK))
            parts.append(box(x, y + tall / 2, end - x, tall / 2, fill=INK))
        else:
            parts.append(box(x, y, end - x, tall, fill=INK if kind == "solid" else DARK))
    return parts


def fit_row(axis: Axis, marks: tuple[Mark | None, ...], label: str) -> Markup:
    """A crop's weeks in a house: under the minimum solid, short grey, on target a line, over hatched."""
    parts = [line(0, FIT_HEIGHT - 0.3, axis.width, FIT_HEIGHT - 0.3, width=0.3, stroke=RULE)]
    for mark in Mark:
        for first, last in _runs(np.array([one is mark for one in marks])):
            x, end = axis.span(first)[0], sum(axis.span(last))
            parts.append(fit_mark(mark, x, end - x))
    return svg(axis.width, FIT_HEIGHT, parts, label)


def fit_mark(mark: Mark, x: float, width: float) -> str:
    if mark is Mark.UNDER_MINIMUM:
        return box(x, 0, width, FIT_HEIGHT, fill=INK)
    if mark is Mark.SHORT:
        return box(x, 0, width, FIT_HEIGHT, fill=DARK)
    if mark is Mark.OVER:
        return hatch(x, 0, width, FIT_HEIGHT, gap=2.5)
    return line(x, FIT_HEIGHT / 2, x + width, FIT_HEIGHT / 2, width=2.4)


def _y(value: float, top: float) -> float:
    return LIGHT_HEIGHT * (1 - min(float(value) / top, 1.0))


def _curve(
    axis: Axis, values: Array, top: float, *, width: float, dash: str | None = None, stroke: str = INK
) -> list[str]:
    points = [(axis.middle(n), _y(v, top)) for n, v in enumerate(values)]
    return [path(points, fill="none", stroke=stroke, width=width, dash=dash)]


def _levels(
    axis: Axis, values: Sequence[float | None], top: float
) -> Iterator[tuple[float, float, float, float]]:
    """Lines at what each week asks, weeks that ask the same in one."""
    start = 0
    for value, alike in groupby(values):
        end = start + len(list(alike))
        if value is not None:
            y = _y(value, top)
            yield axis.span(start)[0], y, sum(axis.span(end - 1)), y
        start = end


def _rules(axis: Axis, top: float) -> list[str]:
    """The floor of the drawing, and ticks at every ten mol on both sides."""
    parts = [line(0, LIGHT_HEIGHT, axis.width, LIGHT_HEIGHT, width=0.7)]
    ticks = [_y(mol, top) for mol in range(10, int(top) + 1, 10)]
    wide = axis.width
    return parts + lines([end for y in ticks for end in ((0, y, 6, y), (wide - 6, y, wide, y))], width=0.9)


def _runs(flags: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """First and last of each row of true flags."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], flags, [False]]).astype(int)))
    return [(int(a), int(b) - 1) for a, b in zip(edges[::2], edges[1::2], strict=True)]
