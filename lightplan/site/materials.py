"""Glazings and covers by name: the grower's own first, then the tables'."""

from __future__ import annotations

from lightplan.site.build_parts import own_cover, own_glazing
from lightplan.site.cover_names import cover_key, known_cover
from lightplan.site.glazings import glazing_key, known_glazing
from lightplan.site.models import Cover, Glazing
from lightplan.site.schema import SiteFile


class Materials:
    """The materials that a file may name; its names are known to be sound."""

    def __init__(self, file: SiteFile) -> None:
        self._glazings = {glazing_key(name): own_glazing(name, table) for name, table in file.glazing.items()}
        self._covers = {cover_key(name): own_cover(name, table) for name, table in file.cover.items()}

    def glazing(self, name: str) -> Glazing:
        key = glazing_key(name)
        return self._glazings.get(key) or known_glazing(key)

    def cover(self, name: str) -> Cover:
        key = cover_key(name)
        return self._covers.get(key) or known_cover(key)
