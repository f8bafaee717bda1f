"""Which of a computer's timers to use."""

from __future__ import annotations

import shutil
import sys

from lightplan.schedule.cron import Cron
from lightplan.schedule.launchd import Launchd
from lightplan.schedule.systemd import Systemd
from lightplan.schedule.timer import Run, ScheduleError, System
from lightplan.schedule.windows import Windows

SYSTEMS: dict[str, System] = {s.name: s for s in (Systemd(), Cron(), Launchd(), Windows())}


def usual_system(run: Run) -> System:
    """The one to use here. Raises ScheduleError where none answers."""
    if sys.platform == "darwin":
        return SYSTEMS["launchd"]
    if sys.platform == "win32":
        return SYSTEMS["windows"]
    if _user_manager_answers(run):
        return SYSTEMS["systemd"]
    if shutil.which("crontab"):
        return SYSTEMS["cron"]
    raise ScheduleError(
        "Neither systemd's user timers nor crontab answer here. Install cron, or see what any other timer"
        " would have to run with --show --system cron."
    )


def here(run: Run) -> tuple[System, ...]:
    """Every system of this computer that may hold a timer: the one removed may not be the one used now."""
    if sys.platform == "darwin":
        return (SYSTEMS["launchd"],)
    if sys.platform == "win32":
        return (SYSTEMS["windows"],)
    with_cron = (SYSTEMS["cron"],) if shutil.which("crontab") else ()
    return (SYSTEMS["systemd"], *with_cron)


def _user_manager_answers(run: Run) -> bool:
    try:
        return run(("systemctl", "--user", "show-environment")).code == 0
    except ScheduleError:
        return False
