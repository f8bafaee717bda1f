"""Answers as services sent them, kept some weeks beside the site: the last good one can stand in."""

from __future__ import annotations

import contextlib
import gzip
import json
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

from lightplan.files import replace_file
from lightplan.site.models import Site, SourceName
from lightplan.weather.answer import Raw

MOST_KEPT = 40  # of one service: a month of mornings, and noons
SAME_PLACE_DEG = 0.01
STAMP = "%Y%m%dT%H%M%SZ"


class KeptAnswers:
    """The folder `cache/weather` of a site. What can't be read is passed over, what can't be kept is said."""

    def __init__(self, site: Site) -> None:
        self._folder = site.folder.resolve() / "cache" / "weather"
        self._place = (site.latitude, site.longitude)
        self.complaint: str | None = None

    def keep(self, name: SourceName, asked_at: datetime, raw: Raw) -> None:
        text = json.dumps({"place": self._place, "asked_at": asked_at.isoformat(), "raw": raw})
        path = self._folder / f"{name.value}-{asked_at.astimezone(UTC).strftime(STAMP)}.json.gz"
        try:
            self._folder.mkdir(parents=True, exist_ok=True)
            replace_file(path, gzip.compress(text.encode(), mtime=0))
        except OSError as error:
            self.complaint = f"the answer can't be kept for another day ({error.strerror or error})"
        for old in self._files(name)[MOST_KEPT:]:
            with contextlib.suppress(OSError):
                old.unlink()

    def newest(self, name: SourceName, now: datetime) -> Iterator[tuple[datetime, Raw]]:
        """Answers by when they were asked for: the last before `now` first, then those after it."""
        stamp = now.astimezone(UTC).strftime(STAMP)
        files = self._files(name)
        before = [path for path in files if path.name <= f"{name.value}-{stamp}.json.gz"]
        for path in [*before, *reversed(files[: len(files) - len(before)])]:
            with contextlib.suppress(OSError, EOFError, ValueError, KeyError, TypeError):
                kept = json.loads(gzip.decompress(path.read_bytes()))
                place = kept["place"]
                if all(abs(a - b) < SAME_PLACE_DEG for a, b in zip(place, self._place, strict=True)):
                    yield datetime.fromisoformat(kept["asked_at"]), kept["raw"]

    def _files(self, name: SourceName) -> list[Path]:
        """Files of a service, newest first by the clock in their names."""
        try:
            found = [p for p in self._folder.glob(f"{name.value}-*Z.json.gz") if p.is_file()]
        except OSError:
            return []
        return sorted(found, key=lambda path: path.name, reverse=True)
