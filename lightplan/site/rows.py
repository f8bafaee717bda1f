"""One table of the file as rules see it: its place in words, its checked values, which keys failed.

So one wrong key hides nothing that can still be checked.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from lightplan.site.problems import SITE_FILE, Path, Problem, held
from lightplan.site.quantities import Quantity, figure
from lightplan.site.table import Table, fields, quantity_of, us_keys

Document = dict[str, Any]


@dataclass(frozen=True)
class Row:
    """One table of the file.

    table : the checked table; keys in `bad` are not to be read from it.
    raw : the table as the file has it. place : its name in messages. children : rows inside it by key.
    """

    kind: type[Table]
    table: Any
    raw: Document
    path: Path
    place: str
    bad: frozenset[str]
    children: dict[str, tuple[Row, ...]] = field(default_factory=dict)

    def everyone(self) -> Iterator[Row]:
        yield self
        for rows in self.children.values():
            for row in rows:
                yield from row.everyone()

    def has(self, *keys: str) -> bool:
        """Whether these keys hold checked values (their own or defaults)."""
        return self.table is not None and not self.bad.intersection(keys)

    def __getitem__(self, key: str) -> Any:
        """The checked value of a key, metric."""
        return getattr(self.table, "from_" if key == "from" else key)

    def gave(self, key: str) -> bool:
        """Whether the file holds the key, in either unit."""
        return self.written(key) in self.raw

    def written(self, key: str) -> str:
        """The key as the file spells it: `width_ft` where it gives feet."""
        if key in self.raw:
            return key
        return next(
            (us for us, (metric, _) in us_keys(self.kind).items() if metric == key and us in self.raw), key
        )

    def quantity(self, key: str) -> Quantity | None:
        return quantity_of(fields(self.kind)[key])

    def in_unit(self, key: str, metric: float) -> str:
        """A metric value as a figure in the unit that the file uses for `key`: `30 ft`."""
        quantity = self.quantity(key)
        if quantity is None:
            return figure(metric)
        if self.written(key) == key:
            return f"{figure(metric)} {quantity.metric_unit}"
        return f"{figure(quantity.to_us(metric))} {quantity.us_unit}"

    def told(self, key: str) -> str:
        """`ridge_m 1.8` as the file has it; a default is marked."""
        written = self.written(key)
        if written in self.raw:
            return f"{written} {held(self.raw[written])}"
        return f"{key} {held(self[key])} (the default)"

    def problem(self, key: str, message: str, slug: str, inner: Path = ()) -> Problem:
        """A problem of one key; `message` is the whole sentence after the place, without its full stop.

        inner : the way on from the key to the value meant, for the order in the file.
        """
        written = self.written(key)
        stop = "" if message.endswith("?") else "."
        return Problem(
            SITE_FILE, self.place, written, f"{message}{stop}", slug, (*self.path, written, *inner)
        )


def wrong(row: Row, key: str, what: str, slug: str) -> Problem:
    """`KEY is VALUE, what` — the usual sentence."""
    written = row.written(key)
    joint = "" if what.startswith((",", ";")) else " "
    return row.problem(key, f"{written} is {held(row.raw.get(written))}{joint}{what}", slug)
