"""The answers of `lightplan start`, and how each kind of answer is read."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from lightplan.problems import InputError
from lightplan.site.quantities import Quantity
from lightplan.site.time_zones import us_customary

Given = Mapping[str, object]  # the answers so far, by key

NUMBER = re.compile(r"([+-]?\d+(?:[.,]\d*)?)\s*°?\s*(\S*)")
SOUTH_OR_WEST = frozenset({"s", "w"})
HEMISPHERES = frozenset({"n", "e", "s", "w", ""})


def zone_at(latitude: float, longitude: float) -> str:
    """IANA name of the time zone at a place (degrees north and east), from the shapes that tzfpy carries."""
    from tzfpy import get_tz  # reads its shapes when imported

    return get_tz(longitude, latitude)


def in_us_units(given: Given) -> bool:
    """Whether a place measures in feet, once its coordinates are known."""
    latitude, longitude = given.get("latitude"), given.get("longitude")
    if not isinstance(latitude, float) or not isinstance(longitude, float):
        return False
    return us_customary(zone_at(latitude, longitude))


def words(text: str, given: Given) -> str:
    if not text.strip():
        raise InputError("Give a word or two.")
    return " ".join(text.split())


def number(text: str, given: Given) -> float:
    return _number(text)[0]


def degrees(text: str, given: Given) -> float:
    """`36.1`, `36.1 N`, `-79.95` or `79.95 W`."""
    value, letter = _number(text)
    if letter.lower() not in HEMISPHERES:
        raise InputError(f"{text} is not read as degrees; write them like 36.1 or 79.95 W.")
    return -value if letter.lower() in SOUTH_OR_WEST else value


def whole(text: str, given: Given) -> int:
    value = _number(text)[0]
    if value != int(value):
        raise InputError(f"{text} is not a whole number.")
    return int(value)


def measure(quantity: Quantity) -> Callable[[str, Given], float]:
    """A reader of lengths or areas → metric: in the place's own units unless the answer names one."""

    def read(text: str, given: Given) -> float:
        value, unit = _number(text)
        unit = unit.replace("2", "²") or (quantity.us_unit if in_us_units(given) else quantity.metric_unit)
        if unit not in (quantity.us_unit, quantity.metric_unit):
            raise InputError(f"{text}: give {quantity.metric_unit} or {quantity.us_unit}.")
        return quantity.to_metric(value) if unit == quantity.us_unit else value

    return read


def _number(text: str) -> tuple[float, str]:
    found = NUMBER.fullmatch(text.strip())
    if found is None:
        raise InputError(f"{text or 'Nothing'} is not a number.")
    return float(found[1].replace(",", ".")), found[2]


@dataclass(frozen=True)
class Answers:
    """What a fresh site file is made of, metric; one house and one bench."""

    name: str
    latitude: float
    longitude: float
    house: str
    shape: str
    width_m: float
    length_m: float
    eave_m: float
    ridge_azimuth_deg: float
    glazing: str
    bench: str
    area_m2: float
    ridge_m: float | None = None
    spans: int | None = None
    faces_deg: float | None = None
    lamp_ppfd: float = 0.0
    lamp_power_kw: float | None = None
    timezone: str | None = None  # None: found from the place
