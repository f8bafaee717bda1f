"""`lightplan due`: what a timer runs. The sheet is made if it is due; what waits is sent again."""

from __future__ import annotations

import tomllib
from contextlib import suppress
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import click
from filelock import FileLock, Timeout

from lightplan.cli import (
    SITE,
    Exit,
    Listener,
    LocalTime,
    commands,
    example,
    heard_by,
    local_now,
    progress,
    say,
)
from lightplan.commands.clock_time import ClockTime
from lightplan.deliver.outbox import Outbox
from lightplan.schedule.due import FOLDER, LOCK, LOG, Memory, State, is_due, just_now, last_slot
from lightplan.schedule.environment import take_environment
from lightplan.schedule.log import BoundedLog


@commands.command(epilog=example("lightplan due my-nursery --at 05:15 --at 11:30"))
@SITE
@click.option("--at", "times", type=ClockTime(), multiple=True, required=True, help="When a sheet is due.")
@click.option("--now", "given_now", type=LocalTime(), help="The site's clock, instead of the real one.")
def due(folder: Path, times: tuple[int, ...], given_now: datetime | None) -> int:
    """Make and deliver the sheet if it is due and not made yet: what the timer of `schedule` runs.

    Otherwise only what could not be delivered before is tried again, and nothing is said.
    """
    if not (folder / "site.toml").is_file():
        from lightplan.site.read import load_site

        load_site(folder)  # says what is wrong; nothing is noted beside a site that is not there
    zone = _zone(folder)
    now = local_now(zone, given_now)
    memory, outbox = Memory(folder), Outbox(folder)
    last = last_slot(now, times)
    if (last is None or not is_due(last, memory.read())) and not outbox.waits():
        return Exit.DONE
    lock = FileLock(folder / FOLDER / LOCK)
    with suppress(OSError):
        (folder / FOLDER).mkdir(exist_ok=True)
    try:
        lock.acquire(timeout=0)
    except Timeout:
        say("Another run of this timer is at work; this one leaves it to it.")
        return Exit.DONE
    except (OSError, NotImplementedError):
        pass  # a disk that takes no lock
    log = BoundedLog(folder / FOLDER / LOG, lambda: local_now(zone, given_now))
    try:
        with heard_by(Listener(log, log)):
            for sentence in take_environment():
                say(sentence)
            state = memory.read()  # again: another run may have ended since
            if last is None or not is_due(last, state):
                return _send_what_waits(folder, now)
            slot, tries = last, 1 + (state.tries if state is not None and state.slot == last else 0)
            if not memory.write(State(slot, tries, False)) and not just_now(slot, now):
                say("No disk takes a note of what was made, and the time is past: nothing is made twice.")
                return Exit.STAND_IN
            progress(f"due at {slot.at_min // 60:02}:{slot.at_min % 60:02}, try {tries}")
            code = _make(folder, given_now, log)
            memory.write(State(slot, tries, code in (Exit.DONE, Exit.STAND_IN)))
            progress(f"ended with code {code}")
            return code
    finally:
        lock.release()


def _zone(folder: Path) -> ZoneInfo:
    """The site's zone by a quick look; UTC for a file that the real reading will complain of."""
    try:
        text = (folder / "site.toml").read_text(encoding="utf-8-sig")
        return ZoneInfo(str(tomllib.loads(text)["site"]["timezone"]))
    except Exception:  # whatever is wrong with the file is told where it is read in earnest
        return ZoneInfo("UTC")


def _make(folder: Path, given_now: datetime | None, log: BoundedLog) -> int:
    from lightplan.commands.morning import sheet_of

    try:
        return sheet_of(
            folder,
            day=None,
            given_now=given_now,
            formats=("pdf", "html", "json", "ics"),
            out=None,
            offline=False,
            steps=False,
            delivered=True,
        )
    except Exception as error:  # told by the command line's own handler; the log has it as well
        log(f"{type(error).__name__}: {error}")
        from lightplan.problems import InputError

        if isinstance(error, InputError):
            click.echo(str(error), err=True)
            return Exit.WRONG_INPUT
        raise


def _send_what_waits(folder: Path, now: datetime) -> int:
    from lightplan.deliver.dispatch import channels_of, deliver
    from lightplan.site.read import load_site

    site = load_site(folder).site
    left = deliver(Outbox(folder), channels_of(site), None, sent_at=now, say=say, tell=progress)
    return Exit.STAND_IN if left else Exit.DONE
