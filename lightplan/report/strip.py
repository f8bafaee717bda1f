"""A house's day as a strip on the sheet's shared time axis: the civil day, midnight to midnight.

Sun at the benches as an area under a line, the limit dashed, dark filled; one thin lane for each set of
lamp and cover times. A day of 23 or 25 hours is drawn as long as it is.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise

import numpy as np
from markupsafe import Markup
from numpy.typing import NDArray

from lightplan.clock import STEP_S, at_local, day_start
from lightplan.dayplan import BenchDay, DayPlan
from lightplan.report.drawing import DARK, INK, RULE, SUN, box, hatch, line, path, svg

WIDTH = 480.0
LANE_HEIGHT = 8.0
DARK_BELOW_UMOL = 1.0  # less light than this is drawn as dark; judgement: what a printed strip can show


@dataclass(frozen=True)
class Axis:
    """The civil day as a stretch of paper."""

    plan: DayPlan

    @property
    def start(self) -> float:
        return day_start(self.plan.day, self.plan.site.timezone).timestamp()

    @property
    def end(self) -> float:
        return day_start(self.plan.day + timedelta(days=1), self.plan.site.timezone).timestamp()

    @property
    def steps(self) -> int:
        return round((self.end - self.start) / STEP_S)

    def x(self, moment: datetime) -> float:
        share = (moment.timestamp() - self.start) / (self.end - self.start)
        return min(max(share, 0.0), 1.0) * WIDTH

    def hour_cells(self, every_h: int = 3) -> list[tuple[str, float]]:
        """Clock label and share of the width [%] of each stretch between printed hours."""
        day, zone = self.plan.day, self.plan.site.timezone
        marks = [at_local(day, hour * 60, zone).timestamp() for hour in range(0, 25, every_h)]
        span = self.end - self.start
        pairs = pairwise(marks)
        return [
            (f"{number * every_h:02d}", 100 * (after - before) / span)
            for number, (before, after) in enumerate(pairs)
            if after > before
        ]

    def hour_lines(self, height: float) -> list[str]:
        day, zone = self.plan.day, self.plan.site.timezone
        at = [self.x(at_local(day, hour * 60, zone)) for hour in range(3, 24, 3)]
        return [line(x, 0, x, height, width=0.4, stroke=RULE) for x in at]

    def crew_lines(self, height: float) -> list[str]:
        crew = self.plan.site.crew_on(self.plan.day)
        if crew is None:
            return []
        at = [self.x(at_local(self.plan.day, minutes, self.plan.site.timezone)) for minutes in crew]
        return [line(x, 0, x, height, width=1.4) for x in at]


def crew_rule(plan: DayPlan) -> Markup | None:
    """Crew hours as a thick line along the axis; None when nobody comes."""
    crew = plan.site.crew_on(plan.day)
    if crew is None:
        return None
    axis = Axis(plan)
    start, end = (axis.x(at_local(plan.day, minutes, plan.site.timezone)) for minutes in crew)
    return svg(WIDTH, 4, [box(start, 0.5, end - start, 3, fill=INK)], "crew hours")


def strip_top(plan: DayPlan) -> float:
    """PPFD at the top edge of every strip of a sheet [µmol m⁻² s⁻¹]."""
    peak = max((max(b.peak_ppfd_after, b.peak_ppfd_open) for b in plan.benches), default=0.0)
    limits = [b.limits.ppfd_umol_m2_s for b in plan.benches if b.limits and b.limits.ppfd_umol_m2_s]
    return max([peak, *(limit for limit in limits if limit <= 1.5 * peak)]) * 1.06 or 1.0


def sun_strip(plan: DayPlan, benches: tuple[BenchDay, ...], *, height: float, top_umol: float) -> Markup:
    """Sun over the day at a house's benches: filled up to the brightest, with a line at the dimmest."""
    axis = Axis(plan)
    sun = np.stack([b.series.sun_ppfd[: axis.steps] for b in benches])
    parts = [
        box(0, 0, WIDTH, height, fill="#ffffff"),
        *_dark(axis, sun.max(axis=0), height),
        *axis.hour_lines(height),
    ]
    brightest, dimmest = sun.max(axis=0), sun.min(axis=0)
    outline = _outline(brightest, axis, height=height, top_umol=top_umol)
    if outline:
        parts.append(path(outline, fill=SUN, stroke=INK))
    if not np.allclose(brightest, dimmest):
        lower = _outline(dimmest, axis, height=height, top_umol=top_umol)
        if lower:
            parts.append(path(lower, fill="none", stroke=INK))
    bare = np.stack([b.series.sun_ppfd_open[: axis.steps] for b in benches]).max(axis=0)
    if not np.allclose(bare, brightest):
        undrawn = _outline(bare, axis, height=height, top_umol=top_umol)
        parts.append(path(undrawn, fill="none", stroke=INK, dash="1 2"))
    limits = [b.limits.ppfd_umol_m2_s for b in benches if b.limits and b.limits.ppfd_umol_m2_s]
    if limits and min(limits) <= top_umol:
        y = height - min(limits) / top_umol * height
        parts.append(line(0, y, WIDTH, y, width=1.2, dash="5 3"))
    parts += [*axis.crew_lines(height), line(0, height, WIDTH, height, width=0.7)]
    return svg(WIDTH, height, parts, "sun at the benches over the day")


