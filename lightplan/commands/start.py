"""`lightplan start`: a new site folder."""

from __future__ import annotations

import sys
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import click

from lightplan.cli import Exit, commands, example, progress, say
from lightplan.site.questions import QUESTIONS


def _start_options(command: Callable[..., int]) -> Callable[..., int]:
    for question in reversed(QUESTIONS):
        words = question.text.replace("{unit}", "the place's unit")
        command = click.option(question.option, question.key, help=words)(command)
    return command


@commands.command(epilog=example("lightplan start my-nursery --sample ottermoss"))
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
@click.option("--sample", metavar="NAME", help="Copy a sample site instead of asking.")
@click.option("--offline", is_flag=True, help="Fetch no typical year.")
@_start_options
def start(folder: Path, sample: str | None, offline: bool, **options: str | None) -> int:
    """Make a new site folder, asking for what it needs (or taking options).

    Fetches a typical year of the place once. On a folder that stands only what is missing is fetched.
    """
    from lightplan.site.problems import SITE_FILE
    from lightplan.site.start import answered, copy_sample, read_answer, site_toml, write_new_site

    if sample is None and (folder / SITE_FILE).exists() and not any(options.values()):
        return _fetch_missing(folder, offline=offline)
    if sample is not None:
        copy_sample(sample, folder)
        say(f"{folder} is a copy of the sample {sample}. Next: lightplan morning {folder}")
        return Exit.DONE
    given: dict[str, object] = {}
    for question in QUESTIONS:
        if not question.asked(given):
            continue
        text = options.get(question.key)
        if text is not None:
            given[question.key] = read_answer(question, text, given)
        elif question.default_for(given) is not None and not _may_ask():
            given[question.key] = read_answer(question, question.default_for(given) or "", given)
        elif _may_ask():
            given[question.key] = _asked(question.key, given)
    path = write_new_site(folder, site_toml(answered(given), datetime.now().year))
    say(f"{path} is written. Open it in any text editor, then: lightplan check {folder}")
    return _fetch_missing(folder, offline=offline)


def _fetch_missing(folder: Path, *, offline: bool) -> int:
    """A typical year for a site that has none; without a connection, what goes without it is said."""
    from lightplan.site.read import load_site
    from lightplan.weather.table import SourceFault
    from lightplan.weather.typical_fetch import fetch_typical_year, has_typical_year

    site = load_site(folder).site
    if has_typical_year(site):
        say(f"{folder} has its typical year; nothing is fetched and nothing overwritten.")
        return Exit.DONE
    progress("typical year …")
    try:
        if offline:
            raise SourceFault("--offline")
        path = fetch_typical_year(site, datetime.now().year)
    except (SourceFault, OSError) as fault:
        reason = getattr(fault, "strerror", None) or fault
        say(
            f"No typical year is at hand ({reason}). morning needs it for what is usual and for days without "
            "a forecast (a dimmed clear sky stands in); houses, invert and replay plan with it.\n"
            f"With a connection, lightplan start {folder} fetches it; or put a TMY2, TMY3 or EPW file of the "
            'place beside site.toml and name it there: [weather] typical = "FILE".'
        )
        return Exit.DONE
    say(f"{path} is fetched: light that is typical of the place.")
    return Exit.DONE


def _may_ask() -> bool:
    return bool(sys.stdin.isatty())


def _asked(key: str, given: dict[str, object]) -> object:
    """Ask until the answer will do."""
    from lightplan.problems import InputError
    from lightplan.site.start import read_answer

    question = next(q for q in QUESTIONS if q.key == key)
    while True:
        text = click.prompt(question.wording(given), default=question.default_for(given), err=True)
        try:
            return read_answer(question, str(text), given)
        except InputError as problem:
            say(str(problem))
