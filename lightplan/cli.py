"""Words in, one call, exit code out.

Exit codes: 0 done; 1 the input is wrong; 2 wrong usage; 3 done, but something else had to stand in
or an asked format could not be made; 4 a fault of ours.
"""

from __future__ import annotations

import os
import sys
import tempfile
import traceback
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from datetime import date, datetime, time
from enum import IntEnum
from pathlib import Path
from time import monotonic
from zoneinfo import ZoneInfo

import click

import lightplan

STDOUT = 1  # its number in the process


class Exit(IntEnum):
    DONE = 0
    WRONG_INPUT = 1
    WRONG_USAGE = 2
    STAND_IN = 3
    OUR_FAULT = 4


class Date(click.ParamType[date]):
    name = "YYYY-MM-DD"

    def convert(self, value: str | date, param: click.Parameter | None, ctx: click.Context | None) -> date:
        if isinstance(value, date):
            return value
        try:
            return date.fromisoformat(value)
        except ValueError:
            self.fail(f"{value} is not a date of the calendar; write it like 2026-02-14", param, ctx)


class LocalTime(click.ParamType[datetime]):
    name = "YYYY-MM-DDTHH:MM"

    def convert(
        self, value: str | datetime, param: click.Parameter | None, ctx: click.Context | None
    ) -> datetime:
        if isinstance(value, datetime):
            return value
        try:
            moment = datetime.fromisoformat(value)
        except ValueError:
            self.fail(f"{value} is not a local time; write it like 2026-02-14T06:30", param, ctx)
        if moment.tzinfo is not None:
            self.fail(f"{value} carries an offset; give the site's own clock time without one", param, ctx)
        return moment


SITE = click.argument("folder", metavar="SITE", type=click.Path(path_type=Path))


def example(text: str) -> str:
    return f"Example:\n\n\b\n  {text}"


@click.group(
    context_settings={"help_option_names": ["-h", "--help"]},
    epilog=example("lightplan morning sample_sites/ottermoss"),
)
@click.option(
    "--version", is_flag=True, is_eager=True, expose_value=False, callback=lambda c, p, v: _version(c, v)
)
def commands() -> None:
    """A printed morning sheet of lamp, shade and cover orders for a small greenhouse range."""


def _version(ctx: click.Context, asked: bool) -> None:
    if not asked:
        return
    from lightplan.report.pdf import engine_versions

    click.echo(f"lightplan {lightplan.__version__}\n{engine_versions()}")
    ctx.exit()


@dataclass(frozen=True)
class Listener:
    """said, steps : take what is said to people, and steps of long work. alone : nobody else hears of it."""

    said: Callable[[str], None]
    steps: Callable[[str], None] | None = None
    alone: bool = False


LISTENER: ContextVar[Listener | None] = ContextVar("LISTENER", default=None)


@contextmanager
def heard_by(listener: Listener) -> Iterator[None]:
    """Hand every word to people, and every step, to somebody else too."""
    token = LISTENER.set(listener)
    try:
        yield
    finally:
        LISTENER.reset(token)


def say(text: str) -> None:
    """To people; results alone go to stdout."""
    listener = LISTENER.get()
    if listener is None or not listener.alone:
        click.echo(text, err=True)
    if listener is not None:
        listener.said(text)


def progress(text: str) -> None:
    """A step of long work, on a terminal and in a log only."""
    listener = LISTENER.get()
    if sys.stderr.isatty() and (listener is None or not listener.alone):
        click.echo(text, err=True)
    if listener is not None and listener.steps is not None:
        listener.steps(text)


def result(text: str) -> None:
    """A result, on stdout; nothing where another process gathers them."""
    listener = LISTENER.get()
    if listener is None or not listener.alone:
        click.echo(text)


def seconds_running() -> float:
    """How long this command has run [s], by the machine's stopwatch."""
    return monotonic() - float(click.get_current_context().obj)


def local_now(zone: ZoneInfo, given: datetime | None) -> datetime:
    """The site's clock: the one given by --now, else the real one."""
    return given.replace(tzinfo=zone) if given is not None else datetime.now(zone).replace(microsecond=0)


def sheet_clock(zone: ZoneInfo, day: date | None, given: datetime | None) -> tuple[date, datetime]:
    """The sheet's date and the moment it is made: for a date not today's, as if at 00:00 of it."""
    now = local_now(zone, given)
    if day is None or day == now.date():
        return now.date(), now
    return day, datetime.combine(day, time(0), zone)


def keep_results_apart() -> None:
    """Let nothing but results reach stdout: what a library's own C code prints there goes nowhere.

    HiGHS prints a line of its own now and then, and its buffer may be flushed only when the process ends.
    """
    try:
        if sys.stdout.fileno() != STDOUT:
            return
    except (OSError, ValueError):  # not a file of the system's, as under tests
        return
    sys.stdout.flush()
    results = os.dup(STDOUT)
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, STDOUT)
    os.close(nowhere)
    sys.stdout = os.fdopen(results, "w", encoding=sys.stdout.encoding, errors=sys.stdout.errors)


def _open_streams() -> None:
    """Windows' Python without a window, which its Task Scheduler starts, has no streams at all."""
    for name in ("stdout", "stderr"):
        if getattr(sys, name) is None:
            setattr(sys, name, open(os.devnull, "w", encoding="utf-8"))  # noqa: SIM115, PTH123


def main(arguments: list[str] | None = None) -> int:
    """Run one command and return its exit code; nothing that goes wrong ends in a traceback."""
    _open_streams()
    keep_results_apart()
    import lightplan.commands  # noqa: F401  (registers the commands)

    try:
        code = commands.main(arguments, prog_name="lightplan", standalone_mode=False, obj=monotonic())
        return int(code or Exit.DONE)
    except click.exceptions.Exit as stop:
        return stop.exit_code
    except click.ClickException as error:
        error.show()
        return Exit.WRONG_USAGE
    except (click.Abort, KeyboardInterrupt):
        say("Stopped.")
        return 130
    except Exception as error:
        from lightplan.problems import InputError

        if isinstance(error, InputError):
            say(str(error))
            return Exit.WRONG_INPUT
        say(f"A fault of lightplan itself ({type(error).__name__}); details are in {_log(arguments)}")
        return Exit.OUR_FAULT


def _log(arguments: list[str] | None) -> Path:
    """Write the traceback where a bug report can pick it up."""
    words = " ".join(arguments if arguments is not None else sys.argv[1:])
    with tempfile.NamedTemporaryFile(
        "w", prefix="lightplan-fault-", suffix=".log", delete=False, encoding="utf-8"
    ) as log:
        log.write(f"lightplan {lightplan.__version__}, Python {sys.version}\nlightplan {words}\n\n")
        log.write(traceback.format_exc())
    return Path(log.name)
