"""Secrets for runs that no shell starts: a timer knows none of the variables of the grower's own windows.

`NAME=VALUE` lines in a file that only its owner may read; what the environment has already goes before it.
"""

from __future__ import annotations

import os
import re
import sys
from pathlib import Path

LINE = re.compile(r"\s*(?:export\s+)?([A-Za-z_]\w*)\s*=\s*(.*?)\s*")


def environment_path() -> Path:
    if sys.platform == "win32":
        return Path(os.environ.get("APPDATA", str(Path.home()))) / "lightplan" / "environment"
    config = os.environ.get("XDG_CONFIG_HOME") or str(Path.home() / ".config")
    return Path(config) / "lightplan" / "environment"


def read_environment(path: Path) -> tuple[dict[str, str], tuple[str, ...]]:
    """Variables, and what is to be said of the file. A value is never repeated."""
    try:
        mode = path.stat().st_mode
        if sys.platform != "win32" and mode & 0o077:
            return {}, (f"{path} can be read by others and is not used; close it with: chmod 600 {path}",)
        text = path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        return {}, ()
    except (OSError, UnicodeDecodeError) as error:
        return {}, (f"{path} can't be read ({getattr(error, 'strerror', None) or error}).",)
    found, said = {}, []
    for number, line in enumerate(text.splitlines(), start=1):
        if not line.strip() or line.lstrip().startswith("#"):
            continue
        parts = LINE.fullmatch(line)
        if parts is None:
            said.append(f"{path}, line {number} is not NAME=VALUE and is passed over.")
            continue
        name, value = parts.groups()
        if len(value) >= 2 and value[0] == value[-1] and value[0] in "\"'":
            value = value[1:-1]
        found[name] = value
    return found, tuple(said)


def take_environment(path: Path | None = None) -> tuple[str, ...]:
    """Put the file's variables where the environment lacks them; what is to be said."""
    found, said = read_environment(path or environment_path())
    for name, value in found.items():
        os.environ.setdefault(name, value)
    return said
