"""systemd: a user timer at the site's own clock, which catches up after sleep and tries again."""

from __future__ import annotations

import os
from collections.abc import Iterator
from datetime import date, datetime, time, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from lightplan.files import replace_file
from lightplan.schedule.due import KNOCK_MIN
from lightplan.schedule.timer import Run, ScheduleError, Timer, must

LOOK_AHEAD_DAYS = 800  # two years of clock changes
SERVICE = """\
[Unit]
Description=lightplan: the sheet of {site}

[Service]
# not oneshot: systemd would not try such a service again
Type=exec
ExecStart={command}
# what failed or could not be delivered is tried again
RestartForceExitStatus=1 3 4
RestartSec={knock}min
RuntimeMaxSec=10min
Nice=5
"""
TIMER = """\
[Unit]
Description=lightplan: when the sheet of {site} is due

[Timer]
{times}
# the computer slept: as soon as it wakes
Persistent=true
AccuracySec=10s

[Install]
WantedBy=timers.target
"""


class Systemd:
    name = "systemd"

    def shown(self, timer: Timer) -> str:
        files = "\n".join(f"# {path}\n{text}" for path, text in _files(timer).items())
        commands = "\n".join(" ".join(words) for words in (*_install(timer), LINGER))
        return f"{files}\n# then:\n{commands}\n"

    def install(self, timer: Timer, run: Run) -> tuple[str, ...]:
        for path, text in _files(timer).items():
            try:
                path.parent.mkdir(parents=True, exist_ok=True)
                replace_file(path, text.encode())
            except OSError as error:
                raise ScheduleError(f"{path} can't be written ({error.strerror or error}).") from error
        for words in _install(timer):
            must(run(words), words)
        linger = run(LINGER)
        if linger.code:
            return (
                "It runs only while you are logged in, since this was refused:"
                f" {' '.join(LINGER)} ({linger.said or linger.code}).",
            )
        return ()

    def remove(self, timer: Timer, run: Run) -> bool:
        paths = [path for path in _files(timer) if path.exists()]
        if not paths:
            return False
        words = ("systemctl", "--user", "disable", "--now", f"{timer.name}.timer")
        stopped = run(words)
        for path in paths:
            path.unlink(missing_ok=True)
        must(stopped, words)
        run(("systemctl", "--user", "daemon-reload"))
        return True

    def stands(self, timer: Timer, run: Run) -> str | None:
        found = [path for path in _files(timer) if path.exists()]
        return "\n".join(f"# {p}\n{p.read_text(encoding='utf-8')}" for p in found) or None


LINGER = ("loginctl", "enable-linger")


def _install(timer: Timer) -> tuple[tuple[str, ...], ...]:
    unit = f"{timer.name}.timer"
    return (
        ("systemctl", "--user", "daemon-reload"),
        ("systemctl", "--user", "enable", unit),
        ("systemctl", "--user", "restart", unit),
    )


def _files(timer: Timer) -> dict[Path, str]:
    config = Path(os.environ.get("XDG_CONFIG_HOME") or Path.home() / ".config")
    folder, site = config / "systemd" / "user", _plain(timer.site.name)
    command = " ".join(quoted(word) for word in timer.words)
    lines = [f"OnCalendar=*-*-* {clock}:00 {timer.zone.key}" for clock in _clocks(timer)]
    return {
        folder / f"{timer.name}.service": SERVICE.format(site=site, command=command, knock=KNOCK_MIN),
        folder / f"{timer.name}.timer": TIMER.format(site=site, times="\n".join(lines)),
    }


def _clocks(timer: Timer) -> tuple[str, ...]:
    """The times, and an hour after each that a change of clocks skips: systemd leaves such a day out."""
    found = [*timer.times]
    for at in timer.times_min:
        if _skipped(at, timer.zone):
            later = at + 60
            found.append(f"{later // 60 % 24:02}:{later % 60:02}")
    return tuple(dict.fromkeys(found))


def _skipped(at_min: int, zone: ZoneInfo) -> bool:
    return any(
        moment.astimezone(ZoneInfo("UTC")).astimezone(zone).time() != moment.time()
        for moment in _days(at_min, zone)
    )


def _days(at_min: int, zone: ZoneInfo) -> Iterator[datetime]:
    first = date(2026, 1, 1)  # rules of clocks hardly change; any two years hold all of them
    for ahead in range(LOOK_AHEAD_DAYS):
        yield datetime.combine(first + timedelta(days=ahead), time(at_min // 60, at_min % 60), zone)


def quoted(word: str) -> str:
    """A word as systemd's ExecStart takes it (systemd.service: "Command lines"; "Specifiers")."""
    escaped = word.replace("\\", "\\\\").replace('"', '\\"').replace("%", "%%").replace("$", "$$")
    return f'"{escaped}"'


def _plain(text: str) -> str:
    return " ".join(text.replace("%", "%%").split())
