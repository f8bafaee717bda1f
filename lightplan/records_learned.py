"""Calibrations made and days scored, in the records: a calibration is never changed, only put out of use."""

from __future__ import annotations

import json
from datetime import date, datetime
from pathlib import Path
from typing import Any

from lightplan.clock import utc_text
from lightplan.records import FILE_NAME, open_records


def keep_calibration(folder: Path, found: dict[str, Any], made_at: datetime) -> None:
    """Store a calibration and use it from now on. Raises RecordsError."""
    with open_records(folder) as db:
        db.execute(
            "INSERT INTO calibration (made_at, found_json, in_use) VALUES (?, ?, 1)",
            (utc_text(made_at), json.dumps(found, ensure_ascii=False)),
        )


def calibration_in_use(folder: Path) -> dict[str, Any] | None:
    """The last calibration that was not taken back; None where there is none. Raises RecordsError."""
    if not (folder / FILE_NAME).exists():
        return None
    with open_records(folder) as db:
        row = db.execute(
            "SELECT found_json FROM calibration WHERE in_use = 1 ORDER BY id DESC LIMIT 1"
        ).fetchone()
    return None if row is None else dict(json.loads(row[0]))


def take_back(folder: Path, *, every: bool) -> int:
    """Put the calibration in use out of use (every: all of them); how many that were. Raises RecordsError."""
    if not (folder / FILE_NAME).exists():
        return 0
    which = "in_use = 1" if every else "id = (SELECT max(id) FROM calibration WHERE in_use = 1)"
    with open_records(folder) as db:
        return db.execute(f"UPDATE calibration SET in_use = 0 WHERE {which}").rowcount


def keep_score(folder: Path, day: date, score: dict[str, Any], made_at: datetime) -> None:
    """Store a day's score; a later one of the same day takes its place. Raises RecordsError."""
    with open_records(folder) as db:
        db.execute(
            "INSERT OR REPLACE INTO score VALUES (?, ?, ?)",
            (day.isoformat(), utc_text(made_at), json.dumps(score, ensure_ascii=False)),
        )


def scores(folder: Path, *, before: date | None = None) -> tuple[dict[str, Any], ...]:
    """Scores of all days, or of those before a date, oldest first. Raises RecordsError."""
    if not (folder / FILE_NAME).exists():
        return ()
    with open_records(folder) as db:
        rows = db.execute(
            "SELECT score_json FROM score WHERE day < ? ORDER BY day",
            ((before or date.max).isoformat(),),
        ).fetchall()
    return tuple(json.loads(text) for (text,) in rows)
