"""A change tried on the site file without writing it: `house.glass.dirt_loss=0`.

The way to a value goes by the file's own keys, houses and benches by their id. The value is written as in
the file. What comes of it is checked as the file is.
"""

from __future__ import annotations

import copy
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from lightplan.problems import InputError
from lightplan.site.problems import a_list, nearest
from lightplan.site.row_tree import inner_tables
from lightplan.site.schema import SiteFile
from lightplan.site.table import Table, us_keys

FORM = "write it like house.glass.dirt_loss=0 or bench.plugs.lamps.ppfd=120"
Document = dict[str, Any]


class WhatIfError(InputError):
    """A change that cannot be made; the sentence says what would do."""


@dataclass(frozen=True)
class Change:
    """keys : way to the value, ids in it. value : as TOML reads it. words : as it was asked."""

    keys: tuple[str, ...]
    value: Any
    words: str


def change_of(words: str) -> Change:
    """A change from `KEY=VALUE`. Raises WhatIfError where it is not of that form."""
    key, equals, value = words.partition("=")
    keys = tuple(part.strip().strip('"') for part in key.split("."))
    if not equals or not value.strip() or len(keys) < 2 or not all(keys):
        raise WhatIfError(f"--what-if {words}: {FORM}.")
    return Change(keys, _value(value.strip()), words)


def _value(text: str) -> Any:
    """The value as TOML; a word without quotes is taken as that word."""
    try:
        return tomllib.loads(f"value = {text}")["value"]
    except tomllib.TOMLDecodeError:
        return text


def changed(document: Document, changes: Iterable[Change]) -> Document:
    """The document with every change made in order, the given one left as it is. Raises WhatIfError."""
    found = copy.deepcopy(document)
    for change in changes:
        _make(found, SiteFile, change, change.keys)
    return found


def _make(table: Document, kind: type[Table] | None, change: Change, keys: tuple[str, ...]) -> None:
    key, rest = keys[0], keys[1:]
    if not rest:
        _drop_other_unit(table, kind, key)
        table[key] = change.value
        return
    inner = inner_tables(kind).get(key) if kind is not None else None
    held = table.get(key)
    if isinstance(held, list):
        row, rest = _row(held, key, change, rest)
        if not rest:
            raise WhatIfError(f"--what-if {change.words}: name a key of it too; {FORM}.")
        _make(row, inner[0] if inner else None, change, rest)
        return
    if held is None and inner is not None:
        held = table[key] = {}
    if not isinstance(held, dict):
        raise WhatIfError(f"--what-if {change.words}: {key} holds no keys here; {_known(table, kind)}.")
    deep = inner[1] if inner else 0
    for _ in range(deep):  # [glazing.NAME], [crop.NAME.STAGE]
        if len(rest) < 2:
            raise WhatIfError(f"--what-if {change.words}: name a key of it too; {FORM}.")
        held = held.setdefault(rest[0], {})
        rest = rest[1:]
    _make(held, inner[0] if inner else None, change, rest)


def _row(
    rows: list[Any], key: str, change: Change, rest: tuple[str, ...]
) -> tuple[Document, tuple[str, ...]]:
    """The row that an id or a number from 1 names, and the keys after it."""
    name = rest[0]
    tables = [row for row in rows if isinstance(row, dict)]
    for row in tables:
        if row.get("id") == name:
            return row, rest[1:]
    if name.isdigit() and 1 <= int(name) <= len(tables):
        return tables[int(name) - 1], rest[1:]
    ids = [str(row["id"]) for row in tables if "id" in row]
    near = nearest(name, ids)
    hint = f'the nearest is "{near}"' if near else (f"there are {a_list(ids, 'and')}" if ids else FORM)
    raise WhatIfError(f'--what-if {change.words}: there is no {key} "{name}"; {hint}.')


def _known(table: Document, kind: type[Table] | None) -> str:
    keys = list(inner_tables(kind)) if kind is not None else list(table)
    return f"tables here are {a_list(keys, 'and')}" if keys else FORM


def _drop_other_unit(table: Document, kind: type[Table] | None, key: str) -> None:
    """A change in metres takes away the feet that the file gives, and the other way round."""
    if kind is None:
        return
    for us_key, (metric, _) in us_keys(kind).items():
        if key == metric:
            table.pop(us_key, None)
        elif key == us_key:
            table.pop(metric, None)
