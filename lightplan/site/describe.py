"""What `lightplan check` prints: everything that was understood, each default marked."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from lightplan.site.material_words import cover_words, crop_values, glazing_words, lamp_words
from lightplan.site.models import Cover, Glazing, Site
from lightplan.site.read import Loaded
from lightplan.site.row_tree import inner_tables
from lightplan.site.table import Table, fields
from lightplan.site.value_words import NOTHING, key_words, value_words

DEFAULT = "*"
KEY_WIDTH, VALUE_WIDTH = 24, 26
HEAD = f"{DEFAULT} marks a default: what the file leaves out."
LEFT_OUT = {  # what follows from leaving a whole table out
    "deliver": " (a sheet made by itself only lies in its folder)",
    "power": " (costs are not known, and no breaker limits the lamps)",
    "bench": " (there is nothing to advise on)",
}


def describe(loaded: Loaded) -> str:
    """A site in plain words: every key with its value in the site's units, defaults marked; then names."""
    site, us = loaded.site, loaded.site.us_units
    lines = [f"{site.name} ({site.folder / 'site.toml'})", "", HEAD]
    for key in fields(type(loaded.tables)):
        value = getattr(loaded.tables, key)
        for heading, table in _tables(key, value):
            lines += ["", heading, *_lines(table, us=us, given=key in loaded.tables.model_fields_set)]
        if not value:
            lines += ["", f"{key}: {NOTHING}{LEFT_OUT.get(key, '')}"]
    lines += ["", "What the names stand for", *_names(site)]
    if loaded.warnings:
        lines += ["", "Look at these again", *(f"  {warning}" for warning in loaded.warnings)]
    return "\n".join(lines)


def _tables(key: str, value: Any) -> Iterator[tuple[str, Table]]:
    """The tables behind a top key, each with its heading."""
    if isinstance(value, Table):
        yield key, value
    elif isinstance(value, tuple):
        yield from ((f'{key} "{table.id}"', table) for table in value)
    elif isinstance(value, dict):
        for name, inner in value.items():
            if isinstance(inner, dict):
                yield from ((f'{key} "{name}", {stage}', table) for stage, table in inner.items())
            else:
                yield f'{key} "{name}"', inner


def _lines(table: Table, *, us: bool, given: bool, depth: int = 1) -> Iterator[str]:
    """A line for each key; tables inside it one step further in."""
    for key, info in fields(type(table)).items():
        name = "from_" if key == "from" else key
        value = getattr(table, name)
        own = given and name in table.model_fields_set
        inside = value if isinstance(value, tuple) else (value,)
        if key in inner_tables(type(table)) and value:
            for number, inner in enumerate(inside, 1):
                heading = f"{key} {number}" if isinstance(value, tuple) else key
                yield _line(heading, "", info.description or "", own=own, depth=depth)
                yield from _lines(inner, us=us, given=own, depth=depth + 1)
        else:
            words = value_words(value, info, us=us)
            yield _line(key_words(key, info, us=us), words, info.description or "", own=own, depth=depth)


def _line(key: str, value: str, meaning: str, *, own: bool, depth: int) -> str:
    mark = " " if own else DEFAULT
    indent = "  " * depth
    left = f"{mark}{indent}{key}".ljust(KEY_WIDTH)
    return f"{left} {value.ljust(VALUE_WIDTH)}  {meaning}".rstrip()


def _names(site: Site) -> Iterator[str]:
    """Every glazing, cover and lamp that the site uses, with values, source and mark."""
    for glazing in _glazings(site):
        yield from glazing_words(glazing)
    for cover in _covers(site):
        yield from cover_words(cover)
    for kind in dict.fromkeys(bench.lamps.kind for bench in site.benches if bench.lamps is not None):
        yield from lamp_words(kind)
    for crop in dict.fromkeys(batch.crop for bench in site.benches for batch in bench.batches):
        yield f"  {crop}: {crop_values(crop)}"


def _glazings(site: Site) -> Iterator[Glazing]:
    found = [part for house in site.houses for part in (house.glazing, house.wall_glazing, house.end_glazing)]
    yield from dict.fromkeys([*found, *(bench.tent for bench in site.benches if bench.tent is not None)])


def _covers(site: Site) -> Iterator[Cover]:
    found = [cover for house in site.houses for cover in house.covers]
    found += [shade.cover for house in site.houses for shade in house.shade]
    found += [cover for bench in site.benches for cover in bench.covers]
    yield from {cover.name: cover for cover in found}.values()
