"""A problem of a site file as a value: where it stands, what it held, what would do."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable
from dataclasses import dataclass

from lightplan.problems import InputError
from lightplan.site.toml_form import as_toml

SITE_FILE = "site.toml"
Path = tuple[str | int, ...]  # way to a value: ("house", 0, "shade", 1, "from")

LONGEST_HELD = 60  # characters of a value that a sentence still carries well
NEAR_ENOUGH = 0.6  # difflib's own default; below it a suggestion misleads


@dataclass(frozen=True)
class Problem:
    """One thing that is wrong, or likely wrong, in a file.

    place : 'house "glass"', 'site', 'line 12' or empty for the file as a whole.
    key : as the grower wrote it, so `width_ft` where the file says feet.
    message : the sentence after the place. slug : a short name of the rule.
    path : way to the value in the file, for sorting problems into file order.
    """

    file: str
    place: str
    key: str
    message: str
    slug: str
    path: Path = ()

    def __str__(self) -> str:
        return ": ".join(part for part in (self.file, self.place, self.message) if part)


class SiteError(InputError):
    """Everything that is wrong with a site file, one line a problem, in file order."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


def held(value: object) -> str:
    """A value as it stands in the file, cut where it is long."""
    text = as_toml(value)
    return text if len(text) <= LONGEST_HELD else text[: LONGEST_HELD - 1] + "…"


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known word most like `word`, or None where none is near."""
    lowered = {name.lower(): name for name in known}
    holding = next((name for name in lowered if word.lower() in re.split("[-_]", name)), None)
    if holding is not None:
        return lowered[holding]  # "glass" means a kind of glass
    found = difflib.get_close_matches(word.lower(), lowered, n=1, cutoff=NEAR_ENOUGH)
    return lowered[found[0]] if found else None


def nearest_or_choices(word: object, known: Iterable[str]) -> str:
    """What would do in place of a word that is not known."""
    known = list(known)
    near = nearest(word, known) if isinstance(word, str) else None
    return f'the nearest is "{near}"' if near else "choose " + a_list(f'"{name}"' for name in known)


def a_list(words: Iterable[str], last: str = "or") -> str:
    """`a, b or c`."""
    items = list(words)
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} {last} {items[-1]}"
