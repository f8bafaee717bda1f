"""A logger's file against what is kept already, and in words for the one who must confirm it."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from lightplan.learn.logger import Table
from lightplan.problems import InputError
from lightplan.records import RecordsError
from lightplan.records_readings import New, readings
from lightplan.site.models import Site


def not_again(site: Site, new: New) -> None:
    """Raises InputError where rows of that time, place and quantity stand already."""
    first, last = (datetime.fromisoformat(new.detail[key]) for key in ("first", "last"))
    try:
        kept = readings(site.folder)
    except RecordsError as error:
        raise InputError(str(error)) from error
    for row in kept:
        if (row.kind, row.house, row.bench) != ("log", new.house, new.bench):
            continue
        if row.detail["quantity"] != new.detail["quantity"]:
            continue
        began, ended = (datetime.fromisoformat(row.detail[key]) for key in ("first", "last"))
        if first <= ended and began <= last:
            raise InputError(
                f"{new.detail['file']}: values of {began:%Y-%m-%d} to {ended:%Y-%m-%d} for that place stand "
                f"already as reading {row.number} ({row.detail['file']}); strike that one out first, or "
                "import only what is later. Nothing was stored."
            )


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
