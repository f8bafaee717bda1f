"""Lengths, areas and temperatures in either of two units: `width_m` or `width_ft`.

Inside, everything is metric; a table's field carries its quantity, and from it follow the other
key's name, the conversion and the unit in words.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

METRES_PER_FOOT = 0.3048  # exact, international foot, NIST SP 811 (2008) appendix B.8
KELVIN_PER_F = 5 / 9  # exact, NIST SP 811 (2008) appendix B.8


@dataclass(frozen=True)
class Quantity:
    """One kind of measure with its metric and its US customary form."""

    metric_suffix: str
    us_suffix: str
    metric_unit: str
    us_unit: str
    to_metric: Callable[[float], float]
    to_us: Callable[[float], float]

    def us_key(self, metric_key: str) -> str:
        """`width_m` → `width_ft`; a key without suffix (`section`) gets one."""
        return metric_key.removesuffix(self.metric_suffix) + self.us_suffix


LENGTH = Quantity("_m", "_ft", "m", "ft", lambda ft: ft * METRES_PER_FOOT, lambda m: m / METRES_PER_FOOT)
AREA = Quantity(
    "_m2", "_ft2", "m²", "ft²", lambda ft2: ft2 * METRES_PER_FOOT**2, lambda m2: m2 / METRES_PER_FOOT**2
)
TEMPERATURE = Quantity(
    "_c", "_f", "°C", "°F", lambda f: (f - 32) * KELVIN_PER_F, lambda c: c / KELVIN_PER_F + 32
)


@dataclass(frozen=True)
class Unit:
    """The unit of a field that has one form only."""

    name: str


FIGURES = 4  # significant figures: a tape measure shows no more


def figure(value: float) -> str:
    """A measure in words: four figures, never with an exponent."""
    return f"{value:.{FIGURES}g}" if abs(value) < 10**FIGURES else f"{value:.0f}"


def converted(value: object, convert: Callable[[float], float]) -> object:
    """`value` with every number in it converted; anything else is left for the schema to refuse."""
    if isinstance(value, bool):
        return value
    if isinstance(value, int | float):
        try:
            return convert(float(value))
        except OverflowError:
            return value
    if isinstance(value, list):
        return [converted(item, convert) for item in value]
    return value