def limit_drawn(plan: DayPlan) -> bool:
    """Whether the light comes near enough to a limit for it to stand in a strip."""
    top = strip_top(plan)
    return any(b.limits and b.limits.ppfd_umol_m2_s and b.limits.ppfd_umol_m2_s <= top for b in plan.benches)


def lane(plan: DayPlan, benches: tuple[BenchDay, ...]) -> Markup:
    """Lamps as solid bars, covers as hatch, dark filled, over the same day.

    benches : ones with the same lamp and cover times.
    """
    axis = Axis(plan)
    light = np.stack([(b.series.sun_ppfd + b.series.lamp_ppfd)[: axis.steps] for b in benches])
    parts = [*_dark(axis, light.max(axis=0), LANE_HEIGHT), *axis.hour_lines(LANE_HEIGHT)]
    parts.append(line(0, LANE_HEIGHT / 2, WIDTH, LANE_HEIGHT / 2, width=0.4, stroke=RULE))
    end_of_day = day_start(plan.day + timedelta(days=1), plan.site.timezone)
    for cover in benches[0].covers:
        start, end = axis.x(cover.on), axis.x(cover.off or end_of_day)
        if end > start:
            parts.append(hatch(start, 0.5, end - start, LANE_HEIGHT - 1))
    for on, off in benches[0].lamps.earlier + benches[0].lamps.intervals:
        start, end = axis.x(on), axis.x(off)
        if end > start:
            parts.append(box(start, 2, end - start, LANE_HEIGHT - 4, fill=INK))
    parts += axis.crew_lines(LANE_HEIGHT)
    return svg(WIDTH, LANE_HEIGHT, parts, "lamps and covers over the day")


def _dark(axis: Axis, light_umol: NDArray[np.float64], height: float) -> list[str]:
    """Stretches without light, filled."""
    dark = np.concatenate([[False], light_umol < DARK_BELOW_UMOL, [False]])
    edges = np.flatnonzero(np.diff(dark.astype(np.int8)))
    width = WIDTH / axis.steps
    return [
        box(float(a) * width, 0, float(b - a) * width, height, fill=DARK)
        for a, b in zip(edges[::2], edges[1::2], strict=True)
    ]


def _outline(
    ppfd: NDArray[np.float64], axis: Axis, *, height: float, top_umol: float
) -> list[tuple[float, float]]:
    """Points of a curve over the lit part of the day, closed on the ground line; [] in the dark."""
    lit = np.flatnonzero(ppfd > 0)
    if not len(lit):
        return []
    width = WIDTH / axis.steps
    first, last = int(lit[0]), int(lit[-1])
    middle = [
        ((k + 0.5) * width, height - min(float(ppfd[k]) / top_umol, 1.0) * height)
        for k in range(first, last + 1)
    ]
    return [(first * width, height), *middle, ((last + 1) * width, height)]
