"""The plans that the page is tried with: good and bad days, few and many benches, odd calendars."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

from lightplan.dayplan import DayPlan
from lightplan.weather.table import Kind
from tests.report.learned import with_learned
from tests.report.plans import day_plan, with_everything
from tests.report.sites import EAST_ANGLIA, FAR_NORTH, FAR_SOUTH, HALF_HOUR_ZONE, house, range_of, site

WINTER, SPRING, SUMMER = date(2026, 1, 10), date(2026, 4, 21), date(2026, 7, 15)
POLAR_NIGHT, POLAR_DAY = date(2026, 12, 21), date(2026, 6, 21)
FORWARD, BACK, LEAP = date(2026, 3, 8), date(2026, 11, 1), date(2028, 2, 29)
YESTERDAYS = "No answer from open-meteo since 04:00; its forecast of yesterday 17:00 is used, 12 h old."

SAMPLES: dict[str, Callable[[], DayPlan]] = {
    "dull": lambda: day_plan(range_of(8, WINTER), WINTER, clearness=0.3),
    "good": lambda: day_plan(range_of(8, SPRING), SPRING, clearness=0.7, usual=40.0),
    "midsummer": lambda: day_plan(
        range_of(6, SUMMER, **EAST_ANGLIA),
        SUMMER,
        clearness=0.75,
        usual=38.0,
        kind=Kind.TYPICAL_YEAR,
    ),
    "far-south": lambda: day_plan(range_of(5, SUMMER, **FAR_SOUTH), SUMMER, clearness=0.4, usual=8.0),
    "one-bench": lambda: day_plan(range_of(1, WINTER, foot_candles=True), WINTER, clearness=0.5),
    "thirty": lambda: day_plan(range_of(30, WINTER), WINTER, clearness=0.35, fallback=YESTERDAYS),
    "polar-night": lambda: day_plan(range_of(3, POLAR_NIGHT, **FAR_NORTH), POLAR_NIGHT, usual=0.0),
    "polar-day": lambda: day_plan(range_of(3, POLAR_DAY, **FAR_NORTH), POLAR_DAY, usual=45.0),
    "clocks-forward": lambda: day_plan(
        range_of(3, FORWARD), FORWARD, clearness=0.4, cautions=("timer-clock",)
    ),
    "clocks-back": lambda: day_plan(range_of(3, BACK), BACK, clearness=0.4, cautions=("timer-clock",)),
    "leap-day": lambda: day_plan(range_of(2, LEAP), LEAP, clearness=0.5),
    "half-hour-zone": lambda: day_plan(range_of(4, WINTER, **HALF_HOUR_ZONE), WINTER, usual=32.0),
    "nobody-comes": lambda: day_plan(
        range_of(3, WINTER, days_off=frozenset({WINTER})),
        WINTER,
        kind=Kind.CLEAR_SKY,
    ),
    "everything": lambda: with_everything(SAMPLES["dull"]()),
    "learned": lambda: with_learned(SAMPLES["good"]()),
    "no-benches": lambda: day_plan(site((house(0, "Glasshouse"),), ()), WINTER, usual=None, cautions=()),
}
