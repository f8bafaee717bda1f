"""What a rule of the site file is, and what it may look at besides its own row."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property

from lightplan.site.cover_names import USES, cover_key
from lightplan.site.glazings import ROWS, glazing_key
from lightplan.site.problems import Problem
from lightplan.site.rows import Row
from lightplan.site.table import Table


@dataclass(frozen=True)
class Around:
    """The file around a row."""

    root: Row

    @cached_property
    def houses(self) -> tuple[Row, ...]:
        return self.root.children.get("house", ())

    @cached_property
    def benches(self) -> tuple[Row, ...]:
        return self.root.children.get("bench", ())

    @cached_property
    def power(self) -> Row | None:
        return next(iter(self.root.children.get("power", ())), None)

    @cached_property
    def glazings(self) -> dict[str, str]:
        """Key of every known glazing → its name; the grower's own come first."""
        own = [str(row.path[-1]) for row in self.root.children.get("glazing", ())]
        return {glazing_key(name): name for name in (*ROWS, *own)}

    @cached_property
    def covers(self) -> dict[str, str]:
        own = [str(row.path[-1]) for row in self.root.children.get("cover", ())]
        return {cover_key(name): name for name in (*USES, *own)}

    def house(self, house_id: object) -> Row | None:
        return next((row for row in self.houses if row.raw.get("id") == house_id), None)


Check = Callable[[Row, Around], Iterator[Problem]]


@dataclass(frozen=True)
class Rule:
    """A check of one kind of table, made where all `keys` that it reads are sound."""

    kind: type[Table]
    keys: tuple[str, ...]
    check: Check

    def problems(self, row: Row, around: Around) -> Iterator[Problem]:
        if row.kind is self.kind and row.has(*self.keys):
            yield from self.check(row, around)


def rule(kind: type[Table], *keys: str) -> Callable[[Check], Rule]:
    return lambda check: Rule(kind, keys, check)
