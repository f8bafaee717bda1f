"""README.md says what the program does: its commands are real and its table of keys is the schema's."""

from __future__ import annotations

import re
from types import UnionType
from typing import get_args

import pytest
from pydantic_core import PydanticUndefined

from lightplan.cli import Exit, main
from lightplan.site.sample_copy import sample_names
from lightplan.site.schema import SiteFile
from lightplan.site.table import Table, fields, unit_of, us_keys
from tests.conftest import ROOT

README = (ROOT / "README.md").read_text(encoding="utf-8")

# Words for defaults that the schema leaves to the rest of the file (DESIGN's contract).
SETTLED = {
    "units": "by time zone",
    "paper": "by time zone",
    "name": "the id",
    "wall_glazing": "as the roof",
    "end_glazing": "as the roof",
    "arc": "ellipse",
    "vents_by": "hand; automatic for fan",
    "air_changes_open": "by venting",
    "print": "true where a printer is named",
    "port": "587; 465 for tls, 25 for none",
    "u_w_m2k": "by layers",
    "dark": "true at 0.02 or less",
    "eave_m": "**must**, but for hoop and section",
    "ridge_m": "**must**, but for flat and section",
    "width_m": "**must**, but for section",
    "shape": "**must**, or section",
    "section": "**must**, or shape",
    "faces_deg": "**must** for lean-to",
}


def inner_tables(annotation: object) -> list[type[Table]]:
    """Tables that a field's annotation holds, through tuples, dicts, unions and Annotated."""
    if isinstance(annotation, type) and not isinstance(annotation, UnionType) and not get_args(annotation):
        return [annotation] if issubclass(annotation, Table) else []
    return [table for part in get_args(annotation) for table in inner_tables(part)]


def all_tables(table: type[Table] = SiteFile) -> list[type[Table]]:
    found = []
    for info in fields(table).values():
        for inner in inner_tables(info.annotation):
            found += [inner, *all_tables(inner)]
    return found


def heading(table: type[Table]) -> str:
    return (table.__doc__ or "").splitlines()[0].rstrip(".")


def default_words(key: str, info) -> str:
    if info.is_required():
        return "**must**"
    if key in SETTLED:
        return SETTLED[key]
    if key == "place" and inner_tables(info.annotation):
        return "house's mean"
    if key == "place":
        return "in-tent under a tent, else above"
    if key == "crew":
        return '["06:30", "18:00"]'
    if key == "lamp_hours":
        return '["00:00", "24:00"]'
    value = info.default
    if value is None or value is PydanticUndefined or value == () or value == {}:
        return "–"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, frozenset):
        return "all"
    if isinstance(value, tuple):
        return "1 to 12" if value == tuple(range(1, 13)) else str(list(value))
    return f"{value:g}" if isinstance(value, float) else str(value)


def key_table() -> str:
    """The tables of keys as README.md must hold them."""
    lines: list[str] = []
    for table in all_tables():
        other = {metric: us for us, (metric, _) in us_keys(table).items()}
        lines += [f"**{heading(table)}**", "", "| key | default | what it is |", "| --- | --- | --- |"]
        for key, info in fields(table).items():
            names = f"`{key}`" + (f" or `{other[key]}`" if key in other and other[key] != key else "")
            unit = f" [{unit_of(info)}]" if unit_of(info) else ""
            lines.append(f"| {names} | {default_words(key, info)} | {info.description}{unit} |")
        lines.append("")
    return "\n".join(lines)


def test_every_key_of_the_schema_stands_in_the_readme_with_its_default():
    tables = all_tables()
    assert len(tables) == len(set(tables)) > 10
    missing = [row for row in key_table().splitlines() if row and row not in README.splitlines()]
    assert not missing, "README.md lacks:\n" + "\n".join(missing)


def test_no_key_in_the_readme_that_the_schema_has_not():
    section = README.split("### Every key", 1)[1].split("\n## ", 1)[0]
    known = {key for table in all_tables() for key in (*fields(table), *us_keys(table))}
    named = {key for row in section.splitlines() if row.startswith("| `") for key in keys_of(row)}
    assert named and named <= known


def keys_of(row: str) -> list[str]:
    return re.findall(r"`([^`]+)`", row.split("|")[1])


def test_the_two_commands_are_worded_as_agreed_and_name_a_sample():
    first = re.search(
        r"python3 -m venv \.venv && \.venv/bin/python -m pip install -q \. && "
        r"\.venv/bin/lightplan morning sample_sites/(\w+)\n",
        README,
    )
    assert first and first[1] in sample_names()
    assert (
        'python3 -m venv .venv && .venv/bin/python -m pip install -q ".[test]" && '
        ".venv/bin/python -m pytest -q\n" in README
    )


COMMAND = re.compile(r"^lightplan (\w+)(.*)$", re.MULTILINE)


@pytest.mark.parametrize("command", sorted({m[1] for m in COMMAND.finditer(README)}))
def test_commands_and_options_of_the_readme_are_in_help(command, capsys):
    assert main([command, "--help"]) == Exit.DONE
    said = capsys.readouterr().out
    options = {o for m in COMMAND.finditer(README) if m[1] == command for o in re.findall(r"--[a-z-]+", m[2])}
    assert not [option for option in options if option not in said]


@pytest.mark.parametrize("name", sample_names())
def test_each_sample_is_told_of(name):
    assert name in README


def test_the_whole_file_is_a_good_one(tmp_path, capsys) -> None:
    (example,) = re.findall(r"### A whole file\n.*?```toml\n(.*?)```", README, flags=re.DOTALL)
    (tmp_path / "site.toml").write_text(example, encoding="utf-8")
    assert main(["check", str(tmp_path)]) == Exit.DONE
    told = capsys.readouterr()
    assert "Marl Lane Growers" in told.out
    assert "warning" not in (told.out + told.err).lower()
