"""Checked values written back as TOML, in the site's own units."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from pydantic.fields import FieldInfo

from lightplan.site.models import Minutes, Span
from lightplan.site.quantities import converted
from lightplan.site.schema_site import crew_week
from lightplan.site.table import quantity_of
from lightplan.site.toml_form import as_toml
from lightplan.site.value_words import clock_words, days_words, lists, validator_of
from lightplan.site.values import clock, spans, weekdays

DECIMALS = 3  # of a converted measure: 30 ft comes back as 30, and a sixteenth of an inch is kept


def toml_value(value: Any, info: FieldInfo, *, us: bool) -> str:
    """A value as the file would hold it, under the key that `value_words.key_words` gives."""
    written = WRITTEN.get(validator_of(info))
    if written is not None:
        return written(value)
    quantity = quantity_of(info)
    if quantity is not None and us:
        return as_toml(converted(lists(value), lambda metric: round(quantity.to_us(metric), DECIMALS)))
    return as_toml(value)


def clock_toml(minutes: Minutes) -> str:
    return f'"{clock_words(minutes)}"'


def span_toml(span: Span) -> str:
    return f"[{clock_toml(span[0])}, {clock_toml(span[1])}]"


def spans_toml(found: tuple[Span, ...]) -> str:
    return span_toml(found[0]) if len(found) == 1 else f"[{', '.join(span_toml(span) for span in found)}]"


def crew_toml(week: tuple[Span | None, ...]) -> str:
    """One pair of hours for every day, as a fresh file has it."""
    return next(span_toml(hours) for hours in week if hours is not None)


def days_toml(days: frozenset[int]) -> str:
    return f'"{days_words(days)}"'


WRITTEN: dict[Any, Callable[[Any], str]] = {
    clock: clock_toml,
    spans: spans_toml,
    weekdays: days_toml,
    crew_week: crew_toml,
}
