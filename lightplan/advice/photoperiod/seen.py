"""The day that plants see: all light but the longest unbroken dark.

Instants are UTC seconds, so that days of 23 and 25 hours need no care.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

Mask = NDArray[np.bool_]
Spans = tuple[tuple[float, float], ...]

# Height of the sun's centre above which plants see day, and for short-day crops, which are kept on the safe
# side (the design's own; −6° is the end of civil twilight: photoperiod_rules civil_twilight_angle, memory).
# −4° gives 43 N the 35 to 40 min beyond sunrise to sunset of twilight_add (runkle_heins_daylength, page).
DAY_SEEN_DEG = -4.0
DAY_SEEN_SHORT_DAY_DEG = -6.0
# Least light that counts: photoperiod_rules.csv perception_threshold, 0.02 to 0.1 (memory); the design's own
LIGHT_SEEN_PPFD = 0.1
DAY_H = 24.0


def joined(spans: Iterable[tuple[float, float]]) -> Spans:
    """The same stretches, those that touch or overlap made one."""
    found: list[tuple[float, float]] = []
    for start, end in sorted(span for span in spans if span[1] > span[0]):
        if found and start <= found[-1][1]:
            found[-1] = (found[-1][0], max(found[-1][1], end))
        else:
            found.append((start, end))
    return tuple(found)


def without(spans: Iterable[tuple[float, float]], taken: Iterable[tuple[float, float]]) -> Spans:
    """What of the stretches lies outside those taken."""
    left = list(joined(spans))
    for start, end in joined(taken):
        left = [
            piece for a, b in left for piece in ((a, min(b, start)), (max(a, end), b)) if piece[1] > piece[0]
        ]
    return tuple(left)


def longest_dark(dark: Spans, start: float, end: float) -> tuple[float, float]:
    """The longest of the dark stretches between two instants; (start, start) without any."""
    cut = [(max(a, start), min(b, end)) for a, b in joined(dark)]
    return max((span for span in cut if span[1] > span[0]), key=lambda s: s[1] - s[0], default=(start, start))


def seen_dark(night: Spans, *, covered: Spans, lit: Spans, lit_under_cover: Spans = ()) -> Spans:
    """Stretches that are dark to the plants.

    night : the sun is down. covered : a dark cover lies. lit : lamps or stray light above a cover.
    lit_under_cover : lamps between it and the plants.
    """
    return without((*without(night, lit), *covered), lit_under_cover)


def photoperiod_h(dark: Spans, start: float, end: float) -> float:
    """Hours of day that plants see between two instants a day apart: 24 less the longest unbroken dark."""
    a, b = longest_dark(dark, start, end)
    return min(max(DAY_H - (b - a) / 3600, 0.0), DAY_H)


def spans_of(mask: Mask, first_s: float, step_s: float) -> Spans:
    """Stretches of a mask over steps, the first of which begins at `first_s`."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], mask, [False]]).astype(np.int8)))
    return tuple(
        (first_s + float(a) * step_s, first_s + float(b) * step_s)
        for a, b in zip(edges[::2], edges[1::2], strict=True)
    )


def share_dark(dark: Spans, first_s: float, step_s: float, steps: int) -> NDArray[np.float64]:
    """(steps,) share of each step that is dark."""
    edge = first_s + step_s * np.arange(steps + 1)
    found = np.zeros(steps)
    for a, b in joined(dark):
        found += np.clip(np.minimum(b, edge[1:]) - np.maximum(a, edge[:-1]), 0.0, None) / step_s
    return np.minimum(found, 1.0)
