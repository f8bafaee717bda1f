"""One run at a time on a site. The lock is the operating system's: it goes when its holder dies."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from filelock import FileLock, Timeout

from lightplan.files import replace_file

LOCK_NAME = "run.lock"
HOLDER_NAME = "run.holder"  # who holds it, in words; of no meaning once the lock is free
LONGEST_WAIT_S = 10.0  # another run takes a few seconds; a sheet is due within 60


@contextmanager
def site_lock(folder: Path, holder: str, wait_s: float = LONGEST_WAIT_S) -> Iterator[str | None]:
    """Hold the site's lock, and give None, or the sentence that says why it is done without.

    holder : who asks, as another run will name it. Without the lock nothing breaks: files are replaced whole
    and the database guards itself.
    """
    cache = folder.resolve() / "cache"
    lock = FileLock(cache / LOCK_NAME)
    sentence = None
    try:
        cache.mkdir(parents=True, exist_ok=True)
        lock.acquire(timeout=wait_s)
    except Timeout:
        sentence = (
            f"{_holder(cache)} has held {folder} for the {wait_s:.0f} s that this run waited;"
            " it goes on beside it, with nothing kept apart but whole files."
        )
    except (OSError, NotImplementedError) as error:
        reason = getattr(error, "strerror", None) or error
        sentence = f"{folder} can't be locked ({reason}); two runs at once would not be kept apart."
    else:
        with suppress(OSError):
            replace_file(cache / HOLDER_NAME, holder.encode())
    try:
        yield sentence
    finally:
        lock.release()


def _holder(cache: Path) -> str:
    try:
        return (cache / HOLDER_NAME).read_text(encoding="utf-8").strip() or "Another run"
    except (OSError, UnicodeDecodeError):
        return "Another run"
