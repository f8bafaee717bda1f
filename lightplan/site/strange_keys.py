"""Keys that a table does not have: what the grower may have meant."""

from __future__ import annotations

from functools import cache

from lightplan.site.problems import Problem, a_list, held, nearest
from lightplan.site.row_tree import inner_tables
from lightplan.site.rows import Row
from lightplan.site.schema import SiteFile
from lightplan.site.table import Table, fields, us_keys

# how a key of each table is written, for keys that stand in the wrong table
HOMES = {
    "SiteTable": "[site]",
    "WeatherTable": "[weather]",
    "PowerTable": "[power]",
    "DeliverTable": "[deliver]",
    "MailTable": "[deliver.mail]",
    "RateRow": "a row of rates",
    "GlazingTable": "[glazing.NAME]",
    "LayerRow": "a layer of [glazing.NAME]",
    "CoverTable": "[cover.NAME]",
    "NeedsTable": "[crop.NAME.STAGE]",
    "HouseTable": "[[house]]",
    "OverheadRow": "a row of overhead",
    "ShadeRow": "a row of shade",
    "BarsTable": "bars = { … }",
    "BenchTable": "[[bench]]",
    "PlaceTable": "place = { … }",
    "InsulationTable": "insulation = { … }",
    "LampsTable": "lamps = { … }",
    "BatchRow": "[[bench.batch]]",
}
FEW_KEYS = 9  # so many are listed where nothing is near


def strange_key(row: Row, key: str) -> Problem:
    """The problem of a key that its table does not have."""
    if key in us_keys(row.kind):
        metric = us_keys(row.kind)[key][0]
        both = f"{metric} is {held(row.raw[metric])} and {key} is {held(row.raw[key])}"
        return row.problem(key, f"{both}; keep one of the two", "both-units")
    known = all_keys(row.kind)
    home, near = homes().get(key), nearest(key, known)
    if home:
        return row.problem(key, f"{key} is not a key here; it belongs in {a_list(home)}", "unknown-key")
    if near:
        return row.problem(key, f"{key} is not a key here; the nearest is {near}", "unknown-key")
    if len(known) <= FEW_KEYS:
        return row.problem(
            key, f"{key} is not a key here; the keys are {a_list(known, 'and')}", "unknown-key"
        )
    return row.problem(key, f"{key} is not a key here; take it out", "unknown-key")


def all_keys(kind: type[Table]) -> tuple[str, ...]:
    """Every key of a table, in both units."""
    return (*fields(kind), *us_keys(kind))


@cache
def every_table(kind: type[Table] = SiteFile) -> tuple[type[Table], ...]:
    """The table and all tables inside it, in the schema's order."""
    return (kind, *(table for inner, _ in inner_tables(kind).values() for table in every_table(inner)))


@cache
def homes() -> dict[str, tuple[str, ...]]:
    """Key → where it belongs."""
    found: dict[str, tuple[str, ...]] = {"batch": ("[[bench.batch]]",)}
    for kind in every_table()[1:]:
        for key in all_keys(kind):
            if key != "batch":
                found[key] = (*found.get(key, ()), HOMES[kind.__name__])
    return found
