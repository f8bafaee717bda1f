"""Answers shared by sites of one grid cell: each is asked for once in a round, by whoever comes first.

Every site of a cell asks for the cell's own middle, so that nothing depends on which of them came first.
"""

from __future__ import annotations

import gzip
import hashlib
import json
import time
import zlib
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Any

from filelock import FileLock, Timeout

from lightplan.files import replace_file
from lightplan.site.models import Site, SourceName
from lightplan.weather.answer import Asked, Raw
from lightplan.weather.table import SourceFault

CELL_DEG = 0.1  # global models' cells are 0.1 to 0.25° wide; 0.05° off the middle is 12 s of sun; judgement
BAND_M = 50.0  # of height: a third of a kelvin
LONGEST_WAIT_S = 40.0  # for another site that is asking; past it each asks for itself
IN_VAIN_S, MOST_IN_VAIN = 3.0, 3  # a service that let so many cells wait so long is left alone for the round


@dataclass(frozen=True)
class SharedAnswers:
    """folder : the round's own, seen by all who work at it. A disk that fails costs only the sharing."""

    folder: Path

    def raw(
        self, name: SourceName, site: Site, asked: Asked, ask: Callable[[Site], Raw]
    ) -> tuple[Raw, datetime]:
        """The cell's answer and the clock it was asked at. Raises SourceFault, its own or another's."""
        of_cell = in_cell(site)
        path = self.folder / f"{name.value}-{_key(name, of_cell, asked)}.json.gz"
        lock = FileLock(path.with_suffix(".lock"))
        with suppress(Timeout, OSError, NotImplementedError):
            self.folder.mkdir(parents=True, exist_ok=True)
            lock.acquire(timeout=LONGEST_WAIT_S)
        try:
            kept = _read(path)
            if kept is not None:
                if kept["fault"] is not None:
                    raise SourceFault(str(kept["fault"]))
                return dict(kept["raw"]), datetime.fromisoformat(kept["asked_at"])
            if len(list(self.folder.glob(f"{name.value}-*.vain"))) >= MOST_IN_VAIN:
                raise SourceFault(f"was not asked: it let {MOST_IN_VAIN} other places wait in vain")
            began = time.monotonic()
            try:
                raw = ask(of_cell)
            except SourceFault as fault:
                _write(path, {"fault": str(fault), "raw": None, "asked_at": asked.clock.isoformat()})
                if time.monotonic() - began >= IN_VAIN_S:
                    with suppress(OSError):
                        path.with_suffix(".vain").touch()
                raise
            _write(path, {"fault": None, "raw": raw, "asked_at": asked.clock.isoformat()})
            return raw, asked.clock
        finally:
            lock.release()


def in_cell(site: Site) -> Site:
    """The site moved to the middle of its cell and of its band of height."""
    return replace(
        site,
        latitude=round(round(site.latitude / CELL_DEG) * CELL_DEG, 4),
        longitude=round(round(site.longitude / CELL_DEG) * CELL_DEG, 4),
        elevation_m=round(site.elevation_m / BAND_M) * BAND_M,
    )


def _key(name: SourceName, of_cell: Site, asked: Asked) -> str:
    choice = of_cell.weather
    parts: list[object] = [name.value, of_cell.latitude, of_cell.longitude, of_cell.elevation_m]
    parts += [choice.source.value, choice.url, choice.ensemble_url, choice.api_key_env, choice.contact]
    parts += [str(asked.times[0]), str(asked.end)]
    return hashlib.sha256(repr(parts).encode()).hexdigest()[:20]


def _read(path: Path) -> dict[str, Any] | None:
    try:
        kept = json.loads(gzip.decompress(path.read_bytes()))
        return kept if {"fault", "raw", "asked_at"} <= set(kept) else None
    except (OSError, EOFError, ValueError, TypeError, zlib.error):
        return None


def _write(path: Path, kept: dict[str, Any]) -> None:
    with suppress(OSError):
        replace_file(path, gzip.compress(json.dumps(kept).encode(), mtime=0))
