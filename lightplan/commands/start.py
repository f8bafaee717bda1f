"""`lightplan start`: a new site folder."""

from __future__ import annotations

import sys
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import click

from lightplan.cli import Exit, commands, example, say
from lightplan.site.questions import QUESTIONS


def _start_options(command: Callable[..., int]) -> Callable[..., int]:
    for question in reversed(QUESTIONS):
        words = question.text.replace("{unit}", "the place's unit")
        command = click.option(question.option, question.key, help=words)(command)
    return command


@commands.command(epilog=example("lightplan start my-nursery --sample ottermoss"))
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
@click.option("--sample", metavar="NAME", help="Copy a sample site instead of asking.")
@_start_options
def start(folder: Path, sample: str | None, **options: str | None) -> int:
    """Make a new site folder, asking for what it needs (or taking options)."""
    from lightplan.site.start import answered, copy_sample, read_answer, site_toml, write_new_site

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
    say(
        f"{path} is written. Open it in any text editor, then: lightplan check {folder}\n"
        "For light that is typical of your place, put a TMY2, TMY3 or EPW file of it beside site.toml "
        'and name it there: [weather] typical = "FILE".'
    )
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
