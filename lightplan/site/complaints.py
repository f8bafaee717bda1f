"""What the schema refuses, put in our own words. Pydantic's texts are never shown, only its error types."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from typing import Any, get_args

import annotated_types
from pydantic.fields import FieldInfo

from lightplan.site.problems import Path, Problem, held, nearest_or_choices
from lightplan.site.ranges import bound_in_words, other_unit, range_in_words, swapped_coordinates
from lightplan.site.rows import Row
from lightplan.site.strange_keys import strange_key
from lightplan.site.table import fields
from lightplan.site.values import OWN

WANTED = {
    "float_type": "a number",
    "int_type": "a whole number",
    "int_from_float": "a whole number",
    "string_type": "text in quotes",
    "tuple_type": "a list in [ ]",
    "frozen_set_type": "a list in [ ]",
}
NUMBERS = frozenset({"float_type", "int_type", "int_from_float"})
RANGE_ERRORS = frozenset({"greater_than", "greater_than_equal", "less_than", "less_than_equal"})
NAMED = {
    "glazing": "oddments",
    "cover": "tatty",
    "crop": "petunia.seedling",
}  # tables by name, with an example
Error = Any  # pydantic_core.ErrorDetails


def complaints(errors: Iterable[Error], root: Row) -> Iterator[Problem]:
    """One problem for each thing that the schema refused."""
    rows = {row.path: row for row in root.everyone()}
    for error in errors:
        path: Path = tuple(error["loc"])
        row = _row_around(path, rows)
        inner = path[len(row.path) :]
        if not (error["type"] == "too_short" and len(error["input"]) >= error["ctx"]["min_length"]):
            yield _complaint(error, row, str(inner[0]) if inner else "", inner[1:])


def _row_around(path: Path, rows: dict[Path, Row]) -> Row:
    above = path[:-1]
    while above not in rows:
        above = above[:-1]
    return rows[above]


def _complaint(error: Error, row: Row, key: str, inner: Path) -> Problem:
    """inner : the way on from the key, into a list or a named table."""
    kind: str = error["type"]
    if kind == "extra_forbidden":
        return strange_key(row, key)
    info = fields(row.kind)[key]
    if kind == "missing" and not inner:
        return _missing(row, key, info)
    if kind in ("model_type", "model_attributes_type", "dict_type") or (
        kind == "tuple_type" and not row.path
    ):
        return _not_a_table(row, key, inner, error["input"])
    what, slug = _what_would_do(error, row, key, info, inner)
    subject = row.written(key)
    if inner and not isinstance(error["input"], dict):
        return row.problem(key, f"{subject} holds {held(error['input'])}; {what}", slug)
    joint = "" if what.startswith(",") else "; "
    return row.problem(key, f"{subject} is {held(row.raw.get(subject))}{joint}{what}", slug)


def _missing(row: Row, key: str, info: FieldInfo) -> Problem:
    if not row.path:
        brackets = "[[house]]" if key == "house" else f"[{key}]"
        return row.problem(key, f"{brackets} is missing; it holds {info.description}", "missing-key")
    quantity = row.quantity(key)
    forms = f" ({key} or {quantity.us_key(key)})" if quantity is not None else ""
    return row.problem(key, f"{key} is missing; give {info.description}{forms}", "missing-key")


def _not_a_table(row: Row, key: str, inner: Path, value: object) -> Problem:
    if not row.path and key in ("house", "bench"):
        if isinstance(value, dict) and "batch" in value:
            return row.problem(
                key, "[[bench.batch]] stands before its [[bench]]; put the bench first", "brackets"
            )
        return row.problem(key, f"write [[{key}]] with two brackets: there may be several", "brackets")
    if not row.path and isinstance(value, list):
        return row.problem(key, f"write [{key}] with one bracket: there is only one", "brackets")
    if not row.path and inner:
        return _not_a_named_table(row, key, inner, value)
    if not row.path:
        heading = f"[{key}.NAME]" if key in NAMED else f"[{key}]"
        return row.problem(key, f"{key} is {held(value)}; write a table under {heading}", "wrong-type")
    if key == "insulation" and value is True:
        return row.problem(key, "insulation is true; the short form is insulated = true", "wrong-type")
    shape = "{ key = value, … }" if not isinstance(value, list) else "one table in { }, not a list"
    written = row.written(key)
    return row.problem(key, f"{written} is {held(value)}; give {shape}", "wrong-type")


def _not_a_named_table(row: Row, key: str, inner: Path, value: object) -> Problem:
    """A value where a named table should stand, as in `[cover]` with `cloth = 0.5`."""
    if key == "crop" and len(inner) > 1:
        told = f"crop {inner[0]} holds {inner[1]} without a stage; write it under [crop.{inner[0]}.seedling]"
        return row.problem(key, told, "brackets", inner)
    told = f"{inner[-1]} is {held(value)}, but [{key}] holds named tables, such as [{key}.{NAMED[key]}]"
    return row.problem(key, told, "brackets", inner)


def _what_would_do(error: Error, row: Row, key: str, info: FieldInfo, inner: Path) -> tuple[str, str]:
    """The part of the sentence that says what would do, and the rule's slug."""
    kind: str = error["type"]
    if kind == OWN:
        return error["msg"], "wrong-value"
    if kind == "literal_error":
        return nearest_or_choices(error["input"], _choices(info.annotation)), "unknown-name"
    if kind in RANGE_ERRORS:
        if inner:
            return f"give {info.description}, {bound_in_words(error['ctx'])}", "out-of-range"
        if key == "latitude" and (swapped := swapped_coordinates(row)):
            return swapped, "swapped-coordinates"
        return f"give {info.description}{range_in_words(row, key)}{other_unit(row, key)}", "out-of-range"
    if kind == "finite_number":
        return f"give {info.description} as an ordinary number", "not-finite"
    if kind in ("too_short", "too_long", "missing"):
        return f"give {info.description}{_how_many(error, info)}", "wrong-length"
    if kind in ("string_too_short", "string_pattern_mismatch", "string_too_long"):
        return f"give {info.description}", "wrong-value"
    wanted = WANTED.get(kind, "another kind of value")
    quotes = ", without quotes" if isinstance(error["input"], str) and kind in NUMBERS else ""
    if kind == "bool_type":
        return f"say {info.description}: true or false", "wrong-type"
    joint = ": " if re.search(r"\bas\b|[,(]", info.description or "") else " as "
    return f"give {info.description}{joint}{wanted}{quotes}", "wrong-type"


def _choices(annotation: Any) -> tuple[str, ...]:
    """The words of a Literal, however deep it lies."""
    parts = get_args(annotation)
    if parts and all(isinstance(part, str) for part in parts):
        return parts
    return next((found for part in parts if (found := _choices(part))), ())


def _how_many(error: Error, info: FieldInfo) -> str:
    context = error.get("ctx") or {}
    if error["type"] == "missing" or (error["type"] == "too_long" and context.get("max_length") == 2):
        return ": two numbers"
    least, most = context.get("min_length"), context.get("max_length")
    if least is not None and any(isinstance(mark, annotated_types.MaxLen) for mark in info.metadata):
        return f": {least} values" if least > 1 else ", at least one"
    return f", at least {least}" if least is not None else f", at most {most}"
