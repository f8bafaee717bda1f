"""Dark covers that make a short day: what the last plan had laid on, as its JSON tells it."""

from __future__ import annotations

import json
import sqlite3
from dataclasses import dataclass
from datetime import date, datetime

SHORT_DAY = "short-day"  # the rule by which a dark cover lies, beside those against heat and light


@dataclass(frozen=True)
class CoverOn:
    """A cover that the last plan had laid on a bench, to lie until a time on or after this sheet's date."""

    cover: str
    on: datetime
    off: datetime


def read_night_covers(
    db: sqlite3.Connection, day: date, *, made_before: str
) -> dict[str, tuple[CoverOn, ...]]:
    """By bench, those of the last plan up to a date that lie until that date. made_before : UTC text.

    The last plan may be an earlier one of the same date: its covers of tonight may lie already.
    """
    last = db.execute(
        "SELECT plan_json FROM plan WHERE made_at < ? AND day <= ? AND window_from IS NOT NULL"
        " ORDER BY day DESC, made_at DESC LIMIT 1",
        (made_before, day.isoformat()),
    ).fetchone()
    return {} if last is None else still_on(last[0], day)


def still_on(plan_json: str, day: date) -> dict[str, tuple[CoverOn, ...]]:
    """Covers of a plan that lie until a date or longer. Raises ValueError or LookupError on other text."""
    found: dict[str, tuple[CoverOn, ...]] = {}
    for bench in json.loads(plan_json).get("benches", ()):
        times = [
            CoverOn(c["cover"], datetime.fromisoformat(c["on"]), datetime.fromisoformat(c["off"]))
            for c in bench.get("covers", ())
            if c["off"] and c["reason"] == SHORT_DAY
        ]
        lie = tuple(each for each in times if each.off.date() >= day)
        if lie:
            found[bench["id"]] = lie
    return found
