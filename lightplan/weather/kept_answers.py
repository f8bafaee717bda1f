"""Answers as services sent them, kept some weeks beside the site: the last good one can stand in."""

from __future__ import annotations

import contextlib
import gzip
import json
import zlib
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
        self.complaints: list[str] = []

    def keep(self, name: SourceName, asked_at: datetime, raw: Raw) -> None:
        text = json.dumps({"place": self._place, "asked_at": asked_at.isoformat(), "raw": raw})
        path = self._folder / f"{name.value}-{asked_at.astimezone(UTC).strftime(STAMP)}.json.gz"
        try:
            self._folder.mkdir(parents=True, exist_ok=True)
            replace_file(path, gzip.compress(text.encode(), mtime=0))
        except OSError as error:
            reason = error.strerror or error
            self.complaints.append(f"the weather answer can't be kept for another day ({reason})")
        for old in self._files(name)[MOST_KEPT:]:
            with contextlib.suppress(OSError):
                old.unlink()

    def newest(self, name: SourceName, now: datetime) -> Iterator[tuple[datetime, Raw]]:
        """Answers by when they were asked for: the last before `now` first, then those after it."""
        stamp = now.astimezone(UTC).strftime(STAMP)
        files = self._files(name)
        before = [path for path in files if path.name <= f"{name.value}-{stamp}.json.gz"]
        for path in [*before, *reversed(files[: len(files) - len(before)])]:
            try:
                kept = json.loads(gzip.decompress(path.read_bytes()))
                here = all(
                    abs(a - b) < SAME_PLACE_DEG for a, b in zip(kept["place"], self._place, strict=True)
                )
                asked_at, raw = datetime.fromisoformat(kept["asked_at"]).astimezone(UTC), dict(kept["raw"])
            except (OSError, EOFError, ValueError, LookupError, TypeError, zlib.error):
                self.complaints.append(f"the kept weather answer {path.name} is broken and passed over")
                continue
            if here:
                yield asked_at, raw

    def _files(self, name: SourceName) -> list[Path]:
        """Files of a service, newest first by the clock in their names."""
        try:
            found = [p for p in self._folder.glob(f"{name.value}-*Z.json.gz") if p.is_file()]
        except OSError:
            return []
        return sorted(found, key=lambda path: path.name, reverse=True)
