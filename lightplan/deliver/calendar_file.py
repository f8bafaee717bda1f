"""The calendar file beside the sheet. What goes wrong with it is said; the sheet stands already."""

from __future__ import annotations

import tempfile
from dataclasses import replace
from pathlib import Path

from lightplan.dayplan import DayPlan
from lightplan.files import replace_file
from lightplan.report.write import WriteResult

CALENDAR = "ics"  # its format's name


def with_calendar(plan: DayPlan, written: WriteResult, asked_for: Path) -> WriteResult:
    """Write `YYYY-MM-DD.ics` where the sheet lies, going on from an earlier look's file.

    written : of the sheet. asked_for : the folder for its files, whether it could be written to or not.
    """
    folder = written.files[0].parent if written.files else asked_for
    elsewhere = Path(tempfile.gettempdir()) / f"lightplan-{plan.site.id}"
    said: list[str] = []
    for place in dict.fromkeys((folder, elsewhere)):
        try:
            path, sentence = _save(plan, place)
        except OSError as error:
            said.append(f"No calendar file could be written in {place} ({error.strerror or error}).")
        except Exception as error:  # an entry that trips the library must not take the sheet with it
            said.append(f"No calendar file could be made, by a fault of lightplan ({error!r:.160}).")
            break
        else:
            if sentence:
                written = replace(written, complaints=(*written.complaints, sentence))
            if said:
                said.append(f"The calendar file lies in {place} instead.")
            return replace(written, files=(*written.files, path), missing=(*written.missing, *said))
    return replace(written, missing=(*written.missing, *said))


def _save(plan: DayPlan, folder: Path) -> tuple[Path, str | None]:
    """The file, and what is to be said. Raises OSError where the folder can't be written to."""
    from lightplan.deliver.ics import calendar  # its library is loaded only where a calendar is wanted

    path = folder / f"{plan.day.isoformat()}.{CALENDAR}"
    folder.mkdir(parents=True, exist_ok=True)
    earlier = path.read_bytes() if path.is_file() else None
    said = None
    try:
        content = calendar(plan, earlier)
    except ValueError as error:
        content = calendar(plan)
        said = f"{path} is {error}; it is begun anew."
    replace_file(path, content)
    return path, said
