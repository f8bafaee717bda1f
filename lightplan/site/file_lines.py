"""Which line of the file a table or key stands on, so that problems come in file order."""

from __future__ import annotations

import re

from lightplan.site.problems import Path
from lightplan.site.toml_text import bare

HEADER = re.compile(r"^(\[\[?)([^\]]+)\]\]?$")
KEY = re.compile(r"^([\w.\"'-]+)\s*=")


def line_numbers(text: str) -> dict[Path, int]:
    """Line of every table header and of every key that begins a line. `text` is valid TOML."""
    found: dict[Path, int] = {}
    counts: dict[Path, int] = {}  # how many of each [[array of tables]] so far
    table: Path = ()
    depth = 0  # open brackets of a value that runs over several lines
    for number, line in enumerate(text.splitlines(), 1):
        rest = bare(line)
        if depth <= 0:
            depth = 0
            if header := HEADER.match(rest):
                table = _table(header[2], counts, new=header[1] == "[[")
                found.setdefault(table, number)
                continue
            if key := KEY.match(rest):
                found.setdefault((*table, *_parts(key[1])), number)
        depth += sum(rest.count(mark) for mark in "[{") - sum(rest.count(mark) for mark in "]}")
    return found


def _parts(dotted: str) -> list[str]:
    return [part.strip().strip("\"'") for part in dotted.split(".")]


def _table(dotted: str, counts: dict[Path, int], *, new: bool) -> Path:
    *above, last = _parts(dotted)
    path: Path = ()
    for part in above:
        path = (*path, part)
        if path in counts:
            path = (*path, counts[path] - 1)
    path = (*path, last)
    if new:
        counts[path] = counts.get(path, 0) + 1
        return (*path, counts[path] - 1)
    return path


def places(value: object, path: Path = ()) -> dict[Path, int]:
    """Path → its place in a walk through the document, for values that share a line."""
    found: dict[Path, int] = {}
    _walk(value, path, found)
    return found


def _walk(value: object, path: Path, found: dict[Path, int]) -> None:
    found[path] = len(found)
    if isinstance(value, dict):
        for key, item in value.items():
            _walk(item, (*path, key), found)
    elif isinstance(value, list):
        for number, item in enumerate(value):
            _walk(item, (*path, number), found)


def nearest_to(path: Path, numbers: dict[Path, int]) -> int:
    """Number of a path, or of the nearest table or key around it."""
    while path and path not in numbers:
        path = path[:-1]
    return numbers.get(path, 0)
