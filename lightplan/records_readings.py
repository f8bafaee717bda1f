"""Readings in the records: added whole or not at all, struck out, never changed."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any

from lightplan.clock import utc_text
from lightplan.problems import InputError
from lightplan.records import FILE_NAME, open_records

COLUMNS = "id, kind, at, house, bench, detail, entered_at, struck_at, struck_why"


# what a file is called, and what was worked out by site file, tables and model: they may change, and the
# reading is the same
NOT_TYPED = {"file", "basis", "share", "clear_umol", "inside_umol", "outside_umol", "umol", "sd"}


@dataclass(frozen=True)
class Row:
    """One reading as kept. detail : as typed and in SI. struck_why None: it stands."""

    number: int
    kind: str
    at: datetime
    house: str | None
    bench: str | None
    detail: dict[str, Any]
    entered_at: datetime
    struck_at: datetime | None
    struck_why: str | None


@dataclass(frozen=True)
class New:
    """A reading to be kept. fingerprint : what makes it the same reading when it comes again."""

    kind: str
    at: datetime
    house: str | None
    bench: str | None
    detail: dict[str, Any]
    logged: Sequence[tuple[datetime, float]] = ()

    @property
    def fingerprint(self) -> str:
        known = {key: value for key, value in self.detail.items() if key not in NOT_TYPED}
        return json.dumps([self.kind, utc_text(self.at), self.house, self.bench, known], sort_keys=True)


def add_readings(folder: Path, new: Iterable[New], entered_at: datetime) -> tuple[int, ...]:
    """Keep all of them in one transaction, and give their numbers.

    Raises InputError where one stands already: then none is kept. Raises RecordsError.
    """
    numbers: list[int] = []
    again: int | None = None
    with open_records(folder) as db:
        for reading in new:
            found = db.execute(
                "SELECT id FROM reading WHERE fingerprint = ? AND struck_at IS NULL", (reading.fingerprint,)
            ).fetchone()
            if found is not None:
                again = int(found[0])
                db.rollback()
                break
            numbers.append(_insert(db, reading, entered_at))
    if again is not None:
        raise InputError(f"That reading stands already as number {again}; nothing was stored a second time.")
    return tuple(numbers)


def _insert(db: sqlite3.Connection, reading: New, entered_at: datetime) -> int:
    row = db.execute(
        "INSERT INTO reading (kind, at, house, bench, detail, fingerprint, entered_at)"
        " VALUES (?, ?, ?, ?, ?, ?, ?)",
        (
            reading.kind,
            utc_text(reading.at),
            reading.house,
            reading.bench,
            json.dumps(reading.detail, ensure_ascii=False),
            reading.fingerprint,
            utc_text(entered_at),
        ),
    ).lastrowid
    assert row is not None
    db.executemany(
        "INSERT INTO logged VALUES (?, ?, ?)", [(row, utc_text(at), value) for at, value in reading.logged]
    )
    return row


def readings(folder: Path, *, struck: bool = False, until: datetime | None = None) -> tuple[Row, ...]:
    """Readings by time, those struck out only if asked. An absent file holds none. Raises RecordsError."""
    if not (folder / FILE_NAME).exists():
        return ()
    with open_records(folder) as db:
        rows = db.execute(f"SELECT {COLUMNS} FROM reading ORDER BY at, id").fetchall()
    found = (_row(row) for row in rows)
    return tuple(
        row for row in found if (struck or row.struck_at is None) and (until is None or row.at <= until)
    )


def logged_values(folder: Path, number: int) -> tuple[tuple[datetime, float], ...]:
    """The rows of one logger's file, by time. Raises RecordsError."""
    with open_records(folder) as db:
        rows = db.execute("SELECT at, value FROM logged WHERE reading_id = ? ORDER BY at", (number,))
        return tuple((datetime.fromisoformat(at), value) for at, value in rows)


def strike_out(folder: Path, number: int, why: str, at: datetime) -> Row:
    """Strike a reading out: it stays in the records with the reason, and counts no more.

    Raises InputError where it never was or is struck out already. Raises RecordsError.
    """
    known = {row.number: row for row in readings(folder, struck=True)}
    row = known.get(number)
    if row is None:
        what = f"they run from 1 to {max(known)}" if known else "there are none yet"
        raise InputError(f"There is no reading number {number}; {what}.")
    if row.struck_at is not None:
        raise InputError(f"Reading {number} is struck out already ({row.struck_why}).")
    with open_records(folder) as db:
        db.execute(
            "UPDATE reading SET struck_at = ?, struck_why = ? WHERE id = ?", (utc_text(at), why, number)
        )
    return row


@dataclass(frozen=True)
class OrderKept:
    """An order of a sheet, by the number it has there. made_at : the sheet's clock."""

    number: int
    what: str
    action: str
    house: str | None
    bench: str | None
    made_at: datetime


def orders_of(folder: Path, day: date, now: datetime) -> tuple[dict[int, OrderKept], ...]:
    """By number the orders of each sheet of the date made by `now`, in the order they were made.

    A later look at a day numbers its orders anew. Raises RecordsError.
    """
    if not (folder / FILE_NAME).exists():
        return ()
    with open_records(folder) as db:
        sheets = db.execute(
            "SELECT made_at, plan_json FROM plan WHERE day = ? AND made_at <= ? ORDER BY made_at",
            (day.isoformat(), utc_text(now)),
        ).fetchall()
    return tuple(
        {
            o["number"]: OrderKept(
                o["number"], o["what"], o["action"], o["house"], o["bench"], datetime.fromisoformat(made_at)
            )
            for o in json.loads(text)["orders"]
        }
        for made_at, text in sheets
    )


def _row(row: tuple[Any, ...]) -> Row:
    number, kind, at, house, bench, detail, entered_at, struck_at, why = row
    return Row(
        number=number,
        kind=kind,
        at=datetime.fromisoformat(at),
        house=house,
        bench=bench,
        detail=json.loads(detail),
        entered_at=datetime.fromisoformat(entered_at),
        struck_at=datetime.fromisoformat(struck_at) if struck_at else None,
        struck_why=why,
    )
