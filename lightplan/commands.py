"""The commands: each reads its words, calls one function and returns its exit code."""

from __future__ import annotations

import sys
from collections.abc import Callable
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from lightplan.cli import (
    SITE,
    Date,
    Exit,
    LocalTime,
    commands,
    example,
    progress,
    say,
    sheet_clock,
)
from lightplan.site.questions import QUESTIONS

if TYPE_CHECKING:  # heavy to import: only when a command runs
    from lightplan.dayplan import DayPlan
    from lightplan.records import History


@commands.command(epilog=example("lightplan check sample_sites/ottermoss"))
@SITE
@click.option("--names", is_flag=True, help="List every name that a site file may use.")
def check(folder: Path, names: bool) -> int:
    """Validate a site file and print what was understood, with every default."""
    from lightplan.site.describe import describe
    from lightplan.site.names_text import names_text
    from lightplan.site.read import load_site

    if names:
        click.echo(names_text())
        return Exit.DONE
    click.echo(describe(load_site(folder)))
    return Exit.DONE


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


@commands.command(epilog=example("lightplan morning sample_sites/ottermoss --date 2026-04-21"))
@SITE
@click.option("--date", "day", type=Date(), help="The sheet's date; today if left out.")
@click.option("--now", "given_now", type=LocalTime(), help="The site's clock, instead of the real one.")
@click.option("--format", "formats", default="pdf,html,json", show_default=True, help="What to write.")
@click.option("--out", help="Folder for the files (- prints JSON); SITE/sheets if left out.")
@click.option("--offline", is_flag=True, help="Ask no service.")
@click.option("--steps", is_flag=True, help="Put every quarter hour into the JSON.")
def morning(
    folder: Path,
    day: date | None,
    given_now: datetime | None,
    formats: str,
    out: str | None,
    offline: bool,
    steps: bool,
) -> int:
    """Make the sheet of a day: orders, light and lamps, bench by bench."""
    asked = _formats(formats, out)
    from lightplan.house.kept import kept_house_light
    from lightplan.plan import plan_day, planning_grid
    from lightplan.report.write import json_text, write_sheet
    from lightplan.site.read import load_site
    from lightplan.weather.fetch import weather_for

    loaded = load_site(folder)
    for warning in loaded.warnings:
        say(f"Warning: {warning}")
    site = loaded.site
    day, now = sheet_clock(site.timezone, day, given_now)
    grid, window = planning_grid(site, day, now)
    progress("weather …")
    weather = weather_for(site, grid, needed_until=window.end if window else grid.moment(96))
    history = _history(folder, day, now)
    progress("light and lamps …")
    benched = {bench.house for bench in site.benches}
    lights = {h.id: kept_house_light(h, folder / "cache") for h in site.houses if h.id in benched}
    plan = plan_day(site, weather, history, grid=grid, window=window, now=now, lights=lights)
    progress("page …")
    if out == "-":
        click.echo(json_text(plan, steps=steps))
        missing: tuple[str, ...] = ()
    else:
        written = write_sheet(plan, asked, Path(out) if out else folder / "sheets", steps=steps)
        missing = written.missing
        for sentence in (*written.missing, *written.complaints):
            say(sentence)
        for path in written.files:
            click.echo(path)
    _keep(folder, plan)
    if weather.fallback_reason:
        say(f"Weather: {weather.fallback_reason}.")
    return Exit.STAND_IN if weather.fallback_reason or missing else Exit.DONE


def _formats(text: str, out: str | None) -> tuple[str, ...]:
    from lightplan.report.write import FORMATS

    asked = tuple(part.strip() for part in text.split(",") if part.strip())
    unknown = [part for part in asked if part not in FORMATS]
    if unknown or not asked:
        raise click.BadParameter(f"{text!r} is not of {', '.join(FORMATS)}", param_hint="--format")
    if out == "-" and asked != ("json",):
        raise click.BadParameter("- prints JSON only; add --format json", param_hint="--out")
    return asked


def _history(folder: Path, day: date, now: datetime) -> History:
    from lightplan.records import NO_HISTORY, RecordsError, read_history

    try:
        return read_history(folder, day, now)
    except RecordsError as error:
        say(str(error))
        return NO_HISTORY


def _keep(folder: Path, plan: DayPlan) -> None:
    """Remember the plan; a folder that can't be written to costs the memory, never the sheet."""
    from lightplan.records import RecordsError, keep_plan
    from lightplan.report.json_morning import morning_json

    try:
        keep_plan(
            folder,
            day=plan.day,
            made_at=plan.generated_at,
            window=(plan.window.start, plan.window.end) if plan.window else None,
            plan=morning_json(plan),
            weather_source=plan.weather.source,
            weather_table=plan.weather.table,
            lamps={b.bench.id: b.lamps.intervals for b in plan.benches},
            account_after={b.bench.id: b.account_after for b in plan.benches},
        )
    except RecordsError as error:
        say(str(error))
