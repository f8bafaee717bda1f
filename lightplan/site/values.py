"""The kinds of value a site file holds: clock times, spans, dates, days, shares, measures.

Each is an annotated type that pydantic checks strictly. What we refuse ourselves is raised as a
`PydanticCustomError` whose text is our own sentence ending; pydantic's own texts are never shown.
"""

from __future__ import annotations

import re
from datetime import date, datetime, time
from typing import Annotated

from pydantic import BeforeValidator, Field
from pydantic_core import PydanticCustomError

from lightplan.site.models import Minutes, Span
from lightplan.site.quantities import AREA, LENGTH, TEMPERATURE, Unit

DAY_MIN = 1440
OWN = "lightplan"  # error type of the refusals whose text is ours


def refuse(what_would_do: str) -> PydanticCustomError:
    # braces are pydantic's template marks
    return PydanticCustomError(OWN, what_would_do.replace("{", "(").replace("}", ")"))


CLOCK = re.compile(r"([01]?\d|2[0-3]):([0-5]\d)|24:00")


def clock(value: object) -> Minutes:
    """`"06:30"`, `"24:00"` or TOML's own 06:30:00 → minutes after midnight."""
    if isinstance(value, time):
        return value.hour * 60 + value.minute
    if isinstance(value, str) and (found := CLOCK.fullmatch(value.strip())):
        return int(found[1]) * 60 + int(found[2]) if found[1] else DAY_MIN
    raise refuse('write clock times in quotes, from "00:00" to "24:00"')


def clock_pair(value: object) -> Span:
    if not isinstance(value, list) or len(value) != 2:
        raise refuse('give two clock times, like ["06:30", "18:00"]')
    return clock(value[0]), clock(value[1])


def crew_hours(value: object) -> Span | None:
    """Two clock times in order; an empty list where nobody comes."""
    if value == []:
        return None
    start, end = clock_pair(value)
    if end <= start:
        raise refuse("the crew would leave before it comes; give the earlier time first")
    return start, end


def spans(value: object) -> tuple[Span, ...]:
    """One pair of clock times or a list of pairs → spans in order; one over midnight becomes two."""
    pairs = value if isinstance(value, list) and value and isinstance(value[0], list) else [value]
    if value == []:
        return ()
    found: list[Span] = []
    for start, end in (clock_pair(pair) for pair in pairs):
        if start in (end, DAY_MIN):
            raise refuse('the first time is when it starts; for the whole day give ["00:00", "24:00"]')
        found += [(start, end)] if end > start else [(start, DAY_MIN), (0, end)]
    return merged(span for span in found if span[1] > span[0])


def merged(found: object) -> tuple[Span, ...]:
    """Spans in order, those that touch or overlap made one."""
    done: list[Span] = []
    for start, end in sorted(found):  # type: ignore[call-overload]
        if done and start <= done[-1][1]:
            done[-1] = (done[-1][0], max(done[-1][1], end))
        else:
            done.append((start, end))
    return tuple(done)


YEARS = (1990, 2100)  # a site's dates lie within; outside is a slip of the finger


def calendar_date(value: object) -> date:
    """A TOML date; a quoted one in the same form is as clear."""
    found = _date(value)
    if not YEARS[0] <= found.year <= YEARS[1]:
        raise refuse("see that the year is right")
    return found


def _date(value: object) -> date:
    if isinstance(value, date) and not isinstance(value, datetime):
        return value
    if isinstance(value, str) and re.fullmatch(r"\d{4}-\d{2}-\d{2}", value):
        try:
            return date.fromisoformat(value)
        except ValueError:
            raise refuse("that date is not in the calendar") from None
    raise refuse("write a date like 2026-02-14")


DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
DAY_GROUPS: dict[str, frozenset[int]] = {
    "all": frozenset(range(7)),
    "mon_fri": frozenset(range(5)),
    "mon_sat": frozenset(range(6)),
    "sat_sun": frozenset({5, 6}),
} | {name: frozenset({number}) for number, name in enumerate(DAYS)}


def weekdays(value: object) -> frozenset[int]:
    """`"all"`, `"mon_fri"`, `"sat"`, or a list of such → weekday numbers, Monday = 0."""
    names = value if isinstance(value, list) else [value]
    keys = [name.strip().lower().replace("-", "_") if isinstance(name, str) else "" for name in names]
    if not keys or any(key not in DAY_GROUPS for key in keys):
        raise refuse('give "all", "mon_fri", "sat_sun", single days such as "sat", or a list of them')
    return frozenset().union(*(DAY_GROUPS[key] for key in keys))


def any_spelling(value: object) -> object:
    """Words with hyphens and small letters, the spelling that the schema's choices have."""
    if isinstance(value, list):
        return [any_spelling(item) for item in value]
    return value.strip().lower().replace("_", "-") if isinstance(value, str) else value


ANY_SPELLING = BeforeValidator(any_spelling)

Text = Annotated[str, Field(min_length=1, pattern=r"\S")]
Clock = Annotated[Minutes, BeforeValidator(clock)]
CrewHours = Annotated[tuple[Minutes, Minutes] | None, BeforeValidator(crew_hours)]
Spans = Annotated[tuple[tuple[Minutes, Minutes], ...], BeforeValidator(spans)]
Date = Annotated[date, BeforeValidator(calendar_date)]
Weekdays = Annotated[frozenset[int], BeforeValidator(weekdays)]

Metres = Annotated[float, LENGTH]
SquareMetres = Annotated[float, AREA]
Celsius = Annotated[float, TEMPERATURE]
Share = Annotated[float, Field(ge=0, le=1), Unit("share")]
LossShare = Annotated[float, Field(ge=0, le=0.95), Unit("share")]
