"""What a round is, and what it makes of one site: records that travel between processes and computers."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import date, datetime, time
from pathlib import Path, PurePosixPath
from typing import Any
from zoneinfo import ZoneInfo


@dataclass(frozen=True)
class Round:
    """base : absolute path of the folder of sites. asked_at : the one instant at which all is asked.

    day : another date than each site's today. clock : every site's local clock, instead of the instant's.
    shared : folder of the answers that sites of a grid cell share.
    """

    base: Path
    asked_at: datetime
    formats: tuple[str, ...]
    shared: Path
    day: date | None = None
    clock: datetime | None = None
    offline: bool = False
    deliver: bool = False

    def clock_at(self, zone: ZoneInfo) -> datetime:
        """The site's clock."""
        return self.asked_at.astimezone(zone) if self.clock is None else self.clock.replace(tzinfo=zone)

    def sheet_at(self, zone: ZoneInfo) -> tuple[date, datetime]:
        """The sheet's date and the moment it is made: another date's is made as if at 00:00 of it."""
        now = self.clock_at(zone)
        if self.day is None or self.day == now.date():
            return now.date(), now
        return self.day, datetime.combine(self.day, time(0), zone)


@dataclass(frozen=True)
class Outcome:
    """What became of one site. folder, files : below the round's folder, with forward slashes.

    code : the exit code that `morning` would give. sentence : the sheet's own, or why there is none.
    weather : its source in words. said : what was to be said. delivered : handed over, or into the outbox.
    """

    folder: str
    name: str
    code: int
    sentence: str
    day: str | None = None
    weather: str | None = None
    orders: int = 0
    files: tuple[str, ...] = ()
    said: tuple[str, ...] = ()
    seconds: float = 0.0
    delivered: bool = False

    @property
    def made(self) -> bool:
        return bool(self.files)

    def is_as_asked(self, round_: Round) -> bool:
        """Whether it stands, in every format that a round asks for, and went out if it is to."""
        formats = {PurePosixPath(file).suffix[1:] for file in self.files}
        return (
            formats >= set(round_.formats)
            and (self.delivered or not round_.deliver)
            and all((round_.base / file).is_file() for file in self.files)
        )

    def as_json(self) -> dict[str, Any]:
        return asdict(self)


def outcome_from(held: dict[str, Any]) -> Outcome:
    """Raises TypeError, ValueError or LookupError where it is none."""
    return Outcome(**{**held, "files": tuple(held["files"]), "said": tuple(held["said"])})
