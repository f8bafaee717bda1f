"""The document → a tree of rows, each checked as far as it can be."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from typing import Any, get_args, get_origin

from pydantic import ValidationError, create_model

from lightplan.site.problems import Path
from lightplan.site.rows import Document, Row
from lightplan.site.table import Table, fields, us_keys

ONE_OF = {"rates": "rate", "layers": "layer"}  # what a row of such a list is called


def rows_of(
    kind: type[Table], raw: Document, errors: frozenset[Path], *, path: Path = (), place: str = ""
) -> Row:
    """The row of a table and all rows inside it.

    errors : paths that failed the schema, by metric keys.
    """
    inside = {error[len(path)] for error in errors if error[: len(path)] == path and len(error) > len(path)}
    bad = frozenset(str(key) for key in inside if key in fields(kind))
    children = {
        key: tuple(
            rows_of(inner, item, errors, path=(*path, key, *part), place=_place(place, key, part, item))
            for part, item in _tables_in(raw[key], names)
        )
        for key, (inner, names) in inner_tables(kind).items()
        if key in raw
    }
    return Row(kind, _table(kind, raw, bad), raw, path, place, bad, children)


@cache
def inner_tables(kind: type[Table]) -> dict[str, tuple[type[Table], int]]:
    """Key → the table it holds, with how many names stand above that: 1 in `[glazing.X]`."""
    held = ((key, _inner_table(info.annotation), info.annotation) for key, info in fields(kind).items())
    return {key: (inner, _named_deep(annotation)) for key, inner, annotation in held if inner is not None}


def _inner_table(annotation: Any) -> type[Table] | None:
    """The table in an annotation such as `tuple[BatchRow, ...]` or `BarsTable | None`."""
    if isinstance(annotation, type) and issubclass(annotation, Table):
        return annotation
    return next((found for part in get_args(annotation) if (found := _inner_table(part))), None)


def _named_deep(annotation: Any) -> int:
    return 1 + _named_deep(get_args(annotation)[1]) if get_origin(annotation) is dict else 0


def _tables_in(value: object, names: int, part: Path = ()) -> Iterator[tuple[Path, Document]]:
    if isinstance(value, list):
        yield from (((*part, number), item) for number, item in enumerate(value) if isinstance(item, dict))
    elif isinstance(value, dict) and names:
        for name, item in value.items():
            yield from _tables_in(item, names - 1, (*part, name))
    elif isinstance(value, dict):
        yield part, value


def _place(above: str, key: str, part: Path, raw: Document) -> str:
    """A row's place in words: by its id or name where it has one, else by its number."""
    word = ONE_OF.get(key, key)
    if part and isinstance(part[-1], int):
        word += f' "{raw["id"]}"' if isinstance(raw.get("id"), str) else f" {part[-1] + 1}"
    elif part:
        word += f' "{part[0]}"' + "".join(f', stage "{stage}"' for stage in part[1:])
    if key == "batch" and isinstance(raw.get("crop"), str):
        word += f" ({raw['crop']})"
    return f"{above}, {word}" if above else word


def metric_key(kind: type[Table], key: str) -> str:
    """The metric form of a key as the file spells it."""
    return us_keys(kind)[key][0] if key in us_keys(kind) else key


def _table(kind: type[Table], raw: Document, bad: frozenset[str]) -> Table | None:
    known = {key: value for key, value in raw.items() if metric_key(kind, key) in fields(kind)}
    for us_key, (key, _) in us_keys(kind).items():
        if key in known:
            known.pop(us_key, None)  # both forms given, which is told elsewhere
    try:
        return _without(kind, bad).model_validate(
            {key: value for key, value in known.items() if metric_key(kind, key) not in bad}
        )
    except ValidationError:
        return None


@cache
def _without(kind: type[Table], bad: frozenset[str]) -> type[Table]:
    """The table without the keys that failed."""
    if not bad:
        return kind
    kept: dict[str, Any] = {
        name: (info.annotation, info)
        for name, info in kind.model_fields.items()
        if (info.alias or name) not in bad
    }
    return create_model(f"{kind.__name__}Kept", __base__=Table, **kept)
