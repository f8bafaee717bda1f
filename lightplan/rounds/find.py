"""Every site under a folder."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

FILE = "site.toml"


def sites_under(base: Path, on_fault: Callable[[OSError], None] | None = None) -> tuple[str, ...]:
    """Folders that hold a site file, as paths below `base` with forward slashes, sorted.

    A site's own folders are not searched, nor are hidden ones; links are not followed. on_fault : is told of
    each folder that can't be looked into.
    """
    found = []
    for folder, below, files in os.walk(base, onerror=on_fault):
        if FILE in files:
            found.append(Path(folder).relative_to(base).as_posix())
            below.clear()
        below[:] = sorted(name for name in below if not name.startswith("."))
    return tuple(sorted(found))
