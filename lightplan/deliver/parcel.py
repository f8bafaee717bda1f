"""What one run has to deliver, whole: it can be kept on disk and sent another day."""

from __future__ import annotations

import base64
import json
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Protocol

Files = tuple[tuple[str, bytes], ...]  # name, content


@dataclass(frozen=True)
class Parcel:
    """A day's sheet on its way.

    text : its orders as plain lines, for where nothing else gets through. files : name and content.
    left : mail addresses that still wait for it; empty = all of them.
    """

    site: str  # the site's id
    day: date
    made_at: datetime
    subject: str
    text: str
    files: Files
    left: tuple[str, ...] = field(default=())

    def content(self, suffix: str) -> bytes | None:
        return next((content for name, content in self.files if name.endswith(suffix)), None)


class Undelivered(Exception):
    """Why a parcel did not get through, as a phrase after the channel's name.

    left : mail addresses that it did not reach, where it reached others.
    """

    def __init__(self, phrase: str, left: tuple[str, ...] = ()) -> None:
        super().__init__(phrase)
        self.left = left


class Channel(Protocol):
    """A way that a parcel can go. send : raises Undelivered."""

    @property
    def name(self) -> str:
        """Of its files in the outbox."""

    @property
    def words(self) -> str:
        """For people."""

    def send(self, parcel: Parcel, sent_at: datetime, *, late: bool) -> None: ...


def as_text(parcel: Parcel) -> str:
    return json.dumps(
        {
            "site": parcel.site,
            "day": parcel.day.isoformat(),
            "made_at": parcel.made_at.isoformat(),
            "subject": parcel.subject,
            "text": parcel.text,
            "files": [[name, base64.b64encode(content).decode()] for name, content in parcel.files],
            "left": list(parcel.left),
        },
        ensure_ascii=False,
    )


def from_text(text: str) -> Parcel:
    """Raises ValueError where the text is no parcel."""
    try:
        held = json.loads(text)
        return Parcel(
            site=str(held["site"]),
            day=date.fromisoformat(held["day"]),
            made_at=datetime.fromisoformat(held["made_at"]),
            subject=str(held["subject"]),
            text=str(held["text"]),
            files=tuple((str(name), base64.b64decode(content)) for name, content in held["files"]),
            left=tuple(str(address) for address in held["left"]),
        )
    except (LookupError, TypeError, ValueError) as error:
        raise ValueError(f"no parcel of lightplan ({error})") from error
