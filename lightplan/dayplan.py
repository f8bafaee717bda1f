"""What a morning comes to: the records that `plan.plan_day` returns and `report` turns into pages and JSON.

Numbers and reasons only; words are made in `report`. Light in mol and µmol, times as local instants.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from enum import Enum

import numpy as np
from numpy.typing import NDArray

from lightplan.clock import Grid, Window
from lightplan.crops.day_length import DayAim
from lightplan.crops.limits import Limits
from lightplan.crops.needs import Needs
from lightplan.learn.calibration import Calibration
from lightplan.learn.score import DayScore
from lightplan.records_laid import Laid
from lightplan.site.models import Batch, Bench, House, Site
from lightplan.sky import SunTimes
from lightplan.weather.table import Weather

Interval = tuple[datetime, datetime]


class Action(Enum):
    LAMPS_ON = "lamps-on"
    LAMPS_OFF = "lamps-off"
    LEAVE_ON = "leave-on"
    LEAVE_OFF = "leave-off"
    SET_TIMER = "set-timer"
    OPEN_TENT = "open-tent"
    CLOSE_TENT = "close-tent"
    VENT = "vent"
    COVER = "cover"
    UNCOVER = "uncover"
    CHECK_EMERGENCE = "check-emergence"
    CHECK_WATER = "check-water"
    MOVE = "move"
    MEASURE = "measure"
    LEAVE_ALONE = "leave-alone"


class Certainty(Enum):
    SURE = "sure"
    LIKELY = "likely"
    STAND_BY = "stand-by"


@dataclass(frozen=True)
class Reason:
    """Why: the rule's name, the value that met it and the limit it met, with their unit.

    day : another day than the sheet's that the reason speaks of.
    """

    rule: str
    value: float | None = None
    limit: float | None = None
    unit: str | None = None
    day: date | None = None


@dataclass(frozen=True)
class Sign:
    """What to look for before an order that hangs on the sky: sun at the bench by then, and the meter there
    above so much [µmol m⁻² s⁻¹]."""

    by: datetime
    ppfd_umol_m2_s: float


@dataclass(frozen=True)
class Order:
    """One instruction. `intervals` holds the lamp times that a timer order sets, as local instants.

    lit_now : the bench's lamps burn when the window begins. as_set : the timer runs these clock times
        already, by the record of an earlier sheet.
    """

    number: int
    time: datetime
    until: datetime | None
    house: str
    bench: str | None
    action: Action
    why: Reason
    certainty: Certainty
    odds: float | None
    intervals: tuple[Interval, ...] = ()
    subject: str | None = None  # the cover's name, the crop to look at, ...
    lit_now: bool = False
    as_set: bool = False
    sign: Sign | None = None


@dataclass(frozen=True)
class Note:
    """Something to know about a bench: a slug that `report` has words for, and the values in it."""

    slug: str
    values: tuple[tuple[str, object], ...] = ()


@dataclass(frozen=True)
class Dli:
    """The bench's civil day [mol m⁻² d⁻¹], past hours included; None where it does not apply."""

    sun_open: float  # tent closed, nothing drawn
    sun: float  # as ordered
    lamps: float
    total: float
    low: float  # 10 % point of total
    high: float  # 90 % point of total
    minimum: float | None
    target: float | None
    limit: float | None


@dataclass(frozen=True)
class LampDay:
    earlier: tuple[Interval, ...]  # set before this window, inside the sheet's civil day
    intervals: tuple[Interval, ...]  # inside the window
    hours: float
    mol: float
    kwh: float
    cost: float | None


@dataclass(frozen=True)
class CoverTime:
    cover: str
    on: datetime
    off: datetime | None
    reason: Reason
    odds: float | None


@dataclass(frozen=True)
class Temperature:
    where: str  # "medium" | "leaf" | "air"
    peak_open: float
    peak_after: float
    low: float
    high: float
    at: datetime


@dataclass(frozen=True)
class BatchDay:
    batch: Batch
    governs: bool


