"""Old sheets go once there are more days of them than `keep`."""

from __future__ import annotations

from contextlib import suppress
from datetime import date
from pathlib import Path

SUFFIXES = (".pdf", ".html", ".json", ".ics")


def keep_newest(folder: Path, days: int, today: date) -> tuple[Path, ...]:
    """Take away morning sheets older than the newest `days` dates up to today; what was taken away.

    Only files named as sheets are, `YYYY-MM-DD.pdf` and so on. Sheets of later dates neither count nor go.
    """
    by_day: dict[date, list[Path]] = {}
    with suppress(OSError):
        for path in folder.iterdir():
            with suppress(ValueError):
                if path.suffix in SUFFIXES and len(path.stem) == 10:
                    by_day.setdefault(date.fromisoformat(path.stem), []).append(path)
    old = sorted((day for day in by_day if day <= today), reverse=True)[days:]
    gone = []
    for path in (path for day in old for path in by_day[day]):
        with suppress(OSError):
            path.unlink()
            gone.append(path)
    return tuple(sorted(gone))
