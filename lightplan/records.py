"""The site's memory: plans issued and the weather they used, in one SQLite file beside the site file.

Times are stored as UTC text. A plan's `made_at` is the clock it was made by, so that a sheet for
another date takes its place among the days, not among the runs.
"""

from __future__ import annotations

import contextlib
import json
import sqlite3
from collections.abc import Iterator, Mapping
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

import pandas as pd

from lightplan.clock import utc_text
from lightplan.records_covers import CoverOn, read_night_covers
from lightplan.records_laid import TABLE as LAID_TABLE
from lightplan.records_laid import Laid, LaidStretch, keep_laid, read_laid

FILE_NAME = "records.db"

# Each entry takes the schema one version further; never edit one that has been released.
SCHEMA = (
    """
    CREATE TABLE plan (
        id INTEGER PRIMARY KEY,
        day TEXT NOT NULL,
        made_at TEXT NOT NULL,
        window_from TEXT,
        window_to TEXT,
        plan_json TEXT NOT NULL,
        weather_source TEXT NOT NULL,
        weather_csv TEXT NOT NULL,
        UNIQUE (day, made_at)
    );
    CREATE TABLE bench_plan (
        plan_id INTEGER NOT NULL REFERENCES plan (id) ON DELETE CASCADE,
        bench TEXT NOT NULL,
        account_after REAL,
        PRIMARY KEY (plan_id, bench)
    );
    CREATE TABLE lamp_time (
        plan_id INTEGER NOT NULL REFERENCES plan (id) ON DELETE CASCADE,
        bench TEXT NOT NULL,
        on_at TEXT NOT NULL,
        off_at TEXT NOT NULL
    );
    CREATE INDEX lamp_time_plan ON lamp_time (plan_id, bench);
    """,
    # a day's first plan stays as it was, whatever later looks at the same day put in the tables above
    """
    CREATE TABLE first_plan (
        day TEXT PRIMARY KEY,
        made_at TEXT NOT NULL,
        plan_json TEXT NOT NULL
    );
    """,
    LAID_TABLE,
    # readings as typed and in SI (detail), struck out but never changed; a logger's rows; calibrations made
    """
    CREATE TABLE reading (
        id INTEGER PRIMARY KEY,
        kind TEXT NOT NULL,
        at TEXT NOT NULL,
        house TEXT,
        bench TEXT,
        detail TEXT NOT NULL,
        fingerprint TEXT NOT NULL,
        entered_at TEXT NOT NULL,
        struck_at TEXT,
        struck_why TEXT
    );
    CREATE UNIQUE INDEX reading_once ON reading (fingerprint) WHERE struck_at IS NULL;
    CREATE TABLE logged (
        reading_id INTEGER NOT NULL REFERENCES reading (id) ON DELETE CASCADE,
        at TEXT NOT NULL,
        value REAL NOT NULL
    );
    CREATE INDEX logged_reading ON logged (reading_id, at);
    CREATE TABLE calibration (
        id INTEGER PRIMARY KEY,
        made_at TEXT NOT NULL,
        found_json TEXT NOT NULL,
        in_use INTEGER NOT NULL
    );
    CREATE TABLE score (
        day TEXT PRIMARY KEY,
        made_at TEXT NOT NULL,
        score_json TEXT NOT NULL
    );
    """,
)


class RecordsError(Exception):
    """The records could not be read or written; the sentence says what to do about it."""


@dataclass(frozen=True)
class Stretch:
    """Lamp times that one plan set for one bench within its own window."""

    window: tuple[datetime, datetime]
    intervals: tuple[tuple[datetime, datetime], ...]


