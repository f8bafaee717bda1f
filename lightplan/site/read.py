"""Read a site folder: the one way from `site.toml` to a `Site`."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from pathlib import Path

from pydantic import ValidationError

from lightplan.site.build import build
from lightplan.site.models import Site
from lightplan.site.problems import SITE_FILE, Problem, SiteError
from lightplan.site.schema import SiteFile
from lightplan.site.settle import settled


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
    try:
        document = tomllib.loads((folder / SITE_FILE).read_text(encoding="utf-8-sig"))
        tables = settled(SiteFile.model_validate(document))
    except (OSError, ValueError) as error:
        problems = (
            [
                Problem(SITE_FILE, ".".join(map(str, e["loc"])), "", e["type"], e["type"])
                for e in error.errors(include_url=False)
            ]
            if isinstance(error, ValidationError)
            else [Problem(SITE_FILE, "", "", str(error), "unreadable")]
        )
        raise SiteError(problems) from None
    return Loaded(build(tables, folder), (), tables)
