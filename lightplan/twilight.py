"""Nights as plants see them: when the sun's centre passes a height at dusk and at the next dawn.

Worked out for many dates at once, so that a year of nights costs little more than one.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from lightplan.clock import at_local
from lightplan.site.models import Site
from lightplan.sun import position, solar_noon

Array = NDArray[np.float64]

STEPS_TO_ROOT = 12  # the most; seven bring most nights to a tenth of a second
CLOSE_DEG = 1e-4  # of the sun's height: a thirtieth of a second at mid-latitudes
NOON_MIN = 12 * 60
NOON_EVERY = 10  # days


@dataclass(frozen=True)
class Nights:
    """The night that follows each date, arrays (dates,) of UTC seconds.

    noon_s, next_noon_s : the clock's noon before and after it. dark_s, light_s : the sun's centre sinks below
    the height and comes up to it again. Where it never sinks both are the same instant (no dark); where it
    never comes up they are the solar noons on either side (all dark).
    """

    dates: tuple[date, ...]
    angle_deg: float
    noon_s: Array
    next_noon_s: Array
    dark_s: Array
    light_s: Array

    def spans(self) -> tuple[tuple[float, float], ...]:
        """The dark stretches, those without length left out."""
        pairs = zip(self.dark_s, self.light_s, strict=True)
        return tuple((float(a), float(b)) for a, b in pairs if b > a)


def nights(
    site: Site, dates: Sequence[date], angle_deg: float, *, noons: tuple[Array, Array] | None = None
) -> Nights:
    """The nights after some dates. angle_deg : true height of the sun's centre that parts day and night.

    noons : `solar_noons` of the same dates, where they are known already.
    The sun's height rises and falls once between solar noon and solar midnight, so each root is found by
    halving; where a height is only touched, within some minutes of polar day or night, it may be missed.
    """
    noon = np.array([at_local(day, NOON_MIN, site.timezone).timestamp() for day in dates])
    after = np.array([at_local(day, NOON_MIN + 1440, site.timezone).timestamp() for day in dates])
    high, high_after = solar_noons(site, dates) if noons is None else noons
    low = (high + high_after) / 2

    def height(at: Array) -> Array:
        return position(site, at)[1] - angle_deg

    at_noon, at_midnight, at_next = np.split(height(np.concatenate([high, low, high_after])), 3)
    roots = _roots(
        height,
        np.concatenate([high, high_after]),
        np.concatenate([low, low]),
        np.concatenate([at_noon, at_next]),
        np.concatenate([at_midnight, at_midnight]),
    )
    dusk, dawn = np.split(roots, 2)
    down = at_midnight < 0
    dusk = np.where((at_noon > 0) & down, dusk, np.where(down, high, low))
    dawn = np.where((at_next > 0) & down, dawn, np.where(down, high_after, low))
    return Nights(tuple(dates), angle_deg, noon, after, dusk, dawn)


def _roots(height: Callable[[Array], Array], lit: Array, dark: Array, at_lit: Array, at_dark: Array) -> Array:
    """Where the height passes nil between an instant above it and one below, by the secant whose end that
    stays is halved (Illinois; Dowell & Jarratt 1971, BIT 11:168), all at once.

    Where the two ends lie on one side the figure means nothing.
    """
    lit, dark, at_lit, at_dark = lit.copy(), dark.copy(), at_lit.copy(), at_dark.copy()
    kept_lit, kept_dark = np.zeros(len(lit), dtype=bool), np.zeros(len(lit), dtype=bool)
    middle = (lit + dark) / 2
    for _ in range(STEPS_TO_ROOT):
        span = at_lit - at_dark
        share = np.divide(at_lit, span, out=np.full(len(lit), 0.5), where=span > 0)
        middle = lit + np.clip(share, 0.0, 1.0) * (dark - lit)
        now = height(middle)
        above = now > 0
        if float(np.abs(now).max(initial=0.0)) < CLOSE_DEG:
            break
        at_dark = np.where(above & kept_dark, at_dark / 2, at_dark)
        at_lit = np.where(~above & kept_lit, at_lit / 2, at_lit)
        lit, at_lit = np.where(above, middle, lit), np.where(above, now, at_lit)
        dark, at_dark = np.where(above, dark, middle), np.where(above, at_dark, now)
        kept_lit, kept_dark = ~above, above
    return middle


def solar_noons(site: Site, dates: Sequence[date]) -> tuple[Array, Array]:
    """Of each date and the next, UTC seconds. Found on every tenth day and drawn straight between: it wanders
    by half a minute a day at most.
    """
    if not len(dates):
        return np.zeros(0), np.zeros(0)
    days = np.array([(day - dates[0]).days for day in dates], dtype=float)
    last = int(days.max()) + 1
    known = np.array(sorted({*range(0, last, NOON_EVERY), last}), dtype=float)
    found = [solar_noon(site, dates[0] + timedelta(days=n)).timestamp() - 86400.0 * n for n in known.tolist()]
    now, after = (np.interp(at, known, found) + 86400.0 * at for at in (days, days + 1))
    return now, after
