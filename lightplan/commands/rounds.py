"""`lightplan rounds`: the sheets of every site under a folder, with one page of contents."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from lightplan.cli import Date, Exit, LocalTime, commands, example, progress, say

if TYPE_CHECKING:
    from lightplan.rounds.job import Outcome, Round
    from lightplan.rounds.journal import Journal

FOLDER = "rounds"  # below the folder of sites
PAGE_FORMATS = ("html", "json", "pdf")
MOST_ON_PAPER = 400  # sites; a longer table would take the renderer minutes, and nobody would read it


@commands.command(epilog=example("lightplan rounds our-growers --workers 2"))
@click.argument("base", metavar="DIR", type=click.Path(path_type=Path))
@click.option(
    "--workers", type=click.IntRange(1, 256), help="Processes at once; as many as cores if left out."
)
@click.option(
    "--cluster", metavar="ADDRESS", help="A Dask scheduler whose workers see DIR, like tcp://HOST:8786."
)
@click.option("--date", "day", type=Date(), help="The sheets' date; each site's today if left out.")
@click.option("--now", "given_now", type=LocalTime(), help="Every site's clock, instead of the real one.")
@click.option("--format", "formats", default="pdf,html,json", show_default=True, help="What to write.")
@click.option("--offline", is_flag=True, help="Ask no service.")
@click.option("--deliver", is_flag=True, help="Print, mail and copy each as its site.toml asks.")
@click.option("--again", is_flag=True, help="Make those anew too that are made already.")
def rounds(
    base: Path,
    workers: int | None,
    cluster: str | None,
    day: date | None,
    given_now: datetime | None,
    formats: str,
    offline: bool,
    deliver: bool,
    again: bool,
) -> int:
    """Make the sheets of every site under a folder: for an adviser, or for growers who share a computer.

    Sites in one grid cell share a forecast. What fails is listed and does not stop the rest. A round that was
    broken off goes on where it stopped; run again the same day, it makes only what is not made.
    """
    from lightplan.commands.morning import _formats

    if workers is not None and cluster is not None:
        raise click.UsageError("Give --workers or --cluster, not both.")
    asked = _formats(formats, None, calendar=True)
    from lightplan.problems import InputError
    from lightplan.rounds.find import sites_under
    from lightplan.rounds.job import Round
    from lightplan.rounds.journal import Journal
    from lightplan.rounds.waiting import delivered_since
    from lightplan.schedule.environment import take_environment

    faults: list[OSError] = []
    folders = sites_under(base, faults.append)
    if faults and not base.is_dir():
        raise InputError(f"{base} is not a folder that can be looked into ({faults[0].strerror}).")
    for fault in faults:
        say(f"{fault.filename} can't be looked into ({fault.strerror}); sites in it are not made.")
    if not folders:
        raise InputError(f"{base}: no folder with a site.toml is in it.")
    now = datetime.now(UTC).replace(microsecond=0)
    of_day = day or (given_now.date() if given_now else now.astimezone().date())
    home = base.resolve()
    shared = home / FOLDER / f"weather-{of_day}"
    round_ = Round(home, now, asked, shared, day, given_now, offline, deliver)
    with _alone(home / FOLDER):
        journal = Journal(home / FOLDER / f"{of_day}.jsonl")
        try:
            journal.begin(anew=again)
        except OSError as error:
            raise InputError(f"{home / FOLDER} can't be written to ({error.strerror or error}).") from error
        _forget_forecasts(home / FOLDER, shared, now)
        done = journal.made(round_) & set(folders)
        todo = tuple(folder for folder in folders if folder not in done)
        if done:
            say(f"{len(done)} of {len(folders)} are made already; --again makes them anew.")
        if deliver:
            for sentence in take_environment():  # this computer's processes inherit it
                say(sentence)
            for outcome in delivered_since(round_, [o for o in journal.outcomes() if o.folder in done]):
                _note(journal, outcome)
        failed = len(faults)
        for count, outcome in enumerate(_outcomes(round_, todo, workers, cluster), start=1):
            _note(journal, outcome)
            progress(f"{count}/{len(todo)} {outcome.folder}: {outcome.seconds:.1f} s")
            if not outcome.made:
                failed += 1
                say(f"{outcome.folder}: {outcome.sentence}")
            elif outcome.code != Exit.DONE:
                say(f"{outcome.folder}: {' '.join(outcome.said)}")
        return _page(round_, journal, folders, str(of_day), failed)


def _note(journal: Journal, outcome: Outcome) -> None:
    if fault := journal.add(outcome):
        say(fault)


@contextmanager
def _alone(folder: Path) -> Iterator[None]:
    """One round at a time; a disk that takes no lock is worked on all the same. Raises InputError."""
    from filelock import FileLock, Timeout

    from lightplan.problems import InputError

    lock = FileLock(folder / "round.lock")
    try:
        folder.mkdir(parents=True, exist_ok=True)
        lock.acquire(timeout=0)
    except Timeout:
        raise InputError(f"{folder.parent}: another round is at work here; wait until it is done.") from None
    except (OSError, NotImplementedError):
        pass
    try:
        yield
    finally:
        lock.release()


def _outcomes(
    round_: Round, folders: tuple[str, ...], workers: int | None, cluster: str | None
) -> Iterator[Outcome]:
    if cluster is not None:
        from lightplan.rounds.cluster import cluster_outcomes

        return cluster_outcomes(round_, folders, cluster)
    from lightplan.rounds.local import local_outcomes

    return local_outcomes(round_, folders, workers or len(_cores()))


def _cores() -> set[int]:
    if hasattr(os, "sched_getaffinity"):
        return os.sched_getaffinity(0)
    return set(range(os.cpu_count() or 1))


def _page(round_: Round, journal: Journal, folders: tuple[str, ...], day: str, failed: int) -> int:
    """Write the contents, tell where they lie, give the exit code."""
    from lightplan.report.json_form import json_text
    from lightplan.report.write import write_page
    from lightplan.rounds.contents import contents, contents_html, contents_json

    wanted = set(folders)
    found = [outcome for outcome in journal.outcomes() if outcome.folder in wanted]
    page = contents(round_, day, found, up="..", paper=_paper(round_))
    formats = [f for f in PAGE_FORMATS if f in round_.formats]
    if "pdf" in formats and len(found) > MOST_ON_PAPER:
        formats = ["html", *(f for f in formats if f == "json")]
        say(f"The contents of more than {MOST_ON_PAPER} sites come as HTML only.")
    try:
        text = json_text(contents_json(round_, day, found))
        name = f"rounds-{day}"
        written = write_page(name, contents_html(page), text, formats or ["html"], round_.base / FOLDER)
    except OSError as error:
        say(f"The page of contents can't be written ({error.strerror or error}); the sheets are made.")
        return Exit.STAND_IN
    for sentence in (*written.missing, *written.complaints):
        say(sentence)
    for path in written.files:
        click.echo(path)
    say(page.sentence)
    whole = all(o.code == Exit.DONE for o in found) and not failed and not written.missing
    return Exit.DONE if whole else Exit.STAND_IN if page.made else Exit.WRONG_INPUT


def _paper(round_: Round) -> str:
    """The paper of this part of the world, as the first site that can be read has it."""
    from lightplan.problems import InputError
    from lightplan.rounds.find import sites_under
    from lightplan.site.read import load_site

    for folder in sites_under(round_.base)[:20]:
        try:
            return load_site(round_.base / folder).site.paper
        except InputError:
            continue
    return "a4"


STALE_H = 3  # shared answers older than this are asked for anew


def _forget_forecasts(home: Path, shared: Path, now: datetime) -> None:
    """Answers of earlier rounds: another day's, or too old for a round that goes on."""
    for folder in home.glob("weather-*"):
        age_h = (now.timestamp() - folder.stat().st_mtime) / 3600
        if folder != shared or age_h > STALE_H:
            shutil.rmtree(folder, ignore_errors=True)