@dataclass(frozen=True)
class Series:
    """Per working step, from the sheet's midnight on."""

    sun_ppfd_open: NDArray[np.float64]
    sun_ppfd: NDArray[np.float64]
    lamp_ppfd: NDArray[np.float64]
    temperature_c: NDArray[np.float64] | None


@dataclass(frozen=True)
class BenchDay:
    bench: Bench
    batches: tuple[BatchDay, ...]  # those on the bench that day; empty = nothing there
    needs: Needs | None
    limits: Limits | None
    transmission: float | None
    dli: Dli
    account_before: float | None
    account_after: float | None
    light_hours: float | None  # hours of lamp_hours with light enough for the seed
    peak_ppfd_open: float
    peak_ppfd_after: float
    photoperiod_h: float | None  # 24 less the longest unbroken dark from noon to noon, as ordered
    lamps: LampDay
    covers: tuple[CoverTime, ...]
    temperature: Temperature | None
    notes: tuple[Note, ...]
    series: Series
    day_aim: DayAim | None = None  # what is wanted of the day's length


@dataclass(frozen=True)
class HouseDay:
    house: House
    temperature_min_c: float | None
    temperature_max_c: float | None


@dataclass(frozen=True)
class Outdoor:
    dli: float
    dli_low: float
    dli_high: float
    peak_ppfd: float


@dataclass(frozen=True)
class DayAhead:
    """One line of the week."""

    day: date
    outdoor: Outdoor
    sun_at_benches: tuple[tuple[str, float], ...]  # bench id, sun DLI


@dataclass(frozen=True)
class LampsTogether:
    """All lamps of the site.

    power_kw : (steps,) drawn by all of them; most_kw : what they may draw, None = no bound known.
    peak_cost : what the window's highest power adds to the month's peak charge, None without prices.
    solver_gap, short_gap : as in `LampPlan`.
    needed_first : benches that miss the day's minimum on a poor day without their lamps, by how much [mol].
    """

    power_kw: NDArray[np.float64]
    most_kw: float | None
    peak_cost: float | None
    solver_gap: float
    needed_first: tuple[tuple[str, float], ...]
    short_gap: float = 0.0


@dataclass(frozen=True)
class MeterTime:
    """The day's best half hour for the meter, and the house that most needs it."""

    start: datetime
    end: datetime
    house: House


@dataclass(frozen=True)
class Dimmed:
    """A house that has surely gone dim: share of its light lost since it was clean, with its 90 % interval.

    at_once : since when, where it went all at once.
    """

    house: House
    lost: float
    low: float
    high: float
    at_once: date | None


@dataclass(frozen=True)
class Learned:
    """What the site's records say beside the plan. calibration : in use. yesterday : how its sheet did.

    stretch : how many times as wide as assumed the site's own past makes the range of its light.
    cloud_light : the factor put on light that was worked out from cloud.
    """

    calibration: Calibration | None = None
    yesterday: DayScore | None = None
    dimmed: tuple[Dimmed, ...] = ()
    stretch: float = 1.0
    cloud_light: float = 1.0


@dataclass(frozen=True)
class DayPlan:
    site: Site
    day: date
    generated_at: datetime
    grid: Grid
    window: Window | None
    weather: Weather
    weather_age_h: float | None
    sun: SunTimes
    outdoor: Outdoor
    houses: tuple[HouseDay, ...]
    benches: tuple[BenchDay, ...]
    orders: tuple[Order, ...]
    cautions: tuple[str, ...]  # slugs that `report` has words for
    week: tuple[DayAhead, ...]
    lamps_together: LampsTogether | None = None
    laid: Mapping[str, tuple[Laid, ...]] = field(default_factory=dict)  # by bench, for the records
    meter: MeterTime | None = None
    learned: Learned = Learned()

    @property
    def is_over(self) -> bool:
        """Whether the sun of its day has set before anything can be done."""
        return (
            self.window is not None
            and self.sun.sunset is not None
            and self.window.start.timestamp() >= self.sun.sunset.timestamp()
        )
