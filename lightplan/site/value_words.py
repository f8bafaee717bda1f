"""Values of the site file written out, in the site's own units."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from pydantic import BeforeValidator
from pydantic.fields import FieldInfo

from lightplan.site.models import Minutes, Span
from lightplan.site.problems import a_list
from lightplan.site.quantities import converted, figure
from lightplan.site.schema_site import crew_week
from lightplan.site.table import quantity_of, unit_of
from lightplan.site.toml_form import as_toml
from lightplan.site.values import DAY_GROUPS, DAYS, clock, spans, weekdays

NOTHING = "none"


def key_words(key: str, info: FieldInfo, *, us: bool) -> str:
    """The key in the site's units: `width_ft` for a US site."""
    quantity = quantity_of(info)
    return quantity.us_key(key) if us and quantity is not None else key


def value_words(value: Any, info: FieldInfo, *, us: bool) -> str:
    """A checked value in the site's units, with its unit."""
    if value is None or value == ():
        return NOTHING
    special = WRITTEN.get(validator_of(info))
    if special is not None:
        return special(value)
    quantity = quantity_of(info)
    if quantity is None:
        unit = unit_of(info)
        return f"{plain_words(value)} {unit}" if unit and unit != "share" else plain_words(value)
    shown = converted(lists(value), quantity.to_us) if us else value
    return f"{plain_words(shown)} {quantity.us_unit if us else quantity.metric_unit}"


def validator_of(info: FieldInfo) -> Any:
    """The function that reads a field's value, where it has one."""
    return next((mark.func for mark in info.metadata if isinstance(mark, BeforeValidator)), None)


def lists(value: Any) -> Any:
    """Tuples as lists, the form that unit conversion works on."""
    return [lists(item) for item in value] if isinstance(value, tuple) else value


def plain_words(value: Any) -> str:
    return as_toml(value, figure)


def clock_words(minutes: Minutes) -> str:
    return f"{minutes // 60:02}:{minutes % 60:02}"


def span_words(span: Span) -> str:
    return f"{clock_words(span[0])}–{clock_words(span[1])}"


def spans_words(found: Iterable[Span]) -> str:
    return ", ".join(span_words(span) for span in found)


def days_words(days: frozenset[int]) -> str:
    """`mon_fri`, or the days one by one."""
    group = next((name for name, numbers in DAY_GROUPS.items() if numbers == days), None)
    return group or a_list((DAYS[number] for number in sorted(days)), "and")


def crew_words(week: tuple[Span | None, ...]) -> str:
    """`mon_fri 06:30–18:00, sat 07:00–13:00, sun nobody`: days of like hours together."""
    alike: dict[Span | None, set[int]] = {}
    for number, hours in enumerate(week):
        alike.setdefault(hours, set()).add(number)
    return ", ".join(
        f"{days_words(frozenset(days))} {span_words(hours) if hours else 'nobody'}"
        for hours, days in alike.items()
    )


WRITTEN: dict[Any, Callable[[Any], str]] = {
    clock: clock_words,
    spans: spans_words,
    weekdays: days_words,
    crew_week: crew_words,
}
