"""Read a site folder: the one way from `site.toml` to a `Site`."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from lightplan.site import (
    rules_batch,
    rules_bench,
    rules_crops,
    rules_deliver,
    rules_house,
    rules_materials,
    rules_names,
    rules_power,
    rules_shape,
    rules_site,
    rules_walls,
    warnings_bench,
    warnings_site,
)
from lightplan.site.build import build
from lightplan.site.complaints import complaints
from lightplan.site.file_lines import line_numbers, nearest_to, places
from lightplan.site.models import Site
from lightplan.site.problems import Problem, SiteError
from lightplan.site.row_tree import rows_of
from lightplan.site.rows import Row
from lightplan.site.rule import Around, Rule
from lightplan.site.schema import SiteFile
from lightplan.site.settle import settled
from lightplan.site.toml_text import parsed, read_text

RULES: tuple[Rule, ...] = (
    *rules_site.RULES,
    *rules_power.RULES,
    *rules_deliver.RULES,
    *rules_names.RULES,
    *rules_crops.RULES,
    *rules_materials.RULES,
    *rules_shape.RULES,
    *rules_walls.RULES,
    *rules_house.RULES,
    *rules_bench.RULES,
    *rules_batch.RULES,
)
WARNINGS: tuple[Rule, ...] = (*warnings_site.WARNINGS, *warnings_bench.WARNINGS)


@dataclass(frozen=True)
class Loaded:
    """A site, what looks odd about it, and its tables with every default filled in."""

    site: Site
    warnings: tuple[Problem, ...]
    tables: SiteFile


def read_site(folder: Path) -> Site:
    """The site that a folder's `site.toml` describes. Raises SiteError with every problem at once."""
    return load_site(folder).site


def load_site(folder: Path) -> Loaded:
    """As `read_site`, with the warnings and the tables that `describe` puts in words."""
    return load_text(read_text(folder), folder)


def load_text(text: str, folder: Path) -> Loaded:
    """As `load_site`, of a text that need not stand in the folder yet."""
    return load_document(parsed(text), text, folder)


def load_document(document: dict[str, Any], text: str, folder: Path) -> Loaded:
    """As `load_text`, of a document changed since it was read from that text, which only orders problems."""
    tables, errors = _checked(document)
    root = rows_of(SiteFile, document, frozenset(tuple(error["loc"]) for error in errors))
    problems = _in_file_order([*complaints(errors, root), *_broken_rules(RULES, root)], text, document)
    if problems or tables is None:
        raise SiteError(problems)
    warnings = _in_file_order(_broken_rules(WARNINGS, root), text, document)
    tables = settled(tables)
    return Loaded(build(tables, folder), warnings, tables)


def _checked(document: dict[str, Any]) -> tuple[SiteFile | None, list[Any]]:
    """The tables, or what the schema refuses."""
    try:
        return SiteFile.model_validate(document), []
    except ValidationError as error:
        return None, error.errors(include_url=False)


def _broken_rules(rules: Iterable[Rule], root: Row) -> Iterator[Problem]:
    around = Around(root)
    for row in root.everyone():
        for rule in rules:
            yield from rule.problems(row, around)


def _in_file_order(problems: Iterable[Problem], text: str, document: dict[str, Any]) -> tuple[Problem, ...]:
    lines, order = line_numbers(text), places(document)
    return tuple(
        sorted(
            problems, key=lambda problem: (nearest_to(problem.path, lines), nearest_to(problem.path, order))
        )
    )
