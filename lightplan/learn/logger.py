"""A logger's CSV: which columns and which clock it has are guessed and shown, never taken in silence."""

from __future__ import annotations

import csv
import io
import math
import re
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, tzinfo
from itertools import pairwise
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from lightplan.problems import InputError

Array = NDArray[np.float64]

SEPARATORS = (",", ";", "\t")
FORMATS = (
    "%Y-%m-%dT%H:%M:%S", "%Y-%m-%dT%H:%M", "%Y-%m-%d %H:%M:%S", "%Y-%m-%d %H:%M", "%d.%m.%Y %H:%M:%S",
    "%d.%m.%Y %H:%M", "%m/%d/%Y %H:%M:%S", "%m/%d/%Y %H:%M", "%d/%m/%Y %H:%M:%S", "%d/%m/%Y %H:%M",
    "%m/%d/%y %H:%M:%S", "%m/%d/%y %H:%M", "%m/%d/%Y %I:%M:%S %p", "%m/%d/%y %I:%M:%S %p",
)  # fmt: skip
TIME_NAMES = re.compile(r"time|date|zeit|datum|stamp", re.IGNORECASE)
LIGHT_NAMES = re.compile(r"ppfd|par|lux|light|licht|fc|foot|umol|µmol|ghi", re.IGNORECASE)
TEMPERATURE_NAMES = re.compile(r"temp|°|deg", re.IGNORECASE)
FEWEST_ROWS = 8
MISSING = {"", "-", "--", "na", "n/a", "nan", "none", "null"}  # how loggers write that they have nothing
CLOCK_SET_BACK = timedelta(hours=1)  # times that go back by no more may be the night summer time ends
LAG_STEP_MIN = 5
LONGEST_LAG_MIN = 12 * 60
CLOCK_OFF_MIN = 30  # a curve may lean so far by walls and cloud alone; judgement


@dataclass(frozen=True)
class Table:
    """A file's header and rows as text. zoned: its times carry their own offset."""

    name: str
    columns: tuple[str, ...]
    time: str
    value: str
    format: str | None  # None: ISO with offset
    rows: tuple[tuple[str, str], ...]  # time, value

    @property
    def zoned(self) -> bool:
        return self.format is None


def read_logger(path: Path, *, time: str | None, value: str | None, quantity: str) -> Table:
    """The file's time and value columns, by name where given, else guessed. Raises InputError."""
    try:
        text = path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        raise InputError(f"{path} is not there.") from None
    except (OSError, UnicodeDecodeError) as error:
        raise InputError(f"{path} can't be read as text ({error}); save it as CSV in UTF-8.") from None
    lines = [line for line in text.splitlines() if line.strip()]
    start, separator = _header(lines, path.name)
    grid = list(csv.reader(io.StringIO("\n".join(lines[start:])), delimiter=separator))
    columns = tuple(cell.strip() for cell in grid[0])
    body = [row for row in grid[1:] if len(row) == len(columns)]
    if len(body) < FEWEST_ROWS:
        raise InputError(f"{path.name} has {len(body)} whole rows of values; {FEWEST_ROWS} are the least.")
    when = _named(time, columns, "time", path.name) or _guess_time(columns, body, path.name)
    what = _named(value, columns, "value", path.name) or _guess_value(
        columns, body, when, quantity, path.name
    )
    at, of = columns.index(when), columns.index(what)
    rows = tuple((row[at].strip(), row[of].strip()) for row in body)
    return Table(path.name, columns, when, what, _format([r[0] for r in rows], path.name, when), rows)


def _header(lines: list[str], name: str) -> tuple[int, str]:
    """The line with the columns' names (loggers put a title above), and what parts the cells."""
    for number, line in enumerate(lines[:20]):
        for separator in SEPARATORS:
            cells = line.split(separator)
            if len(cells) > 1 and any(TIME_NAMES.search(cell) for cell in cells):
                return number, separator
    raise InputError(f"{name} has no line of column names with a time or date among them; add one on top.")


def _named(wanted: str | None, columns: tuple[str, ...], option: str, name: str) -> str | None:
    if wanted is None:
        return None
    if wanted not in columns:
        raise InputError(f"{name} has no column {wanted!r} for --{option}; it has {', '.join(columns)}.")
    return wanted


def _guess_time(columns: tuple[str, ...], body: list[list[str]], name: str) -> str:
    for at, column in enumerate(columns):
        if TIME_NAMES.search(column) and _fits([row[at].strip() for row in body[:5]]):
            return column
    raise InputError(
        f"{name}: no column holds date and time together in a way lightplan reads; write them like "
        "2026-03-01 13:45 in one column, or name it with --time."
    )


def _guess_value(columns: tuple[str, ...], body: list[list[str]], when: str, quantity: str, name: str) -> str:
    numbers = [
        column
        for at, column in enumerate(columns)
        if column != when
        and all(_number(row[at]) is not None for row in body[:20] if not _is_missing(row[at]))
    ]
    named = [c for c in numbers if (LIGHT_NAMES if quantity == "light" else TEMPERATURE_NAMES).search(c)]
    found = named or numbers
    if len(found) == 1:
        return found[0]
    if not found:
        raise InputError(f"{name} has no column of numbers beside {when!r}; name it with --value.")
    raise InputError(
        f"{name} has several columns that could hold {quantity} ({', '.join(found)}): "
        "name the one that counts with --value."
    )


