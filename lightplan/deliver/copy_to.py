"""The sheet in another folder: a share, a stick, a folder that something else carries on."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from lightplan.deliver.parcel import Parcel, Undelivered
from lightplan.files import replace_file
from lightplan.weather.deadline import Deadline, within
from lightplan.weather.table import SourceFault

LONGEST_S = 20.0  # a share that hangs holds a call for minutes


@dataclass(frozen=True)
class Folder:
    """path : must be there; it is not made, since an unplugged share would be filled in its absence."""

    path: Path
    longest_s: float = LONGEST_S
    name: str = "folder"

    @property
    def words(self) -> str:
        return f"Folder {self.path}"

    def send(self, parcel: Parcel, sent_at: datetime, *, late: bool) -> None:
        try:
            within(Deadline(self.longest_s), lambda: self._copy(parcel))
        except SourceFault as fault:
            raise Undelivered(str(fault)) from fault
        except OSError as error:
            raise Undelivered(f"can't be written to ({error.strerror or error})") from error

    def _copy(self, parcel: Parcel) -> None:
        if not self.path.is_dir():
            raise Undelivered("is not there; lightplan does not make it, in case it is a share that is away")
        for name, content in parcel.files:
            replace_file(self.path / f"{parcel.site}-{name}", content)
        if not parcel.files:
            name = f"{parcel.site}-{parcel.day.isoformat()}.txt"
            replace_file(self.path / name, parcel.text.encode())


def folder_called(text: str, site_folder: Path) -> Path:
    """A folder as the site file names it: `~` is home, a relative one counts from the site's folder."""
    return (site_folder / Path(text).expanduser()).resolve()
