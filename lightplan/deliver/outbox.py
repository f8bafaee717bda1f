"""What is not delivered yet, kept on disk before the first try, so that no fault and no kill loses it.

A slip is one parcel for one channel; a later look at the same day takes the place of the earlier.
"""

from __future__ import annotations

import hashlib
import os
import tempfile
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from lightplan.deliver.parcel import Parcel, as_text, from_text
from lightplan.files import replace_file, sweep

FOLDER = "outbox"
MOST_WAITING = 60  # days of one channel; a broken printer must not fill the disk over a year; judgement


@dataclass(frozen=True)
class Slip:
    path: Path
    parcel: Parcel


class Outbox:
    """The site's own outbox, and a second among the computer's temporary files for when it takes none."""

    def __init__(self, site_folder: Path) -> None:
        own = site_folder.resolve()
        whose = hashlib.sha256(str(own).encode()).hexdigest()[:10]  # two sites may bear one name
        self._places = (own / FOLDER, Path(tempfile.gettempdir()) / f"lightplan-{whose}" / FOLDER)
        self.complaints: list[str] = []

    @property
    def lock_path(self) -> Path:
        return self._places[0] / "delivering.lock"

    def put(self, channel: str, parcel: Parcel) -> Slip | None:
        """Keep a parcel for a channel; None where no disk takes it."""
        for place in self._places:
            path = place / f"{channel}-{parcel.day.isoformat()}.json"
            try:
                place.mkdir(parents=True, exist_ok=True)
                replace_file(path, as_text(parcel).encode())
            except OSError:
                continue
            for other in self._places:
                if other != place:  # an earlier look's, which this one replaces
                    with suppress(OSError):
                        (other / path.name).unlink(missing_ok=True)
            return Slip(path, parcel)
        return None

    def pending(self, channel: str) -> list[Slip]:
        """Slips of a channel, oldest day first. What can't be read is put aside and said."""
        found = []
        for path in self._paths(f"{channel}-*.json"):
            try:
                found.append(Slip(path, from_text(path.read_text(encoding="utf-8"))))
            except FileNotFoundError:
                continue
            except (OSError, UnicodeDecodeError, ValueError) as error:
                self.complaints.append(f"{path} can't be read ({error}) and is put aside.")
                with suppress(OSError):
                    path.replace(path.with_suffix(".broken"))
        found.sort(key=lambda slip: slip.parcel.day)
        if too_many := found[:-MOST_WAITING]:
            self.drop(too_many)
            self.complaints.append(
                f"{len(too_many)} sheet(s) of {too_many[0].parcel.day} and later waited for {channel} behind"
                f" {MOST_WAITING} newer ones and are let go; they lie in the sheets folder."
            )
        return found[-MOST_WAITING:]

    def waits(self) -> bool:
        """Whether anything waits at all: a look at the disk, nothing is read."""
        return bool(self._paths("*-*.json"))

    def channels(self) -> set[str]:
        """Every channel that something waits for."""
        return {path.name.split("-", 1)[0] for path in self._paths("*-*.json")}

    def drop(self, slips: Iterable[Slip]) -> None:
        """Let slips go, but not what another run has put in the place of one in the meantime."""
        for slip in slips:
            if self.holds(slip):
                with suppress(OSError):
                    slip.path.unlink(missing_ok=True)

    def holds(self, slip: Slip) -> bool:
        """Whether it still lies there as it was put, and no later look at its day instead."""
        try:
            held = from_text(slip.path.read_text(encoding="utf-8"))
        except (OSError, UnicodeDecodeError, ValueError):
            return False
        put = slip.parcel
        # as text: moments of an hour that comes twice are never equal across zones (PEP 495)
        return (held.made_at.isoformat(), held.left) == (put.made_at.isoformat(), put.left)

    def sweep(self) -> None:
        """Only while the outbox is locked."""
        for place in self._places:
            sweep(place)

    def _paths(self, pattern: str) -> list[Path]:
        found: list[Path] = []
        for place in self._places:
            with suppress(OSError):
                found += [path for path in place.glob(pattern) if path.is_file() and _ours(path)]
        return sorted(found)


def _ours(path: Path) -> bool:
    """Temporary folders are everybody's: what another user put there is not sent in the site's name."""
    if not hasattr(os, "getuid"):
        return True
    try:
        return path.stat().st_uid == os.getuid()
    except FileNotFoundError:
        return False
