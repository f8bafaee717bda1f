"""Every site under a folder."""

from __future__ import annotations

import os
from pathlib import Path

FILE = "site.toml"


def sites_under(base: Path) -> tuple[str, ...]:
    """Folders that hold a site file, as paths below `base` with forward slashes, sorted.

    A site's own folders are not searched, nor are hidden ones; links are not followed.
    """
    found = []
    for folder, below, files in os.walk(base):
        if FILE in files:
            found.append(Path(folder).relative_to(base).as_posix())
            below.clear()
        below[:] = sorted(name for name in below if not name.startswith("."))
    return tuple(sorted(found))
