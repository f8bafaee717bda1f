"""What a round has done so far, a line a site, so that one that was broken off goes on where it stopped."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

from lightplan.rounds.job import Outcome, Round, outcome_from


class Journal:
    """One file of lines for one date. A later line of a site takes the place of an earlier."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._unwritten: dict[str, Outcome] = {}  # what no disk took: a round outlives a full one

    def begin(self, *, anew: bool) -> None:
        """Raises OSError where the folder can't be written to."""
        self._path.parent.mkdir(parents=True, exist_ok=True)
        if anew:
            self._path.unlink(missing_ok=True)
        elif self._path.exists() and not self._path.read_bytes().endswith(b"\n"):
            with self._path.open(
                "ab"
            ) as file:  # what a killed round left half-written stays a line of its own
                file.write(b"\n")

    def add(self, outcome: Outcome) -> str | None:
        """Note an outcome; the first time that the disk takes none, what is to be said."""
        fresh_line = "\n" if self._unwritten else ""  # after what may be half a line
        try:
            with self._path.open("a", encoding="utf-8") as file:
                file.write(f"{fresh_line}{json.dumps(outcome.as_json(), ensure_ascii=False)}\n")
        except OSError as error:
            first = not self._unwritten
            self._unwritten[outcome.folder] = outcome
            reason = f"{self._path} can't be written to ({error.strerror or error})"
            return f"{reason}; the round goes on, but broken off it would begin anew." if first else None
        self._unwritten.pop(outcome.folder, None)
        return None

    def outcomes(self) -> Iterator[Outcome]:
        """The last line of each site, in order of last mention; half a line is none."""
        last: dict[str, int] = {}
        for at, outcome in self._lines():
            last[outcome.folder] = at
        wanted = {at for folder, at in last.items() if folder not in self._unwritten}
        yield from (outcome for at, outcome in self._lines() if at in wanted)
        yield from self._unwritten.values()

    def made(self, round_: Round) -> set[str]:
        """Sites whose sheets are made as the round asks, and still there."""
        return {outcome.folder for outcome in self.outcomes() if outcome.is_as_asked(round_)}

    def _lines(self) -> Iterator[tuple[int, Outcome]]:
        try:
            with self._path.open(encoding="utf-8", errors="replace") as file:
                for at, line in enumerate(file):
                    try:
                        yield at, outcome_from(json.loads(line))
                    except (ValueError, TypeError, LookupError):
                        continue
        except OSError:
            return
