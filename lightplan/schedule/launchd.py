"""launchd on macOS: an agent that knocks each quarter hour and at log-in; one slept through comes at wake."""

from __future__ import annotations

import os
import plistlib
from pathlib import Path

from lightplan.files import replace_file
from lightplan.schedule.timer import Run, ScheduleError, Timer, must

CARRIED = ("DYLD_FALLBACK_LIBRARY_PATH",)  # where Pango lies for a Python that is not Homebrew's


class Launchd:
    name = "launchd"

    def shown(self, timer: Timer) -> str:
        commands = "\n".join(" ".join(words) for words in (_out(timer), _into(timer)))
        return f"# {_path(timer)}\n{agent(timer)}\n# then:\n{commands}\n"

    def install(self, timer: Timer, run: Run) -> tuple[str, ...]:
        path = _path(timer)
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            replace_file(path, agent(timer).encode())
        except OSError as error:
            raise ScheduleError(f"{path} can't be written ({error.strerror or error}).") from error
        run(_out(timer))  # an earlier one, if any
        must(run(_into(timer)), _into(timer))
        return ()

    def remove(self, timer: Timer, run: Run) -> bool:
        path = _path(timer)
        if not path.exists():
            return False
        run(_out(timer))
        path.unlink(missing_ok=True)
        return True

    def stands(self, timer: Timer, run: Run) -> str | None:
        path = _path(timer)
        return f"# {path}\n{path.read_text(encoding='utf-8')}" if path.exists() else None


def agent(timer: Timer) -> str:
    content: dict[str, object] = {
        "Label": timer.name,
        "ProgramArguments": list(timer.words),
        "StartCalendarInterval": [{"Minute": minute} for minute in timer.knock_minutes],
        "RunAtLoad": True,
        "ProcessType": "Background",
        "StandardOutPath": os.devnull,  # the site's own log has it, and is bounded
        "StandardErrorPath": os.devnull,
    }
    carried = {name: os.environ[name] for name in CARRIED if os.environ.get(name)}
    if carried:
        content["EnvironmentVariables"] = carried
    return plistlib.dumps(content, sort_keys=False).decode()


def _path(timer: Timer) -> Path:
    return Path.home() / "Library" / "LaunchAgents" / f"{timer.name}.plist"


def _domain() -> str:
    return f"gui/{os.getuid()}" if hasattr(os, "getuid") else "gui/501"


def _out(timer: Timer) -> tuple[str, ...]:
    return ("launchctl", "bootout", f"{_domain()}/{timer.name}")


def _into(timer: Timer) -> tuple[str, ...]:
    return ("launchctl", "bootstrap", _domain(), str(_path(timer)))
