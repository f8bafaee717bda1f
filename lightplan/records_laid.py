"""What earlier sheets had opened or laid on, in the records: tents, covers and vents, with their times."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from lightplan.clock import utc_text

TABLE = """
    CREATE TABLE laid_time (
        plan_id INTEGER NOT NULL REFERENCES plan (id) ON DELETE CASCADE,
        place TEXT NOT NULL,
        what TEXT NOT NULL,
        on_at TEXT NOT NULL,
        off_at TEXT NOT NULL
    );
    CREATE INDEX laid_time_plan ON laid_time (plan_id);
    """


@dataclass(frozen=True)
class Laid:
    """One thing done and when it is undone. what : a cover's name, "tent-propped" or "tent-rolled-back"."""

    what: str
    on: datetime
    off: datetime


@dataclass(frozen=True)
class LaidStretch:
    """What one plan had done at one place within its own window, with what lay there already."""

    window: tuple[datetime, datetime]
    times: tuple[Laid, ...]


def laid_before(stretches: Iterable[LaidStretch], moment: datetime) -> tuple[Laid, ...]:
    """All that earlier plans had begun before a moment, oldest first; a later plan rules from its start."""
    found: dict[tuple[str, datetime], Laid] = {}
    for stretch in stretches:
        begin = stretch.window[0]
        found = {k: Laid(one.what, one.on, min(one.off, begin)) for k, one in found.items() if one.on < begin}
        found |= {(one.what, one.on): one for one in stretch.times if one.on < moment}
    return tuple(sorted(found.values(), key=lambda one: (one.on, one.what)))


def keep_laid(db: sqlite3.Connection, plan_id: int | None, laid: Mapping[str, Iterable[Laid]]) -> None:
    """laid : by place, a bench's or house's id."""
    db.executemany(
        "INSERT INTO laid_time VALUES (?, ?, ?, ?, ?)",
        [
            (plan_id, place, one.what, utc_text(one.on), utc_text(one.off))
            for place, times in laid.items()
            for one in times
        ],
    )


def read_laid(
    db: sqlite3.Connection, plans: Iterable[tuple[int, tuple[datetime, datetime]]]
) -> dict[str, tuple[LaidStretch, ...]]:
    """By place; plans : id and window, oldest first. What a plan doesn't name is not there."""
    rows = [
        (
            window,
            db.execute(
                "SELECT place, what, on_at, off_at FROM laid_time WHERE plan_id = ? ORDER BY on_at",
                (plan_id,),
            ).fetchall(),
        )
        for plan_id, window in plans
    ]
    places = {row[0] for _, found in rows for row in found}
    return {
        place: tuple(
            LaidStretch(
                window,
                tuple(
                    Laid(what, datetime.fromisoformat(on), datetime.fromisoformat(off))
                    for where, what, on, off in found
                    if where == place
                ),
            )
            for window, found in rows
        )
        for place in places
    }
