"""The trade's tables, one CSV each, every row with its source and how it was checked.

`checked` is "page" (read on a stored page) or "memory" (recalled, or a planning judgement).
The keys in `source` are spelled out in SOURCES.md beside this file.
"""

from __future__ import annotations

import csv
from functools import cache
from importlib.resources import files


@cache
def read_table(name: str) -> tuple[dict[str, str], ...]:
    """Rows of `tables/NAME.csv`, every cell as text (empty = not known)."""
    text = (files(__name__) / f"{name}.csv").read_text(encoding="utf-8")
    return tuple(csv.DictReader(text.splitlines()))
