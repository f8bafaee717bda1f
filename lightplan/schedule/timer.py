"""What every system is told: which site, at which times, and the words that run it."""

from __future__ import annotations

import hashlib
import os
import re
import subprocess
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol
from zoneinfo import ZoneInfo

from lightplan.problems import InputError
from lightplan.schedule.due import KNOCK_MIN

LONGEST_S = 20.0  # for a program of the system to answer


class ScheduleError(InputError):
    """The system does not take the timer; the sentence says what it said and what would do."""


@dataclass(frozen=True)
class Timer:
    """site : absolute path of its folder. times_min : minutes after midnight by the site's own clock."""

    site: Path
    times_min: tuple[int, ...]
    zone: ZoneInfo
    python: str = sys.executable

    @property
    def name(self) -> str:
        """A name of its own among the computer's timers: two sites may be called alike."""
        plain = re.sub(r"[^a-z0-9]+", "-", self.site.name.lower()).strip("-") or "site"
        return f"lightplan-{plain[:40]}-{hashlib.sha256(str(self.site).encode()).hexdigest()[:6]}"

    @property
    def times(self) -> tuple[str, ...]:
        return tuple(f"{at // 60:02}:{at % 60:02}" for at in self.times_min)

    @property
    def words(self) -> tuple[str, ...]:
        """The command a knock runs."""
        at = (word for time in self.times for word in ("--at", time))
        return (self.python, "-m", "lightplan", "due", str(self.site), *at)

    @property
    def knock_minutes(self) -> tuple[int, ...]:
        """Minutes of every hour at which a system that only knocks does so: on time, then each 15 min."""
        return tuple(sorted({(at + n) % 60 for at in self.times_min for n in range(0, 60, KNOCK_MIN)}))


@dataclass(frozen=True)
class Ran:
    """What a program of the system answered."""

    code: int
    out: str
    said: str


Run = Callable[..., Ran]  # words, and `given` for its standard input


def run_program(words: Sequence[str], given: str | None = None) -> Ran:
    """Run one of the system's programs. Raises ScheduleError where it is not there or hangs."""
    try:
        done = subprocess.run(
            list(words),
            input=given,
            stdin=subprocess.DEVNULL if given is None else None,
            capture_output=True,
            text=True,
            errors="replace",
            env={**os.environ, "LC_ALL": "C"},  # so that "no crontab" can be told from a fault
            timeout=LONGEST_S,
            check=False,
        )
    except FileNotFoundError:
        raise ScheduleError(f"{words[0]} is not on this computer.") from None
    except subprocess.TimeoutExpired:
        raise ScheduleError(f"{words[0]} does not answer within {LONGEST_S:.0f} s.") from None
    return Ran(done.returncode, done.stdout, " ".join(done.stderr.split())[:200])


def must(ran: Ran, words: Sequence[str]) -> None:
    if ran.code:
        raise ScheduleError(f"{' '.join(words)} ends with code {ran.code}: {ran.said or 'it says nothing'}.")


class System(Protocol):
    """One way to have a computer knock. run : how its programs are run."""

    name: str

    def shown(self, timer: Timer) -> str:
        """All that would be written and run, as text."""

    def install(self, timer: Timer, run: Run) -> tuple[str, ...]:
        """Put the timer in place of an earlier one of this site; what is to be said. Raises ScheduleError."""

    def remove(self, timer: Timer, run: Run) -> bool:
        """Take the site's timer away; whether there was one. Raises ScheduleError."""

    def stands(self, timer: Timer, run: Run) -> str | None:
        """The site's timer as it stands, as text; None where there is none."""