def _number(cell: str) -> float | None:
    text = cell.strip()
    if "," in text and "." not in text:
        text = text.replace(",", ".")
    try:
        number = float(text)
    except ValueError:
        return None
    return number if math.isfinite(number) else None


def _is_missing(cell: str) -> bool:
    return cell.strip().lower() in MISSING


def _iso(text: str) -> datetime | None:
    try:
        return datetime.fromisoformat(text)
    except ValueError:
        return None


def _fits(cells: list[str]) -> bool:
    if all((t := _iso(cell)) is not None and t.tzinfo is not None for cell in cells):
        return True
    return any(all(_parsed(cell, form) is not None for cell in cells) for form in FORMATS)


def _parsed(cell: str, form: str) -> datetime | None:
    try:
        return datetime.strptime(cell, form)
    except ValueError:
        return None


def _format(cells: list[str], name: str, column: str) -> str | None:
    """The one way of writing times that reads every row in order of time. Day-first and month-first that
    both read are asked back."""
    if all((t := _iso(cell)) is not None and t.tzinfo is not None for cell in cells):
        return None
    good = []
    for form in FORMATS:
        times = [_parsed(cell, form) for cell in cells]
        if all(times) and all(
            a - CLOCK_SET_BACK <= b for a, b in pairwise(t for t in times if t is not None)
        ):
            good.append(form)
    if not good:
        raise InputError(
            f"{name}: the times of column {column!r} (like {cells[0]!r}) are not all written in one known "
            "way and in order of time; sort them and write them like 2026-03-01 13:45."
        )
    if len(good) > 1 and len({_parsed(cells[-1], form) for form in good}) > 1:
        raise InputError(
            f"{name}: {cells[0]!r} may be day first or month first; write the times like 2026-03-01 13:45."
        )
    return good[0]


def values_of(table: Table, zone: tzinfo | None) -> tuple[tuple[datetime, float], ...]:
    """Instants and numbers; empty cells are left out. zone : of times that carry no offset.

    An hour that the clock goes through twice is told by the order of the rows. Raises InputError on a value
    that is no number, an instant that comes twice, one before its row's turn, and a time that never was.
    """
    found: dict[datetime, float] = {}
    last = None
    for when, cell in table.rows:
        if _is_missing(cell):
            continue
        number = _number(cell)
        if number is None:
            raise InputError(f"{table.name}: {cell!r} at {when} in column {table.value!r} is no number.")
        moment = _iso(when) if table.format is None else _parsed(when, table.format)
        assert moment is not None
        if moment.tzinfo is None:
            assert zone is not None
            moment = _instant(moment, zone, last, when, table.name)
        if last is not None and moment < last:
            raise InputError(f"{table.name}: {when} comes after a later time; sort the rows by time.")
        last = moment
        if moment in found:
            raise InputError(
                f"{table.name} has {when} twice; keep one row (with a clock change inside, give the logger's "
                "own fixed offset as --zone, like +01:00)."
            )
        found[moment] = number
    return tuple(found.items())


def _instant(clock: datetime, zone: tzinfo, last: datetime | None, when: str, name: str) -> datetime:
    """The instant a clock showed; of an hour that comes twice, the second if the first is past."""
    moments = [clock.replace(tzinfo=zone, fold=fold).astimezone(UTC) for fold in (0, 1)]
    if moments[0].astimezone(zone).replace(tzinfo=None, fold=0) != clock:
        raise InputError(
            f"{name}: {when} never was by a clock with summer time, so the logger's keeps none: give its own "
            "fixed offset as --zone, like +01:00."
        )
    return moments[1] if last is not None and moments[0] <= last < moments[1] else moments[0]


def clock_lag_min(minutes: Array, light: Array, *, sky_minutes: Array, sky: Array) -> float | None:
    """How far a light curve runs behind the sun [min]; None where it has too little shape to tell.

    minutes : of the logger's readings after some instant; sky_minutes, sky : clear light of the place by the
    true clock, from LONGEST_LAG_MIN before to after. The shift with the best correlation of log(1 + light):
    the logarithm makes dawn and dusk count, which cloud moves little.
    """
    seen = np.log1p(np.clip(light, 0.0, None))
    if seen.std() < 0.5:
        return None
    clear = np.log1p(np.clip(sky, 0.0, None))
    lags = np.arange(-LONGEST_LAG_MIN, LONGEST_LAG_MIN + 1, LAG_STEP_MIN, dtype=float)
    fits = np.array([_fit(seen, np.interp(minutes - lag, sky_minutes, clear)) for lag in lags])
    best = int(fits.argmax())
    if fits[best] < 0.7:
        return None
    return float(lags[best])


def _fit(seen: Array, clear: Array) -> float:
    if clear.std() == 0:
        return -1.0
    return float(np.corrcoef(seen, clear)[0, 1])


def check_clock(lag_min: float | None, name: str, *, off_min: float = CLOCK_OFF_MIN) -> None:
    """Raises InputError where the curve runs so far before or behind the sun that the clock must be off."""
    if lag_min is None or abs(lag_min) < off_min:
        return
    about = round(lag_min / CLOCK_OFF_MIN) * CLOCK_OFF_MIN  # clocks are set wrong by whole or half hours
    way = "behind" if about > 0 else "ahead of"
    raise InputError(
        f"{name}: its light runs about {abs(about) / 60:g} h {way} the sun of this place, so its clock or "
        f"the zone is off; give another --zone, or --shift-min {-about:g} if its clock was set wrong, or "
        "--trust-clock if it is right and lamps, covers or walls bend its light. Nothing was stored."
    )
