"""What `lightplan check --names` prints: every name that a site file may use, with what it stands for."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from lightplan.site.cover_names import USES, known_cover
from lightplan.site.crop_names import ASKED_BACK, crop_names
from lightplan.site.glazings import ROWS as GLAZINGS
from lightplan.site.glazings import known_glazing
from lightplan.site.lamp_kinds import ROWS as LAMPS
from lightplan.site.lamp_kinds import LampKind, known_lamp
from lightplan.site.material_words import MARKS, cover_values, crop_values, glazing_values, lamp_values
from lightplan.site.models import Cover, Glazing, SourceName, Stage
from lightplan.site.problems import a_list
from lightplan.site.schema_house import COMPASS, FACES
from lightplan.site.settle import AIR_CHANGES_OPEN

Entry = tuple[str, str, str]  # name, what it stands for, source and mark

OPAQUE = {
    a_list(COMPASS, "and"): "the face that looks that way",
    a_list(FACES, "and"): "left and right seen along the ridge; end-a is the end behind you",
}
SHAPES = {
    "gable": "two equal slopes",
    "hoop": 'half an ellipse on the side walls, or arc = "circle"',
    "gothic": "two arcs that meet in a crown",
    "multispan": "several equal gables, gutter to gutter",
    "lean-to": "one slope against a wall of the ridge's height",
    "flat": "a flat roof at the eave's height",
    "section": "your own outline: section = [[x, z], …]",
}
STAGES = {
    "germination": "from sowing until the seedlings are up",
    "seedling": "in plug trays",
    "growing-on": "from potting on; the first half as plugs, the second as plants to finish",
    "finishing": "until they are sold",
    "hardening": "no lamps, a warning of frost",
}
SOURCES = {
    "open-meteo": "forecast, whole world",
    "nws": "forecast, United States",
    "met-norway": "forecast, whole world",
    "file": "a CSV of your own",
    "typical-year": "a typical-year file: TMY2, TMY3, EPW",
    "clear-sky": "the clear sky times a clearness",
}


def names_text() -> str:
    """Every name in columns: what it stands for, where that comes from and how well it is known."""
    lines = ["Hyphen and underscore mean the same. The last column: " + "; ".join(_marks())]
    for heading, entries in _sections():
        lines += ["", heading, *_columns(tuple(entries))]
    return "\n".join(lines)


def _marks() -> Iterator[str]:
    yield from (f"{mark} = {words}" for mark, words in MARKS.items() if mark != "site file")


def _sections() -> Iterator[tuple[str, Iterable[Entry]]]:
    yield "glazing (each at the middle of its range)", map(_glazing, GLAZINGS)
    yield "covers", map(_cover, USES)
    yield "lamps", map(_lamp, LAMPS)
    yield "crops", ((name, crop_values(name), "") for name in crop_names())
    yield (
        "too wide a word for a crop",
        ((word, f"which: {a_list(of)}?", "") for word, of in ASKED_BACK.items()),
    )
    yield "stages", ((stage.value, STAGES[stage.value], "") for stage in Stage)
    yield "shapes", ((name, meaning, "") for name, meaning in SHAPES.items())
    yield "venting", map(_venting, AIR_CHANGES_OPEN)
    yield "opaque faces", ((name, meaning, "") for name, meaning in OPAQUE.items())
    yield "weather sources", ((source.value, SOURCES[source.value], "") for source in SourceName)


def _glazing(name: str) -> Entry:
    return _entry(known_glazing(name), glazing_values(known_glazing(name)))


def _cover(name: str) -> Entry:
    return _entry(known_cover(name), cover_values(known_cover(name)))


def _lamp(name: str) -> Entry:
    return _entry(known_lamp(name), lamp_values(name))


def _venting(name: str) -> Entry:
    source = "asabe_ep406 (memory)" if name == "fan" else "judgement"
    return name, f"{AIR_CHANGES_OPEN[name]:g} air changes an hour, all open", source


def _entry(item: Glazing | Cover | LampKind, values: str) -> Entry:
    return item.name, values, f"{item.source.replace(';', ', ')} ({item.checked})"


def _columns(entries: tuple[Entry, ...]) -> Iterator[str]:
    widths = [max(len(entry[column]) for entry in entries) for column in range(2)]
    for name, meaning, source in entries:
        yield f"  {name.ljust(widths[0])}  {meaning.ljust(widths[1])}  {source}".rstrip()
