"""The log of a timer's runs: a line a step with its time, and never longer than a few weeks of them."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from datetime import datetime
from pathlib import Path

from lightplan.files import replace_file

MOST_BYTES = 256_000  # some two months of mornings; judgement


class BoundedLog:
    """clock : the moment of a line. A disk that takes no log costs the log only."""

    def __init__(self, path: Path, clock: Callable[[], datetime]) -> None:
        self._path, self._clock = path, clock
        with suppress(OSError):
            path.parent.mkdir(parents=True, exist_ok=True)
            if path.stat().st_size > MOST_BYTES:
                newest = path.read_bytes()[-MOST_BYTES // 2 :]
                replace_file(path, newest[newest.find(b"\n") + 1 :])

    def __call__(self, text: str) -> None:
        stamp = f"{self._clock():%Y-%m-%d %H:%M:%S}"
        lines = "".join(f"{stamp} {line}\n" for line in text.splitlines() if line.strip())
        with suppress(OSError), self._path.open("a", encoding="utf-8") as log:
            log.write(lines)
