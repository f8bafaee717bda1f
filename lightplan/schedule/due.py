"""Is a sheet due? By the site's own clock and by what was made before, whoever knocks and how often.

Every timer may knock late, twice, or each quarter hour: the sheet of a time is made once. So a computer that
slept makes it when it wakes, and a changed clock neither skips nor doubles a day.
"""

from __future__ import annotations

import hashlib
import json
import tempfile
from contextlib import suppress
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from pathlib import Path

from lightplan.files import replace_file

FOLDER, STATE, LOCK, LOG = "timer", "state.json", "run.lock", "log.txt"
KNOCK_MIN = 15  # how often timers knock, where they know no better
MOST_TRIES = 8  # of one sheet that fails by our fault or a wrong file: two hours of knocks; judgement


@dataclass(frozen=True)
class Slot:
    """A time at which a sheet is due: the site's date, minutes after midnight by its clock."""

    day: date
    at_min: int


@dataclass(frozen=True)
class State:
    """What became of the last slot."""

    slot: Slot
    tries: int
    done: bool


def last_slot(now: datetime, times_min: tuple[int, ...]) -> Slot | None:
    """The latest of today's times that is past; None before the first. now : the site's clock."""
    today = now.date()
    past = [at for at in times_min if moment(Slot(today, at), now).timestamp() <= now.timestamp()]
    return Slot(today, max(past)) if past else None


def moment(slot: Slot, now: datetime) -> datetime:
    """The instant of a slot. A time that a change of clocks skips counts on from the hour before it."""
    return datetime.combine(slot.day, time(slot.at_min // 60, slot.at_min % 60), now.tzinfo)


def is_due(slot: Slot, state: State | None) -> bool:
    return state is None or state.slot != slot or (not state.done and state.tries < MOST_TRIES)


def just_now(slot: Slot, now: datetime) -> bool:
    """Whether the slot began less than a knock ago: all there is to go by where nothing can be remembered."""
    age = timedelta(seconds=now.timestamp() - moment(slot, now).timestamp())
    return age < timedelta(minutes=KNOCK_MIN)


class Memory:
    """The state on disk: in the site's folder, else among the computer's temporary files."""

    def __init__(self, site_folder: Path) -> None:
        own = site_folder.resolve()
        whose = hashlib.sha256(str(own).encode()).hexdigest()[:10]
        elsewhere = Path(tempfile.gettempdir()) / f"lightplan-{whose}"
        self._paths = (own / FOLDER / STATE, elsewhere / FOLDER / STATE)

    def read(self) -> State | None:
        """The latest state that either place holds; what can't be read is none."""
        found = [state for path in self._paths if (state := _read(path)) is not None]
        return max(found, key=lambda s: (s.slot.day, s.slot.at_min, s.done, s.tries), default=None)

    def write(self, state: State) -> bool:
        """Whether a disk took it. What another place holds of earlier goes, since the latest there counts."""
        content = {
            "day": state.slot.day.isoformat(),
            "at_min": state.slot.at_min,
            "tries": state.tries,
            "done": state.done,
        }
        for path in self._paths:
            try:
                path.parent.mkdir(parents=True, exist_ok=True)
                replace_file(path, json.dumps(content).encode())
            except OSError:
                continue
            for other in self._paths:
                if other != path:
                    with suppress(OSError):
                        other.unlink(missing_ok=True)
            return True
        return False


def _read(path: Path) -> State | None:
    try:
        held = json.loads(path.read_text(encoding="utf-8"))
        slot = Slot(date.fromisoformat(held["day"]), int(held["at_min"]))
        return State(slot, int(held["tries"]), bool(held["done"]))
    except (OSError, ValueError, LookupError, TypeError):
        return None
