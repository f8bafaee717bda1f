"""From the ways in which services label time to means over hours labelled by their start, in UTC."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, datetime, timedelta
from itertools import pairwise

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from lightplan.weather.table import SourceFault

HOUR = pd.Timedelta(hours=1)
DRAWN_H = 3.0  # between two instants of an hourly series a line is drawn so far; more is a gap


def moments(stamps: object, offset_s: float = 0.0) -> pd.DatetimeIndex:
    """UTC instants from a list of ISO times or of Unix seconds.

    offset_s : what to take off ISO times that carry no offset of their own. Raises SourceFault where a stamp
    is no time, where one comes twice, or where they run backwards.
    """
    if not isinstance(stamps, list) or not stamps:
        raise SourceFault("sends no times")
    found = [_moment(stamp, offset_s) for stamp in stamps]
    for earlier, later in pairwise(found):
        if later == earlier:
            raise SourceFault(f"gives {later:%Y-%m-%d %H:%M} UTC twice")
        if later < earlier:
            raise SourceFault(f"gives its times out of order at {later:%Y-%m-%d %H:%M} UTC")
    return pd.DatetimeIndex(found)


def _moment(stamp: object, offset_s: float) -> datetime:
    try:
        if isinstance(stamp, (int, float)) and not isinstance(stamp, bool):
            return datetime.fromtimestamp(stamp, UTC)
        moment = datetime.fromisoformat(str(stamp))
    except (ValueError, OverflowError, OSError):
        raise SourceFault(f'gives "{str(stamp)[:40]}" as a time') from None
    if moment.tzinfo is None:
        return moment.replace(tzinfo=UTC) - timedelta(seconds=offset_s)
    return moment.astimezone(UTC)


def numbers(values: object, length: int, name: str) -> NDArray[np.float64]:
    """A list of numbers, null = unknown, of the length of its times. Raises SourceFault."""
    if not isinstance(values, list) or len(values) != length:
        raise SourceFault(f"gives {name} in another number than its times")
    if any(v is not None and (isinstance(v, bool) or not isinstance(v, (int, float))) for v in values):
        raise SourceFault(f"gives {name} that are no numbers")
    try:
        found = np.array([np.nan if v is None else float(v) for v in values])
    except OverflowError:
        raise SourceFault(f"gives {name} beyond all numbers") from None
    return np.where(np.isfinite(found), found, np.nan)


def in_unit(
    values: NDArray[np.float64], unit: object, known: Mapping[str, float], name: str
) -> NDArray[np.float64]:
    """Values times what their unit calls for; no unit given = the one that was asked. Raises SourceFault."""
    if unit is None:
        return values
    if unit not in known:
        raise SourceFault(f'gives {name} in "{str(unit)[:20]}", which was not asked for')
    return values * known[str(unit)]


def in_celsius(values: NDArray[np.float64], unit: object) -> NDArray[np.float64]:
    """Temperatures in °C from the spellings that services use. Raises SourceFault."""
    spelled = str(unit).replace("wmoUnit:", "").replace("unit:", "").replace("°", "").strip().lower()
    if unit is None or spelled in ("c", "degc", "celsius"):
        return values
    if spelled in ("f", "degf", "fahrenheit"):
        return (values - 32) / 1.8
    if spelled in ("k", "kelvin"):
        return values - 273.15
    raise SourceFault(f'gives temperature in "{str(unit)[:20]}", which was not asked for')


def step_of(index: pd.DatetimeIndex) -> pd.Timedelta:
    """The fixed step of an index that may have holes in it. Raises SourceFault."""
    if len(index) < 2:
        raise SourceFault("sends fewer than two hours")
    gaps = pd.Series(index).diff().dropna()
    step = pd.Timedelta(gaps.min())
    if step not in (HOUR, HOUR / 2, HOUR / 4) or ((gaps / step) % 1 != 0).any():
        raise SourceFault(f"gives times in steps of {step / HOUR:g} h")
    return step


def hours_of_instants(
    at: pd.DatetimeIndex, values: NDArray[np.float64], longest_h: NDArray[np.float64] | float = DRAWN_H
) -> pd.Series:
    """Hourly means of a quantity known at instants: straight lines between, the last holding for an hour.

    longest_h : the longest gap after an instant that a line is drawn across, for all or for each. Gives every
    whole hour from the first known instant on; nan in longer gaps.
    """
    there = np.isfinite(values)
    if not there.any():
        return pd.Series(dtype=float, index=pd.DatetimeIndex([], tz="UTC"))
    zero = at[there][0].floor("h")
    hour = np.asarray((at[there] - zero) / HOUR, dtype=float)
    hour, known = np.append(hour, hour[-1] + 1), np.append(values[there], values[there][-1])
    longest = np.append(np.broadcast_to(longest_h, len(at))[there], 1.0)
    ends = np.arange(np.ceil(hour[0]), np.floor(hour[-1]) + 1)
    line = np.interp(ends, hour, known)
    before = np.searchsorted(hour, ends[:-1], side="right") - 1
    near = np.diff(hour)[before.clip(max=len(hour) - 2)] <= longest[before]
    means = np.where(near, (line[:-1] + line[1:]) / 2, np.nan)
    return pd.Series(means, index=zero + ends[:-1] * HOUR)


def hours_of_intervals(spans: Iterable[tuple[datetime, datetime, float]]) -> pd.Series:
    """Hourly means of a quantity that holds over intervals of any length."""
    weighted: dict[pd.Timestamp, tuple[float, float]] = {}
    for start, end, value in spans:
        hour = pd.Timestamp(start).floor("h")
        while hour < end:
            part = (min(hour + HOUR, pd.Timestamp(end)) - max(hour, pd.Timestamp(start))) / HOUR
            total, light = weighted.get(hour, (0.0, 0.0))
            weighted[hour] = (total + part, light + part * value)
            hour += HOUR
    found = {hour: light / total for hour, (total, light) in sorted(weighted.items()) if total > 0.49}
    return pd.Series(list(found.values()), index=pd.DatetimeIndex(list(found), tz="UTC"), dtype=float)


def far_from(site_place: tuple[float, float], place: tuple[object, object], most_deg: float) -> bool:
    """Whether an answer's place (latitude, longitude) lies elsewhere; one that is not given can't tell."""
    latitude, longitude = place
    if not isinstance(latitude, (int, float)) or not isinstance(longitude, (int, float)):
        return False
    east = abs((longitude - site_place[1] + 180) % 360 - 180) * np.cos(np.radians(site_place[0]))
    return bool(abs(latitude - site_place[0]) > most_deg or east > most_deg)


def placed(columns: Mapping[str, pd.Series], names: Sequence[str]) -> pd.DataFrame:
    """Hourly columns side by side on one index from the first hour that any of them has to the last."""
    held = [column for column in columns.values() if len(column)]
    if not held:
        raise SourceFault("sends no values")
    first, last = min(c.index[0] for c in held), max(c.index[-1] for c in held)
    index = pd.date_range(first, last, freq=HOUR)
    return pd.DataFrame(
        {name: columns[name].reindex(index) if name in columns else np.nan for name in names}, index=index
    )