@dataclass(frozen=True)
class History:
    """What earlier sheets left behind for this one."""

    lamps: dict[str, tuple[Stretch, ...]]  # bench → stretches, oldest first
    account: dict[str, float]  # bench → light account at the end of the day before
    laid: dict[str, tuple[LaidStretch, ...]] = field(default_factory=dict)  # bench or house → oldest first
    night_covers: dict[str, tuple[CoverOn, ...]] = field(default_factory=dict)  # bench → for a short day

    def set_before(
        self, bench: str, start: datetime, end: datetime
    ) -> tuple[tuple[datetime, datetime], ...] | None:
        """Lamp times set for [start, end) by earlier plans; None where no plan covers all of it.

        A later plan rules from its own window's start on.
        """
        stretches = self.lamps.get(bench, ())
        covered = [s for s in stretches if s.window[0] <= start < s.window[1]]
        if end > start and not covered:
            return None
        times: list[tuple[datetime, datetime]] = []
        reach = start
        for stretch in stretches:
            begin, finish = stretch.window
            if finish <= start or begin >= end:
                continue
            if begin > reach:
                return None
            reach = max(reach, finish)
            times = [(on, min(off, begin)) for on, off in times if on < begin]
            times += list(stretch.intervals)
        if reach < end:
            return None
        cut = [(max(on, start), min(off, end)) for on, off in times]
        return tuple(sorted((on, off) for on, off in cut if off > on))

    def set_since(
        self, bench: str, start: datetime, end: datetime
    ) -> tuple[datetime, tuple[tuple[datetime, datetime], ...]]:
        """From when on in [start, end) earlier plans say all, and the lamp times that they set from there.

        Where they say nothing of the end, that is `end`, without times.
        """
        begins = (s.window[0] for s in self.lamps.get(bench, ()))
        for since in sorted({start, *(begin for begin in begins if start < begin < end)}):
            times = self.set_before(bench, since, end)
            if times is not None:
                return since, times
        return end, ()


NO_HISTORY = History({}, {})


BROKEN = "broken"


@contextmanager
def open_records(folder: Path) -> Iterator[sqlite3.Connection]:
    path = folder / FILE_NAME
    try:
        with closing(sqlite3.connect(path, timeout=10)) as connection:
            connection.execute("PRAGMA journal_mode = WAL")
            connection.execute("PRAGMA foreign_keys = ON")
            _bring_up_to_date(connection, path)
            with connection:
                yield connection
    except (sqlite3.Error, ValueError, LookupError) as error:  # the last two: not the text that was stored
        if _is_broken(error) and (beside := _put_beside(path)):
            raise RecordsError(
                f"{path} is broken ({error}). It is kept as {beside.name} and a new one is begun: "
                "this sheet is made without what earlier sheets set."
            ) from error
        raise RecordsError(
            f"{path} can't be used ({error}); the sheet is made without what earlier sheets set. "
            "If this comes again, look at the rights and the room of its folder."
        ) from error


def _is_broken(error: Exception) -> bool:
    """Whether the file itself is at fault, and not its folder, its rights or another run.

    A file of the right version without the tables counts too: it is none of ours.
    """
    if isinstance(error, sqlite3.OperationalError):
        return any(words in str(error) for words in ("no such", "decode"))
    return not isinstance(error, sqlite3.Error) or type(error) is sqlite3.DatabaseError


def _put_beside(path: Path) -> Path | None:
    """A broken database with its journals moved to a name that is free; None where that can't be done."""
    number = 1
    while (beside := path.with_name(f"{path.stem}.{BROKEN}-{number}{path.suffix}")).exists():
        number += 1
    try:
        path.rename(beside)
    except OSError:
        return None
    for journal in ("-wal", "-shm"):
        with contextlib.suppress(OSError):
            path.with_name(path.name + journal).rename(beside.with_name(beside.name + journal))
    return beside


def _bring_up_to_date(connection: sqlite3.Connection, path: Path) -> None:
    (version,) = connection.execute("PRAGMA user_version").fetchone()
    if version > len(SCHEMA):
        raise RecordsError(
            f"{path} was written by a newer lightplan (version {version}, this one knows {len(SCHEMA)}); "
            "install the newer lightplan again."
        )
    for number, script in enumerate(SCHEMA[version:], start=version + 1):
        connection.executescript(f"BEGIN IMMEDIATE; {script} PRAGMA user_version = {number}; COMMIT;")


