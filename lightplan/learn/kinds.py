"""The readings that are kept, one record each; values in SI beside what was typed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

KINDS = ("light", "lamps", "temperature", "germination", "done", "washed", "log")


@dataclass(frozen=True)
class LightReading:
    """Daylight at a bench or in a house. outside_umol None: the sky was clear.

    spots : places averaged. under : cover drawn over the bench. tent : "closed", "open" or None (no tent).
    sd : of the logarithm of the meter's conversion, shared by all readings of `meter`.
    """

    number: int
    at: datetime
    house: str
    bench: str | None
    inside_umol: float
    outside_umol: float | None
    spots: int
    meter: str
    sd: float
    under: str | None = None
    tent: str | None = None


@dataclass(frozen=True)
class LampReading:
    number: int
    at: datetime
    bench: str
    umol: float
    spots: int
    meter: str
    sd: float


@dataclass(frozen=True)
class TemperatureReading:
    """Lowest and highest air of a house on a date, where read."""

    number: int
    day: date
    house: str
    min_c: float | None
    max_c: float | None


@dataclass(frozen=True)
class Washed:
    number: int
    day: date
    house: str


@dataclass(frozen=True)
class Done:
    """What became of an order. done False: it was not carried out.

    action, house, bench : of the order on the sheet that was in hand; action None where that was not kept.
    """

    number: int
    day: date
    order: int
    done: bool
    at: datetime | None
    action: str | None = None
    house: str | None = None
    bench: str | None = None
