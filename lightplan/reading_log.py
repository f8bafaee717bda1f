"""A logger's file against what is kept already, and in words for the one who must confirm it."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime

from lightplan.learn.logger import Table
from lightplan.logger_entry import of_rows
from lightplan.problems import InputError
from lightplan.records import RecordsError
from lightplan.records_readings import New, Row, logged_values, readings
from lightplan.site.models import Site

SAME = 0.002  # values are kept to 0.001


def only_new(site: Site, new: New) -> tuple[New, tuple[str, ...]]:
    """The rows that are not kept yet, as loggers hand out the old with the new, and what to say of the rest.

    Raises InputError where other rows of that time, place and quantity stand already, or nothing is new.
    """
    also: list[str] = []
    try:
        for row in readings(site.folder):
            if (row.kind, row.house, row.bench) != ("log", new.house, new.bench):
                continue
            if row.detail["quantity"] == new.detail["quantity"]:
                new, words = _after(site, new, row)
                also += words
    except RecordsError as error:
        raise InputError(str(error)) from error
    return new, tuple(also)


def _after(site: Site, new: New, row: Row) -> tuple[New, list[str]]:
    """What of a file comes after another that stands, where they agree on all they share."""
    began, ended = (datetime.fromisoformat(row.detail[key]) for key in ("first", "last"))
    first, last = new.logged[0][0], new.logged[-1][0]
    if first > ended or began > last:
        return new, []
    begin, end = (at.astimezone(site.timezone) for at in (began, ended))
    of_it = f"reading {row.number} ({row.detail['file']}, {begin:%Y-%m-%d} to {end:%Y-%m-%d})"
    kept = {at.astimezone(UTC): value for at, value in logged_values(site.folder, row.number)}
    old = {at.astimezone(UTC).replace(microsecond=0): value for at, value in new.logged if at <= ended}
    later = tuple((at, value) for at, value in new.logged if at > ended)
    if first < began or any(at not in kept or abs(kept[at] - value) > SAME for at, value in old.items()):
        raise InputError(
            f"{new.detail['file']}: for that place and time there is {of_it}, and this file is not the "
            "same with more after it; strike that one out first, or import only what is later. "
            "Nothing was stored."
        )
    if not later:
        raise InputError(f"{new.detail['file']}: all of it stands already as {of_it}; nothing was stored.")
    words = f"{len(old)} of its rows stand already as {of_it}; only the {len(later)} later ones are taken"
    return of_rows(new, later), [words]


def shown(site: Site, table: Table, new: New) -> Iterator[str]:
    """What was understood of a logger's file, line by line."""
    columns = ", ".join(table.columns)
    yield f"{table.name}: times from {table.time!r}, values from {table.value!r} of {columns}"
    yield f"written as {'ISO times with offset' if table.format is None else table.format}"
    for words, (at, value) in (("first", new.logged[0]), ("last", new.logged[-1])):
        unit = "µmol" if new.detail["quantity"] == "light" else "°C"
        yield f"{words} {at.astimezone(site.timezone):%Y-%m-%d %H:%M %Z}: {value:.1f} {unit}"
    highest = max(new.logged, key=lambda row: row[1])
    unit = "µmol" if new.detail["quantity"] == "light" else "°C"
    yield f"highest {highest[1]:.1f} {unit} at {highest[0].astimezone(site.timezone):%Y-%m-%d %H:%M}"
