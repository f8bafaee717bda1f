"""What `lightplan start` needs: questions as data, a fresh site file, a copied sample."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from lightplan.files import new_file
from lightplan.problems import InputError
from lightplan.site.answers import Answers, Given, zone_at
from lightplan.site.fresh_file import bare_toml, site_toml
from lightplan.site.problems import SITE_FILE, SiteError
from lightplan.site.questions import QUESTIONS, Question
from lightplan.site.read import load_text
from lightplan.site.sample_copy import copy_sample, sample_names

__all__ = [
    "QUESTIONS",
    "Answers",
    "Question",
    "answered",
    "copy_sample",
    "read_answer",
    "sample_names",
    "site_toml",
    "write_new_site",
    "zone_at",
]


def read_answer(question: Question, text: str, given: Given) -> object:
    """One answer, read and held against the rules of the site file with the answers before it.

    given : the answers so far by key. Raises InputError with one sentence.
    """
    value = question.read(text, given)
    _check(question, {**given, question.key: value})
    return value


def _check(question: Question, given: Given) -> None:
    """Refuse an answer that the site file's own rules refuse, the answers still to come taken as usual."""
    usual: dict[str, object] = dict(given)
    for later in QUESTIONS:
        if later.key not in usual and later.asked(usual):
            text = later.default_for(usual) or STAND_IN.get(later.key, "1")
            usual[later.key] = later.read(text, usual)
    try:
        load_text(bare_toml(answered(usual)), Path())
    except SiteError as error:
        mine = [problem for problem in error.problems if question.key.startswith(_stem(problem.key))]
        if mine:
            raise InputError(mine[0].message) from None


# for answers that must be given: what stands in while an earlier one is checked
STAND_IN = {"name": "x", "latitude": "0", "longitude": "100"}
KEY_OF_QUESTION = {"ppfd": "lamp_ppfd", "power_kw": "lamp_power_kw", "timezone": "longitude", "place": ""}


def _stem(key: str) -> str:
    """A problem's key as the question it belongs to, without its unit."""
    key = KEY_OF_QUESTION.get(key, key)
    for unit in ("_ft2", "_ft", "_m2", "_m"):
        key = key.removesuffix(unit)
    return key or "no question"


def answered(given: Mapping[str, object]) -> Answers:
    """All answers as one record. Raises InputError naming the first one that is missing."""
    for question in QUESTIONS:
        if question.key not in given and question.asked(given):
            raise InputError(f"{question.option} is missing: {question.wording(given)}?")
    return Answers(**{key: value for key, value in given.items() if value is not None})  # type: ignore[arg-type]


def write_new_site(folder: Path, text: str) -> Path:
    """Write a fresh site file; a folder may stand already, a site file may not. Raises InputError."""
    load_text(text, folder)
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / SITE_FILE
    try:
        new_file(path, text.encode())
    except FileExistsError:
        raise InputError(f"{path} stands already; start never overwrites it.") from None
    return path
