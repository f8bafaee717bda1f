"""`lightplan schedule`: have the computer make and deliver the sheet each morning."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from lightplan.cli import SITE, Exit, commands, example, local_now, say
from lightplan.commands.clock_time import ClockTime

if TYPE_CHECKING:
    from lightplan.schedule.timer import System, Timer
    from lightplan.site.models import Site

SYSTEM_NAMES = ("systemd", "cron", "launchd", "windows")
LOG_LINES = 12  # of the log, as --show tells them


@commands.command(epilog=example("lightplan schedule my-nursery --at 05:15"))
@SITE
@click.option("--at", "at_min", type=ClockTime(), help="When the sheet is due, by the site's own clock.")
@click.option("--noon", "noon_min", type=ClockTime(), help="A second look at the same day.")
@click.option("--show", is_flag=True, help="Change nothing: show it; without --at, what stands and its log.")
@click.option("--remove", is_flag=True, help="Take the timer away.")
@click.option("--yes", is_flag=True, help="Install without asking.")
@click.option("--system", "system_name", type=click.Choice(SYSTEM_NAMES), help="Not the usual one here.")
def schedule(
    folder: Path,
    at_min: int | None,
    noon_min: int | None,
    show: bool,
    remove: bool,
    yes: bool,
    system_name: str | None,
) -> int:
    """Have this computer make the sheet each morning and deliver it as [deliver] in site.toml asks.

    What would be installed is shown first. A computer that slept makes the sheet when it wakes.
    """
    if remove and (show or at_min is not None):
        raise click.UsageError("--remove stands alone.")
    if at_min is None and not (show or remove):
        raise click.UsageError("Give the time with --at, like --at 05:15.")
    if noon_min is not None and (at_min is None or noon_min <= at_min):
        raise click.UsageError("--noon needs a time after that of --at.")
    from lightplan.problems import InputError
    from lightplan.schedule.timer import Timer, run_program
    from lightplan.site.read import load_site

    loaded = load_site(folder)
    site = loaded.site
    if not str(folder.resolve()).isprintable():
        raise InputError(f"{str(folder.resolve())!r} holds a line break or the like; rename that folder.")
    times = () if at_min is None else (at_min,) if noon_min is None else (at_min, noon_min)
    timer = Timer(folder.resolve(), times, site.timezone)
    if remove:
        return _remove(timer)
    if at_min is None:
        return _tell(timer)
    from lightplan.schedule.systems import SYSTEMS, usual_system

    if system_name is not None:
        system = SYSTEMS[system_name]
    else:
        system = _for_show() if show else usual_system(run_program)
    for warning in (*loaded.warnings, *_warnings(site, at_min)):
        say(f"Warning: {warning}")
    click.echo(system.shown(timer).rstrip("\n"))
    if show:
        return Exit.DONE
    asks = sys.stdin is not None and sys.stdin.isatty() and not yes
    if asks and not click.confirm("Install this?", default=True, err=True):
        say("Nothing was installed.")
        return Exit.DONE
    for sentence in system.install(timer, run_program):
        say(sentence)
    _past_is_past(timer)
    say(
        f"Installed: the sheet of {site.name} comes at {' and '.join(timer.times)}, {site.timezone.key} time."
    )
    return Exit.DONE


def _past_is_past(timer: Timer) -> None:
    """Installed in the afternoon, it begins with the next morning: what is past today is not due."""
    from lightplan.schedule.due import Memory, State, last_slot

    slot = last_slot(local_now(timer.zone, None), timer.times_min)
    if slot is not None:
        Memory(timer.site).write(State(slot, 0, True))


def _for_show() -> System:
    """What would be used; where nothing answers, what could be read all the same."""
    from lightplan.schedule.systems import SYSTEMS, usual_system
    from lightplan.schedule.timer import ScheduleError, run_program

    try:
        return usual_system(run_program)
    except ScheduleError as error:
        say(str(error))
        return SYSTEMS["systemd"]


def _warnings(site: Site, at_min: int) -> list[str]:
    from lightplan.schedule.environment import environment_path, read_environment

    known, said = read_environment(environment_path())
    found = [*said]
    starts = [crew[0] for crew in site.crew if crew is not None]
    if starts and at_min >= min(starts):
        first = f"{min(starts) // 60:02}:{min(starts) % 60:02}"
        found.append(f"the crew comes at {first} and would find no sheet yet; give an earlier --at.")
    wanted = site.deliver
    if not (wanted.to_printer or wanted.folder or wanted.mail):
        found.append("site.toml has no [deliver]: the sheet will only lie in its folder.")
    names = [wanted.mail.password_env if wanted.mail else None, site.weather.api_key_env]
    for name in (name for name in names if name and name not in known):
        found.append(f"a timer knows no variables of yours: put {name}=… into {environment_path()}.")
    return found


def _remove(timer: Timer) -> int:
    from lightplan.schedule.systems import here
    from lightplan.schedule.timer import ScheduleError, run_program

    removed, faults = [], list[str]()
    for system in here(run_program):
        try:
            if system.remove(timer, run_program):
                removed.append(system.name)
        except ScheduleError as error:
            faults.append(str(error))
    if removed:
        say(f"Taken away ({', '.join(removed)}).")
    elif not faults:
        say("There was no timer for this site.")
    for sentence in faults:
        say(sentence)
    return Exit.WRONG_INPUT if faults and not removed else Exit.DONE


def _tell(timer: Timer) -> int:
    from lightplan.schedule.due import FOLDER, LOG
    from lightplan.schedule.systems import here
    from lightplan.schedule.timer import run_program

    found = [text for system in here(run_program) if (text := system.stands(timer, run_program))]
    click.echo("\n".join(found).rstrip("\n") if found else "No timer stands for this site.")
    try:
        lines = (timer.site / FOLDER / LOG).read_text(encoding="utf-8", errors="replace").splitlines()
    except OSError:
        return Exit.DONE
    click.echo("\nLast lines of its log:\n" + "\n".join(lines[-LOG_LINES:]))
    return Exit.DONE
