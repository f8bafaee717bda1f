"""Files that are whole or not there: written without a name first, then put in place in one move."""

from __future__ import annotations

import contextlib
import os
import tempfile
from pathlib import Path

PART = ".lightplan-part"


def replace_file(path: Path, content: bytes) -> None:
    """Put `content` at `path`: a reader sees the old file or the new one, whole, whenever the program dies.

    Raises OSError where the folder can't be written to or is full; nothing is left behind then.
    """
    beside = _beside(path, content)
    try:
        beside.replace(path)
    except BaseException:
        beside.unlink(missing_ok=True)
        raise


def new_file(path: Path, content: bytes) -> None:
    """Put `content` at `path`, whole, unless something stands there: then FileExistsError.

    Raises OSError as `replace_file` does.
    """
    if path.exists() or path.is_symlink():
        raise FileExistsError(f"{path} stands already")
    beside = _beside(path, content)
    try:
        os.link(beside, path)
    except FileExistsError:
        raise
    except OSError:  # a file system without links; between the look above and this move nobody may come
        beside.replace(path)
    finally:
        beside.unlink(missing_ok=True)


def _beside(path: Path, content: bytes) -> Path:
    """The content, whole, under another name in the same folder."""
    beside = _nameless(path, content) or _named(path, content)
    try:
        beside.chmod(0o644)
    except BaseException:
        beside.unlink(missing_ok=True)
        raise
    return beside


def _nameless(path: Path, content: bytes) -> Path | None:
    """Written to a file without a name, which vanishes with the program; named once it is whole.

    None where the system has no such files.
    """
    if not hasattr(os, "O_TMPFILE"):
        return None
    try:
        handle = os.open(path.parent, os.O_TMPFILE | os.O_WRONLY, 0o600)
    except OSError:
        return None
    beside = path.with_name(f".{path.name}.{os.getpid()}{PART}")
    with os.fdopen(handle, "wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
        try:
            beside.unlink(missing_ok=True)
            os.link(f"/proc/self/fd/{file.fileno()}", beside, follow_symlinks=True)
        except OSError:  # no /proc, or no leave to name such a file
            return None
    return beside


def _named(path: Path, content: bytes) -> Path:
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=PART)
    beside = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
    except BaseException:
        beside.unlink(missing_ok=True)
        raise
    return beside


def sweep(folder: Path) -> None:
    """Take away what a killed run left half-written. Only while no other run can be writing there."""
    with contextlib.suppress(OSError):
        for left in folder.glob(f".*{PART}"):
            left.unlink(missing_ok=True)
