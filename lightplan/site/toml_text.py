"""The text of `site.toml` → a plain document, or what broke it and where."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path as Folder
from typing import Any

from lightplan.site.problems import SITE_FILE, Problem, SiteError

CLOCK_WITHOUT_QUOTES = re.compile(r"(?<![\w\":.“-])(\d{1,2}:\d{2})(?![\d:])")
STRINGS = re.compile(r'"(?:\\.|[^"\\])*"|\'[^\']*\'')
POSITION = re.compile(r"at line (\d+)")
# what a line looks like: (pattern, what would do); the first that fits is told
HINTS = (
    (re.compile(r"[“”„‘’]"), 'use straight quotes ", not curly ones'),
    (re.compile(r"=\s*-?\d+,\d+\s*$"), "write decimals with a point: 9.1"),
    (re.compile(r"=\s*(True|False|TRUE|FALSE|yes|no|Yes|No)\s*$"), "write true or false"),
    (re.compile(r"=\s*-?[\d.]+\s*('|\"|[A-Za-z°%]+)\s*$"), "write the number alone; the unit is in the key"),
    (re.compile(r"=\s*[A-Za-z][\w-]*\s*$"), 'put quotes round words, as in shape = "gable"'),
    (re.compile(r"=\s*$"), "give a value after the =, or take the line out"),
    (re.compile(r"\d{4}-\d{1,2}-\d{1,2}|\d{1,2}:\d{2}:\d{2}"), "that date or time does not exist"),
    (re.compile(r"^[\w.-]+\s*:"), "put = between key and value"),
    (re.compile(r"^[\w.-]+\s+[^=]+$"), "put = between key and value"),
)
UNENDED = {
    "array": "a [ is not closed, or a comma is missing",
    "inline table": "a { is not closed, or a comma is missing",
    "string": "a quote is not closed",
}
SOMEWHERE_HERE = "look for a missing quote, bracket or comma here or on the line above"


def read_text(folder: Folder) -> str:
    """The text of a folder's site file. Raises SiteError where there is none to read."""
    path = folder / SITE_FILE
    try:
        return _decoded(path.read_bytes())
    except FileNotFoundError:
        missing = f"there is no {SITE_FILE} here; lightplan start {folder} makes one."
        raise SiteError([Problem(str(folder), "", "", missing, "no-file")]) from None
    except OSError as error:
        unreadable = f"cannot be read ({error.strerror or error}); see that it is a file you may open."
        raise SiteError([Problem(str(path), "", "", unreadable, "unreadable")]) from None


def parsed(text: str) -> dict[str, Any]:
    """The document of a text. Raises SiteError where it is not TOML."""
    try:
        return tomllib.loads(text)
    except RecursionError:
        message = "nests lists too deeply; no value needs more than three [."
        raise SiteError([_problem("", message, "broken")]) from None
    except ValueError as error:  # TOMLDecodeError, and numbers too long to be read
        raise SiteError(broken(text, str(error))) from None


def _decoded(raw: bytes) -> str:
    for mark, encoding in ((b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16")):
        if raw.startswith(mark):
            try:
                return raw.decode(encoding)
            except UnicodeDecodeError:
                break
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        message = "holds a letter that is not UTF-8; save the file as UTF-8 text."
        raise SiteError([_problem(f"line {line}", message, "encoding")]) from None


def _problem(place: str, message: str, slug: str) -> Problem:
    return Problem(SITE_FILE, place, "", message, slug)


def broken(text: str, error: str) -> list[Problem]:
    """What stops the text from being TOML: every clock time without quotes, else the line that failed.

    error : the parser's own words, used for the position and the kind only.
    """
    lines = text.splitlines() or [""]
    found = POSITION.search(error)
    number = min(int(found[1]), len(lines)) if found else len(lines)
    if clocks_without_quotes(lines[number - 1]):
        return [
            _problem(
                f"line {at}", f'{line.strip()} has {clocks[0]} without quotes; write "{clocks[0]}".', "quotes"
            )
            for at, line in enumerate(lines, 1)
            if (clocks := clocks_without_quotes(line))
        ]
    if "Exceeds the limit" in error:
        return [_problem("", "holds a number of thousands of digits; write ordinary numbers.", "broken")]
    unended = next((words for mark, words in UNENDED.items() if mark in error), "")
    if not found and unended:
        return [_problem("", f"ends inside a value; {unended}.", "broken")]
    hint = _hint(bare(lines[number - 1]), error) or unended or SOMEWHERE_HERE
    return [_problem(f"line {number}", f"{lines[number - 1].strip()} cannot be read; {hint}.", "broken")]


def _hint(line: str, error: str) -> str | None:
    if "overwrite" in error or "twice" in error or "mutate" in error:
        return "this is already given above; keep one"
    return next((hint for pattern, hint in HINTS if pattern.search(line)), None)


def bare(line: str) -> str:
    """A line without its comment, its strings emptied."""
    return STRINGS.sub('""', line).split("#", 1)[0].strip()


def clocks_without_quotes(line: str) -> list[str]:
    return CLOCK_WITHOUT_QUOTES.findall(bare(line))
