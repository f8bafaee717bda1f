"""Rules of a house's dates and of its climate."""

from __future__ import annotations

from collections.abc import Iterator

from lightplan.site.problems import Problem
from lightplan.site.rows import Row, wrong
from lightplan.site.rule import Around, rule
from lightplan.site.schema_house import HouseTable, OverheadRow, ShadeRow


@rule(OverheadRow, "from", "to")
def overhead_in_order(row: Row, around: Around) -> Iterator[Problem]:
    yield from to_after_from(row)


@rule(ShadeRow, "from", "to")
def shade_in_order(row: Row, around: Around) -> Iterator[Problem]:
    yield from to_after_from(row)


def to_after_from(row: Row) -> Iterator[Problem]:
    if row["to"] < row["from"]:
        yield wrong(row, "to", f", before {row.told('from')}; give the last date", "dates-reversed")


@rule(HouseTable, "heat_to_c", "vent_at_c")
def vents_above_heating(row: Row, around: Around) -> Iterator[Problem]:
    if row["vent_at_c"] > row["heat_to_c"]:
        return
    key, other = ("vent_at_c", "heat_to_c") if row.gave("vent_at_c") else ("heat_to_c", "vent_at_c")
    relation = "not above" if key == "vent_at_c" else "not below"
    told = f", {relation} {row.told(other)}: the vents would open while it is heated; set them apart"
    yield wrong(row, key, told, "vent-below-heat")


@rule(HouseTable, "air_changes_closed", "air_changes_open")
def open_lets_in_more(row: Row, around: Around) -> Iterator[Problem]:
    opened = row["air_changes_open"]
    if opened is not None and opened < row["air_changes_closed"]:
        told = f", below {row.told('air_changes_closed')}; give the larger figure for open vents"
        yield wrong(row, "air_changes_open", told, "reversed")


RULES = (overhead_in_order, shade_in_order, vents_above_heating, open_lets_in_more)
