"""Windows' Task Scheduler: a task that knocks each quarter hour, late ones too, never two at once."""

from __future__ import annotations

import subprocess
import tempfile
from pathlib import Path, PureWindowsPath
from xml.sax.saxutils import escape

from lightplan.schedule.due import KNOCK_MIN
from lightplan.schedule.timer import Run, Timer, must

# elements in the order of their schema: [MS-TSCH] 2.5.3.1 and 2.5.3.9
TASK = """\
<?xml version="1.0" encoding="UTF-16"?>
<Task version="1.2" xmlns="http://schemas.microsoft.com/windows/2004/02/mit/task">
  <RegistrationInfo>
    <Description>{description}</Description>
  </RegistrationInfo>
  <Triggers>
{triggers}
  </Triggers>
  <Settings>
    <MultipleInstancesPolicy>IgnoreNew</MultipleInstancesPolicy>
    <DisallowStartIfOnBatteries>false</DisallowStartIfOnBatteries>
    <StopIfGoingOnBatteries>false</StopIfGoingOnBatteries>
    <StartWhenAvailable>true</StartWhenAvailable>
    <ExecutionTimeLimit>PT10M</ExecutionTimeLimit>
  </Settings>
  <Actions>
    <Exec>
      <Command>{command}</Command>
      <Arguments>{arguments}</Arguments>
    </Exec>
  </Actions>
</Task>
"""
TRIGGER = """\
    <CalendarTrigger>
      <StartBoundary>2026-01-01T{clock}:00</StartBoundary>
      <Repetition>
        <Interval>PT{knock}M</Interval>
        <Duration>P1D</Duration>
      </Repetition>
      <ScheduleByDay>
        <DaysInterval>1</DaysInterval>
      </ScheduleByDay>
    </CalendarTrigger>"""
WINDOWLESS = "pythonw.exe"


class Windows:
    name = "windows"

    def shown(self, timer: Timer) -> str:
        return f"{task(timer)}\n# registered with:\n{' '.join(_create(timer, Path('task.xml')))}\n"

    def install(self, timer: Timer, run: Run) -> tuple[str, ...]:
        with tempfile.TemporaryDirectory(prefix="lightplan-") as folder:
            path = Path(folder) / "task.xml"
            path.write_text(task(timer), encoding="utf-16")
            words = _create(timer, path)
            must(run(words), words)
        return ()

    def remove(self, timer: Timer, run: Run) -> bool:
        if self.stands(timer, run) is None:
            return False
        words = ("schtasks", "/Delete", "/TN", timer.name, "/F")
        must(run(words), words)
        return True

    def stands(self, timer: Timer, run: Run) -> str | None:
        found = run(("schtasks", "/Query", "/TN", timer.name, "/XML"))
        return None if found.code else found.out


def task(timer: Timer) -> str:
    """The task as XML. Its clock is the computer's; `due` goes by the site's."""
    firsts = sorted({at % KNOCK_MIN for at in timer.times_min})
    command, *words = timer.words
    return TASK.format(
        description=escape(f"lightplan: the sheet of {timer.site.name}"),
        triggers="\n".join(TRIGGER.format(knock=KNOCK_MIN, clock=f"00:{first:02}") for first in firsts),
        command=escape(_windowless(command)),
        arguments=escape(subprocess.list2cmdline(words)),
    )


def _windowless(python: str) -> str:
    """The Python without a window beside the one that runs, where there is one."""
    path = PureWindowsPath(python)
    other = path.with_name(WINDOWLESS)
    return str(other) if path.name.lower() == "python.exe" and Path(str(other)).exists() else python


def _create(timer: Timer, path: Path) -> tuple[str, ...]:
    return ("schtasks", "/Create", "/TN", timer.name, "/XML", str(path), "/F")
