"""Figures as the sheet writes them: the site's units, rounding, clock times. SI goes in, words come out."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import cache

from lightplan.site.models import Site
from lightplan.tables import read_table

MINUS = "−"  # U+2212: as wide as a figure, and never taken for a hyphen
KELVIN_TO_F = 9 / 5
HOTTEST_TOLD_C = 60.0  # past it the heat model's own figures mean nothing but "far too hot"; judgement


@cache
def sun_ppfd_per_foot_candle() -> float:
    """PPFD of one foot-candle of sunlight [µmol m⁻² s⁻¹], from `lamps.csv` (Thimijan & Heins 1983)."""
    row = next(r for r in read_table("lamps") if r["lamp"] == "sunlight")
    return float(row["umol_m2_s_per_foot_candle"])


def figure(value: float, digits: int = 0) -> str:
    """A rounded number with thousands commas; never "−0"."""
    rounded = round(value, digits)
    text = f"{abs(rounded):,.{digits}f}"
    return MINUS + text if rounded < 0 else text


def short(value: float, digits: int = 1) -> str:
    """A rounded number without a trailing ".0": 10, not 10.0."""
    text = figure(value, digits)
    return text.rstrip("0").rstrip(".") if "." in text else text


def hours(value: float) -> str:
    """Hours as `9 h 56 min`."""
    minutes = round(value * 60)
    whole, rest = divmod(minutes, 60)
    if not rest:
        return f"{whole} h"
    return f"{whole} h {rest} min" if whole else f"{rest} min"


@dataclass(frozen=True)
class Units:
    """How one site wants its figures."""

    us: bool
    foot_candles: bool

    def mol(self, value: float) -> str:
        return f"{short(value)} mol"

    def ppfd(self, value: float) -> str:
        """PPFD of sunlight, with foot-candles beside it where the site asks."""
        text = f"{figure(value)} μmol"
        return f"{text} ({self.fc(value)} fc)" if self.foot_candles else text

    def fc(self, value: float) -> str:
        """Foot-candles of sunlight, to the ten: a hand-held meter shows no more."""
        return figure(round(value / sun_ppfd_per_foot_candle(), -1))

    def temperature(self, celsius: float) -> str:
        return f"{self.degrees(celsius)} {self.degree}"

    def degrees(self, celsius: float) -> str:
        """The figure alone, for columns whose heading holds the unit."""
        return figure(celsius * KELVIN_TO_F + 32) if self.us else figure(celsius)

    def peak(self, celsius: float) -> str:
        """A modelled peak without its unit: the figure, or that it lies past where the model holds."""
        hot = celsius > HOTTEST_TOLD_C
        return f"over {self.degrees(HOTTEST_TOLD_C)}" if hot else self.degrees(celsius)

    @property
    def degree(self) -> str:
        return "°F" if self.us else "°C"


def units_of(site: Site) -> Units:
    return Units(us=site.us_units, foot_candles=site.foot_candles)


# not strftime: the machine's locale must not change the sheet
WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
MONTHS = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)


def weekday(day: date) -> str:
    return WEEKDAYS[day.weekday()]


def day_month(day: date) -> str:
    return f"{day.day} {MONTHS[day.month - 1]}"


def short_day(day: date) -> str:
    """`Sat 10 Jan`."""
    return f"{weekday(day)[:3]} {day.day} {MONTHS[day.month - 1][:3]}"


def clock(moment: datetime, site: Site, day: date, *, ends: bool = False) -> str:
    """The wall clock as `06:30`; another date adds its weekday, an hour that comes twice its zone.

    ends : the moment ends something, so that the coming midnight is 24:00 of `day`.
    """
    local = moment.astimezone(site.timezone)
    text = f"{local:%H:%M}"
    if local.replace(fold=0).utcoffset() != local.replace(fold=1).utcoffset():
        text += f" {local:%Z}"
    if ends and text == "00:00" and local.date() == day + timedelta(days=1):
        return "24:00"
    return text if local.date() == day else f"{text} {weekday(local.date())[:3]}"


def span(interval: tuple[datetime, datetime], site: Site, day: date) -> str:
    """`05:00–08:00`; on another date `Sun 05:00–08:00`, running into one `21:00–06:30 Sun`."""
    starts_on = interval[0].astimezone(site.timezone).date()
    words = f"{clock(interval[0], site, starts_on)}–{clock(interval[1], site, starts_on, ends=True)}"
    return words if starts_on == day else f"{weekday(starts_on)[:3]} {words}"


def dial_time(minutes: int) -> str:
    """Minutes after midnight as `06:30`; 1440 is 24:00."""
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


def joined(intervals: Iterable[tuple[datetime, datetime]]) -> tuple[tuple[datetime, datetime], ...]:
    """Intervals in order, those that touch made one."""
    found: list[tuple[datetime, datetime]] = []
    for on, off in intervals:
        if found and found[-1][1].timestamp() == on.timestamp():
            found[-1] = (found[-1][0], off)
        else:
            found.append((on, off))
    return tuple(found)


def listing(items: list[str] | tuple[str, ...]) -> str:
    """`a, b and c`."""
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} and {items[-1]}"


def capital(text: str) -> str:
    return text[:1].upper() + text[1:]
