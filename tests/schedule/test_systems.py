"""What each system is told, read by the system's own checker or by an independent library."""

from __future__ import annotations

import os
import plistlib
import re
import shlex
import shutil
import subprocess
import sys
import xml.etree.ElementTree as ET
from datetime import datetime, timedelta
from itertools import pairwise
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from cronsim import CronSim
from crontab import CronTab

from lightplan.schedule.cron import Cron, lines
from lightplan.schedule.launchd import Launchd, agent
from lightplan.schedule.systemd import Systemd, _files, quoted
from lightplan.schedule.timer import Ran, ScheduleError, Timer
from lightplan.schedule.windows import Windows, task

NEW_YORK = ZoneInfo("America/New_York")
ODD = Path('/srv/Ann & Ben\'s 100 % "bulbs" $HOME/my nursery; x')


def timer(times=(315,), site: Path = ODD, zone=NEW_YORK) -> Timer:
    return Timer(site, times, zone, python=sys.executable)


def needs(program: str) -> str:
    found = shutil.which(program)
    if found is None:
        pytest.skip(f"{program} is not on this computer")
    return found


@pytest.fixture
def home(tmp_path, monkeypatch) -> Path:
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.delenv("XDG_CONFIG_HOME", raising=False)
    return tmp_path


class Programs:
    """Stands for the system's programs: remembers what was run, answers as told."""

    def __init__(self, **answers: Ran) -> None:
        self.ran: list[tuple[tuple[str, ...], str | None]] = []
        self.answers = answers
        self.crontab: str | None = None

    def __call__(self, words, given=None) -> Ran:
        self.ran.append((tuple(words), given))
        if words[:2] == ("crontab", "-l"):
            return Ran(1, "", "no crontab for ann") if self.crontab is None else Ran(0, self.crontab, "")
        if words == ("crontab", "-"):
            self.crontab = given
        if words == ("crontab", "-r"):
            self.crontab = None
        return self.answers.get(words[0], Ran(0, "", ""))


def test_systemd_verifies_the_units(home):
    """systemd-analyze verify, of the systemd at hand, says nothing."""
    program = needs("systemd-analyze")
    run = Programs()
    Systemd().install(timer((315, 690)), run)
    units = [str(path) for path in _files(timer())]
    done = subprocess.run(
        [program, "--user", "verify", *units],
        env={**os.environ, "XDG_RUNTIME_DIR": str(home)},
        capture_output=True,
        text=True,
        check=False,
    )
    ours = [line for line in done.stderr.splitlines() if "lightplan" in line]
    assert done.returncode == 0 and not ours, done.stderr


