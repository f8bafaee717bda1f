"""A fresh `site.toml`: the answers as they are, every other key as a comment with its default."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from pydantic.fields import FieldInfo

from lightplan.site.answers import Answers, in_us_units, zone_at
from lightplan.site.crop_names import plain
from lightplan.site.examples import Verbatim, examples, unused_tables
from lightplan.site.read import load_text
from lightplan.site.row_tree import inner_tables
from lightplan.site.schema_bench import BenchTable
from lightplan.site.schema_deliver import DeliverTable, MailTable
from lightplan.site.schema_house import HouseTable
from lightplan.site.schema_own import CoverTable, GlazingTable
from lightplan.site.schema_site import SiteTable, WeatherTable
from lightplan.site.settle import settled_cover, settled_deliver, settled_glazing, settled_mail
from lightplan.site.table import Table, fields
from lightplan.site.toml_values import toml_value
from lightplan.site.value_words import key_words

HEAD = """\
# {name}: what lightplan knows about this place. Change it with any text editor, then run
# lightplan check on this folder. A line that begins with # is not read: it shows a key with its
# default, or an example where there is none. Take the # away to use it.
# Lengths may be _m or _ft, areas _m2 or _ft2, temperatures _c or _f.
"""
WEATHER_NOTE = """\
# With "clear-sky" every day is the clear sky times a usual cloudiness. Better: put a typical-year file
# (TMY2, TMY3 or EPW) of a place near you into this folder and write
#   source = "typical-year" and file = "its name"
"""
NOTES = {
    "[weather]": WEATHER_NOTE,
    "[power]": "# What electricity costs and what the breaker bears.\n",
    "[deliver]": "# Where the sheet goes when it is made by itself: lightplan schedule.\n",
    "[deliver.mail]": "# The password is kept in an environment variable or the keyring, not here.\n",
    "[glazing.oddments]": "# A glazing of your own, to be used by its name.\n",
    "[cover.tatty]": "# A cover of your own, to be used by its name.\n",
    "[crop.petunia.seedling]": "# Own needs of a crop at a stage; what is left out keeps the table's.\n",
    "[[house]]": "# One block for each house.\n",
    "[[bench]]": "# One block for each bench.\n",
    "[[bench.batch]]": "# One block for each crop on the bench above.\n",
}
OWN_BLOCKS = ("batch", "mail")  # keys that stand under a heading of their own
COMMENT_AT = 44  # column of the explanations


def bare_toml(answers: Answers) -> str:
    """The answers alone as a site file, in the place's own units."""
    us = in_us_units({"latitude": answers.latitude, "longitude": answers.longitude})
    lines: list[str] = []
    for header, table, values in _sections(answers):
        lines.append(header)
        for key, value in values.items():
            info = fields(table)[key]
            written = value if isinstance(value, Verbatim) else toml_value(value, info, us=us)
            lines.append(f"{key_words(key, info, us=us)} = {written}")
    return "\n".join(lines) + "\n"


def _sections(answers: Answers) -> Iterator[tuple[str, type[Table], dict[str, Any]]]:
    place = {
        "name": answers.name,
        "latitude": answers.latitude,
        "longitude": answers.longitude,
        "timezone": answers.timezone or zone_at(answers.latitude, answers.longitude),
    }
    yield "[site]", SiteTable, place
    yield "[weather]", WeatherTable, {"source": "clear-sky"}
    house = {
        "id": _short(answers.house),
        "name": answers.house,
        "shape": answers.shape,
        "width_m": answers.width_m,
        "length_m": answers.length_m,
        "eave_m": answers.eave_m,
        "ridge_m": answers.ridge_m,
        "spans": answers.spans,
        "ridge_azimuth_deg": answers.ridge_azimuth_deg,
        "faces_deg": answers.faces_deg,
        "glazing": answers.glazing,
    }
    yield "[[house]]", HouseTable, {key: value for key, value in house.items() if value is not None}
    bench: dict[str, Any] = {
        "id": _short(answers.bench),
        "house": _short(answers.house),
        "name": answers.bench,
        "area_m2": answers.area_m2,
    }
    if answers.lamp_ppfd:
        power = "" if answers.lamp_power_kw is None else f", power_kw = {answers.lamp_power_kw:g}"
        bench["lamps"] = Verbatim(f"{{ ppfd = {answers.lamp_ppfd:g}{power} }}")
    yield "[[bench]]", BenchTable, bench


