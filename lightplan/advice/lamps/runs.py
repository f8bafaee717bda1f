"""Runs of lit steps."""

from __future__ import annotations

import numpy as np

from lightplan.advice.lamps.task import Interval, Mask
from lightplan.clock import Grid

Run = tuple[int, int]  # first step, first step after it


def runs(on: Mask, start: int = 0, stop: int | None = None) -> tuple[Run, ...]:
    """Unbroken runs of true steps within [start, stop)."""
    inside = np.asarray(on[start:stop], dtype=np.int8)
    edges = np.flatnonzero(np.diff(inside, prepend=np.int8(0), append=np.int8(0))) + start
    return tuple((int(a), int(b)) for a, b in zip(edges[::2], edges[1::2], strict=True))


def intervals(on: Mask, grid: Grid, start: int = 0, stop: int | None = None) -> tuple[Interval, ...]:
    """The same as local instants."""
    return tuple((grid.moment(a), grid.moment(b)) for a, b in runs(on, start, stop))