def test_the_verifier_sees_a_wrong_unit(home):
    program = needs("systemd-analyze")
    Systemd().install(timer(), Programs())
    (service,) = [path for path in _files(timer()) if path.suffix == ".service"]
    service.write_text(service.read_text().replace("Type=exec", "Type=sometimes"))
    done = subprocess.run(
        [program, "--user", "verify", str(service)],
        env={**os.environ, "XDG_RUNTIME_DIR": str(home)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert "sometimes" in done.stderr


def elapses(expression: str, base: str, count: int) -> list[str]:
    """UTC times at which a calendar expression elapses, by systemd-analyze."""
    done = subprocess.run(
        [needs("systemd-analyze"), "calendar", f"--base-time={base}", f"--iterations={count}", expression],
        env={**os.environ, "TZ": "UTC", "LC_ALL": "C"},
        capture_output=True,
        text=True,
        check=True,
    )
    return re.findall(r"(\d{4}-\d\d-\d\d \d\d:\d\d):\d\d UTC", done.stdout)


def calendar_lines(times: tuple[int, ...]) -> list[str]:
    (text,) = [t for path, t in _files(timer(times)).items() if path.suffix == ".timer"]
    return re.findall(r"^OnCalendar=(.*)$", text, re.MULTILINE)


def test_systemd_reads_the_times_in_the_sites_zone():
    [line] = calendar_lines((315,))
    assert elapses(line, "2026-03-06 12:00:00 UTC", 3) == [
        "2026-03-07 10:15",
        "2026-03-08 09:15",
        "2026-03-09 09:15",
    ]
    assert elapses(line, "2026-10-30 12:00:00 UTC", 3)[1] == "2026-11-01 10:15"


def test_a_time_that_a_clock_change_skips_has_a_second_line():
    """systemd leaves out a day whose clock never shows the time; an hour later it knocks again."""
    first, second = calendar_lines((150,))
    days = [at[:10] for at in elapses(first, "2026-03-06 12:00:00 UTC", 3)]
    assert "2026-03-08" not in days  # why it is needed
    days = [at[:10] for at in elapses(second, "2026-03-06 12:00:00 UTC", 3)]
    assert "2026-03-08" in days
    assert len(calendar_lines((315,))) == 1 and len(calendar_lines((315, 690))) == 2


def test_systemd_makes_up_for_sleep_and_for_faults():
    """systemd.timer(5): only with Persistent= does a timer run at once for a time it was off at."""
    import configparser

    units = {}
    for path, text in _files(timer()).items():
        units[path.suffix] = configparser.RawConfigParser(strict=False)
        units[path.suffix].optionxform = str  # type: ignore[assignment,method-assign]
        units[path.suffix].read_string(text)
    assert units[".timer"].getboolean("Timer", "Persistent")
    service = units[".service"]["Service"]
    assert service["RestartForceExitStatus"].split() == ["1", "3", "4"] and service["RestartSec"] == "15min"


def test_systemd_runs_the_very_words(home):
    """ExecStart by the rules of systemd.service, "Command lines": quotes, C escapes, %% and $$."""
    (text,) = [t for path, t in _files(timer()).items() if path.suffix == ".service"]
    [command] = re.findall(r"^ExecStart=(.*)$", text, re.MULTILINE)
    words = [w.replace("%%", "%").replace("$$", "$") for w in shlex.split(command)]
    assert tuple(words) == timer().words
    assert quoted('a"b\\c%d$e') == '"a\\"b\\\\c%%d$$e"'


def test_systemd_is_installed_and_taken_away(home):
    run = Programs(loginctl=Ran(1, "", "Access denied"))
    said = Systemd().install(timer(), run)
    assert "only while you are logged in" in said[0] and "Access denied" in said[0]
    assert [words[:3] for words, _ in run.ran][:2] == [
        ("systemctl", "--user", "daemon-reload"),
        ("systemctl", "--user", "enable"),
    ]
    assert Systemd().stands(timer(), run).count("lightplan: ") == 2
    assert Systemd().remove(timer(), run)
    assert not list((home / ".config" / "systemd" / "user").iterdir())
    assert not Systemd().remove(timer(), run) and Systemd().stands(timer(), run) is None


def test_a_refusal_is_told_in_a_sentence(home):
    run = Programs(systemctl=Ran(1, "", "Failed to connect to bus"))
    with pytest.raises(ScheduleError, match=r"daemon-reload ends with code 1: Failed to connect to bus\."):
        Systemd().install(timer(), run)


def test_the_crontab_line_by_an_independent_parser():
    """python-crontab reads the line; its command, with cron's escapes taken off, is the very words."""
    [job] = CronTab(tab=lines(timer((320, 690))))
    assert job.is_valid() and job.is_enabled()
    words = shlex.split(job.command.removesuffix(" >/dev/null 2>&1"))
    assert tuple(words) == timer((320, 690)).words
    assert not re.search(r"(?<!\\)%", lines(timer()).splitlines()[1])


@pytest.mark.parametrize("at_min", [0, 315, 320, 719, 1439])
def test_cron_knocks_on_time_and_each_quarter_hour_after(at_min):
    """cronsim, another library, says when: at the very minute, and never more than 15 min apart."""
    [job] = CronTab(tab=lines(timer((at_min,))))
    sim = CronSim(str(job.slices), datetime(2026, 4, 20, 23, 50))
    knocks = [next(sim) for _ in range(200)]
    assert datetime(2026, 4, 21) + timedelta(minutes=at_min) in knocks
    gaps = {b - a for a, b in pairwise(knocks)}
    assert gaps == {timedelta(minutes=15)}


def test_a_crontab_keeps_what_else_is_in_it():
    run, other = Programs(), timer(site=Path("/srv/other"))
    theirs = "MAILTO=ann\n# mine\n0 3 * * * backup 100\\%\n"
    run.crontab = theirs
    Cron().install(timer(), run)
    Cron().install(other, run)
    Cron().install(timer((400,)), run)
    assert run.crontab.startswith(theirs)
    assert len(CronTab(tab=run.crontab)) == 3
    assert Cron().stands(timer(), run) == lines(timer((400,)))
    assert Cron().remove(timer(), run) and run.crontab == theirs + lines(other)
    assert Cron().remove(other, run) and run.crontab == theirs
    assert not Cron().remove(other, run)
    empty = Programs()
    Cron().install(timer(), empty)
    assert Cron().remove(timer(), empty) and empty.crontab is None


def test_a_crontab_that_can_not_be_read_is_left_alone():
    class Denied(Programs):
        def __call__(self, words, given=None):
            assert words == ("crontab", "-l"), "nothing may be written over a table that was not read"
            return Ran(1, "", "you are not allowed to use this program (crontab)")

    with pytest.raises(ScheduleError, match="not allowed"):
        Cron().install(timer(), Denied())


def test_the_launchd_agent(home, monkeypatch):
    """Read back by plistlib; keys by launchd.plist(5)."""
    monkeypatch.setenv("DYLD_FALLBACK_LIBRARY_PATH", "/opt/homebrew/lib")
    found = plistlib.loads(agent(timer((320,))).encode())
    assert tuple(found["ProgramArguments"]) == timer((320,)).words
    assert [at["Minute"] for at in found["StartCalendarInterval"]] == [5, 20, 35, 50]
    assert found["RunAtLoad"] is True and found["Label"] == timer().name
    assert found["EnvironmentVariables"] == {"DYLD_FALLBACK_LIBRARY_PATH": "/opt/homebrew/lib"}
    run = Programs()
    Launchd().install(timer(), run)
    assert [words[1] for words, _ in run.ran] == ["bootout", "bootstrap"]
    assert Path(run.ran[-1][0][-1]).is_file()
    assert Launchd().stands(timer(), run) and Launchd().remove(timer(), run)
    assert not Launchd().remove(timer(), run)


SPACE = "{http://schemas.microsoft.com/windows/2004/02/mit/task}"


def test_the_windows_task():
    """Order of elements by the schema of [MS-TSCH] 2.5.3.1 and 2.5.3.9."""
    root = ET.fromstring(task(timer((320, 690))).encode("utf-16"))
    triggers = root.findall(f"{SPACE}Triggers/{SPACE}CalendarTrigger")
    names = [[part.tag.removeprefix(SPACE) for part in one] for one in triggers]
    assert names == [["StartBoundary", "Repetition", "ScheduleByDay"]] * 2
    starts = [one.findtext(f"{SPACE}StartBoundary") for one in triggers]
    assert starts == ["2026-01-01T00:00:00", "2026-01-01T00:05:00"]
    settings = {part.tag.removeprefix(SPACE): part.text for part in root.find(f"{SPACE}Settings")}
    assert settings["MultipleInstancesPolicy"] == "IgnoreNew" and settings["StartWhenAvailable"] == "true"
    done = root.find(f"{SPACE}Actions/{SPACE}Exec")
    assert done.findtext(f"{SPACE}Command") == sys.executable
    assert done.findtext(f"{SPACE}Arguments") == subprocess.list2cmdline(timer((320, 690)).words[1:])


def test_windows_registers_and_deletes():
    run = Programs()
    Windows().install(timer(), run)
    [(words, _)] = run.ran
    assert words[:4] == ("schtasks", "/Create", "/TN", timer().name) and words[-1] == "/F"
    assert Windows().remove(timer(), run)
    gone = Programs(schtasks=Ran(1, "", "ERROR: The system cannot find the file specified."))
    assert not Windows().remove(timer(), gone)


def test_names_tell_sites_apart():
    one, two = timer(site=Path("/a/Nursery")), timer(site=Path("/b/Nursery"))
    nameless = timer(site=Path("/é"))
    assert one.name != two.name
    assert all(re.fullmatch(r"lightplan-[a-z0-9-]+", t.name) for t in (one, two, timer(), nameless))