def _short(name: str) -> str:
    """A name as an id: `Old glasshouse` → `old-glasshouse`."""
    return plain(name).replace("_", "-")


def site_toml(answers: Answers, year: int) -> str:
    """A fresh site file that reads back without problems.

    year : the year of the dates in its examples. Raises SiteError where the answers do not fit.
    """
    loaded = load_text(bare_toml(answers), Path())
    us, tables = loaded.site.us_units, loaded.tables
    unused = dict(unused_tables(year))
    shown: list[tuple[str, Table, bool]] = [
        ("[site]", tables.site, True),
        ("[weather]", tables.weather, True),
        ("[power]", unused["[power]"], False),
        ("[deliver]", _settled(unused["[deliver]"]), False),
        ("[deliver.mail]", _settled(unused["[deliver.mail]"]), False),
        ("[glazing.oddments]", _settled(unused["[glazing.oddments]"]), False),
        ("[cover.tatty]", _settled(unused["[cover.tatty]"]), False),
        ("[crop.petunia.seedling]", unused["[crop.petunia.seedling]"], False),
        ("[[house]]", tables.house[0], True),
        ("[[bench]]", tables.bench[0], True),
        ("[[bench.batch]]", unused["[[bench.batch]]"], False),
    ]
    blocks = [HEAD.format(name=answers.name)]
    for header, table, used in shown:
        lines = _lines(table, year=year, us=us, used=used)
        blocks.append(NOTES.get(header, "") + "\n".join([header if used else f"# {header}", *lines]) + "\n")
    return "\n".join(blocks)


def _settled(table: Table) -> Table:
    if isinstance(table, GlazingTable):
        return settled_glazing(table)
    if isinstance(table, DeliverTable):
        return settled_deliver(table)
    if isinstance(table, MailTable):
        return settled_mail(table)
    return settled_cover(table) if isinstance(table, CoverTable) else table


def _lines(table: Table, *, year: int, us: bool, used: bool) -> Iterator[str]:
    """A line for every key: as it is where it was given, else as a comment."""
    shown = examples(year).get(type(table), {})
    for key, info in fields(type(table)).items():
        if key in OWN_BLOCKS:
            continue
        name = "from_" if key == "from" else key
        value = getattr(table, name)
        given = used and name in table.model_fields_set
        holds_a_table = key in inner_tables(type(table))
        if given:
            yield _line(key, value, info, us=us)
        if not given or holds_a_table:  # a table that was given in short is shown in full too
            exampled = value is None or value == () or (holds_a_table and key in shown)
            yield "# " + _line(key, shown[key] if exampled else value, info, us=us)


def _line(key: str, value: Any, info: FieldInfo, *, us: bool) -> str:
    if isinstance(value, Table):
        value = Verbatim(_inline(value, us=us))
    written = value if isinstance(value, Verbatim) else toml_value(value, info, us=us)
    return f"{f'{key_words(key, info, us=us)} = {written}'.ljust(COMMENT_AT)}  # {info.description}"


def _inline(table: Table, *, us: bool) -> str:
    """A table in one line, with the keys that were given."""
    pairs = (
        f"{key_words(key, info, us=us)} = {toml_value(getattr(table, key), info, us=us)}"
        for key, info in fields(type(table)).items()
        if key in table.model_fields_set
    )
    return f"{{ {', '.join(pairs)} }}"
