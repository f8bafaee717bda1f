"""Lamp light that falls beside the bench it is meant for."""

from __future__ import annotations

import math

from lightplan.site.models import Bench, Lamps

# Lamps hang so far over the trays where no tent holds them lower [m]; judgement
ABOVE_M = 1.5


def spill_ppfd(source: Bench, beside: Bench) -> float | None:
    """Light that a bench's lamps throw on another in the same house; None where a place is not known.

    Lamps are taken as one small plane lamp over the middle of their bench that shines by the cosine law, and
    all of whose light falls on the bench: E(r) = ppfd · area / (π h²) · (1 + (r/h)²)⁻² beside it (the inverse
    square and cosine laws, any optics textbook). Deep reflectors make it less; white walls and lamps that
    throw sideways more, so it is a rule of thumb. r is taken to the nearest edge of the other bench.
    """
    if source.lamps is None or source.place is None or beside.place is None:
        return None
    return ppfd_at(source, source.lamps, _gap_m(source, beside))


def ppfd_at(source: Bench, lamps: Lamps, away_m: float) -> float:
    """Light so far from the middle of the lit bench [µmol m⁻² s⁻¹], at most the bench's own."""
    h = source.tent_height_m if lamps.place == "in-tent" else ABOVE_M
    straight = lamps.ppfd_now_umol_m2_s * source.area_m2 / (math.pi * h * h)
    return min(straight / (1 + (away_m / h) ** 2) ** 2, lamps.ppfd_now_umol_m2_s)


def reach_m(source: Bench, lamps: Lamps, ppfd: float) -> float:
    """Distance from the middle of a lit bench at which its light has fallen to `ppfd` [m]."""
    h = source.tent_height_m if lamps.place == "in-tent" else ABOVE_M
    straight = lamps.ppfd_now_umol_m2_s * source.area_m2 / (math.pi * h * h)
    return h * math.sqrt(max(math.sqrt(straight / ppfd) - 1.0, 0.0)) if ppfd > 0 else math.inf


def _gap_m(source: Bench, beside: Bench) -> float:
    """From the middle of one bench to the nearest edge of another."""
    assert source.place is not None and beside.place is not None
    gaps = []
    for mine, theirs in (
        (source.place.across_m, beside.place.across_m),
        (source.place.along_m, beside.place.along_m),
    ):
        middle = (mine[0] + mine[1]) / 2
        gaps.append(max(theirs[0] - middle, middle - theirs[1], 0.0))
    return math.hypot(*gaps)