def keep_plan(
    folder: Path,
    *,
    day: date,
    made_at: datetime,
    window: tuple[datetime, datetime] | None,
    plan: dict[str, Any],
    weather_source: str,
    weather_table: pd.DataFrame,
    lamps: dict[str, tuple[tuple[datetime, datetime], ...]],
    account_after: dict[str, float | None],
    laid: Mapping[str, tuple[Laid, ...]] | None = None,
) -> None:
    """Store a plan as issued, in one transaction; the same day and clock again replaces it.

    The day's first plan is kept beside, for `first_plan`. lamps : bench → intervals within the window.
    laid : bench or house → what was opened or laid on.
    Raises RecordsError.
    """
    text = json.dumps(plan, ensure_ascii=False)
    with open_records(folder) as db:
        db.execute(
            "INSERT OR IGNORE INTO first_plan VALUES (?, ?, ?)", (day.isoformat(), utc_text(made_at), text)
        )
        db.execute("DELETE FROM plan WHERE day = ? AND made_at = ?", (day.isoformat(), utc_text(made_at)))
        row = db.execute(
            "INSERT INTO plan (day, made_at, window_from, window_to, plan_json, weather_source, weather_csv)"
            " VALUES (?, ?, ?, ?, ?, ?, ?)",
            (
                day.isoformat(),
                utc_text(made_at),
                utc_text(window[0]) if window else None,
                utc_text(window[1]) if window else None,
                text,
                weather_source,
                weather_table.round(3).to_csv(),
            ),
        ).lastrowid
        db.executemany(
            "INSERT INTO bench_plan VALUES (?, ?, ?)",
            [(row, bench, value) for bench, value in account_after.items()],
        )
        db.executemany(
            "INSERT INTO lamp_time VALUES (?, ?, ?, ?)",
            [
                (row, bench, utc_text(on), utc_text(off))
                for bench, times in lamps.items()
                for on, off in times
            ],
        )
        keep_laid(db, row, laid or {})


HISTORY_DAYS = 31  # a window spans at most a fortnight, a peak charge a month


def read_history(folder: Path, day: date, now: datetime) -> History:
    """What plans made before `now` set for `day`, and the light accounts at the end of the day before.

    An absent file is an empty history. Raises RecordsError.
    """
    if not (folder / FILE_NAME).exists():
        return NO_HISTORY
    with open_records(folder) as db:
        plans = db.execute(
            "SELECT id, window_from, window_to FROM plan WHERE made_at < ? AND day >= ? AND day <= ?"
            " AND window_from IS NOT NULL ORDER BY made_at",
            (utc_text(now), (day - timedelta(days=HISTORY_DAYS)).isoformat(), day.isoformat()),
        ).fetchall()
        lamps: dict[str, list[Stretch]] = {}
        for plan_id, begin, finish in plans:
            window = (datetime.fromisoformat(begin), datetime.fromisoformat(finish))
            times: dict[str, list[tuple[datetime, datetime]]] = {
                bench: []
                for (bench,) in db.execute("SELECT bench FROM bench_plan WHERE plan_id = ?", (plan_id,))
            }
            for bench, on, off in db.execute(
                "SELECT bench, on_at, off_at FROM lamp_time WHERE plan_id = ? ORDER BY on_at", (plan_id,)
            ):
                times.setdefault(bench, []).append((datetime.fromisoformat(on), datetime.fromisoformat(off)))
            for bench, intervals in times.items():
                lamps.setdefault(bench, []).append(Stretch(window, tuple(intervals)))
        windows = [(p, (datetime.fromisoformat(a), datetime.fromisoformat(b))) for p, a, b in plans]
        laid = read_laid(db, windows)
        covers = read_night_covers(db, day, made_before=utc_text(now))
        account = db.execute(
            "SELECT bench, account_after FROM bench_plan JOIN plan ON plan.id = plan_id"
            " WHERE day = ? AND made_at < ? AND account_after IS NOT NULL ORDER BY made_at",
            ((day - timedelta(days=1)).isoformat(), utc_text(now)),
        ).fetchall()
    return History({bench: tuple(s) for bench, s in lamps.items()}, dict(account), laid, covers)


def first_plan(folder: Path, day: date, now: datetime) -> dict[str, Any] | None:
    """The JSON of the first plan made for a day, if one was made by `now`. Raises RecordsError."""
    if not (folder / FILE_NAME).exists():
        return None
    with open_records(folder) as db:
        row = db.execute(
            "SELECT plan_json FROM first_plan WHERE day = ? AND made_at <= ?",
            (day.isoformat(), utc_text(now)),
        ).fetchone()
    if row is None:
        return None
    found = json.loads(row[0])
    return found if isinstance(found, dict) else None
