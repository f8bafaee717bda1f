"""A computer left alone for weeks: it sleeps, is killed, its disk fills; printer, mail and share come and go.

Every knock of the timer is a fork of this process that runs `lightplan due`, so that it can really be killed.

    python -m tests.schedule.mornings FOLDER DAYS SEED MAIL_PORT    prints one line of JSON
"""

from __future__ import annotations

import json
import os
import random
import shutil
import signal
import sys
import time
import traceback
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from tests.deliver.mail_server import free_port
from tests.small_site import SMALL, write_small_site

KNOCKS = 3  # of a morning: 05:15, 05:30, 05:45, or later by as much as it slept
FIRST = datetime(2026, 3, 10)  # Berlin's clocks go forward on 29 March
PAPER = 'cat "$6" > {folder}/paper/$(basename "$6").$$'  # lp -n 1 -t TITLE -- FILE, kept per sheet of paper
DELIVER = """
[deliver]
print = true
folder = "../share"
keep = 400
[deliver.mail]
to = ["crew@range.example"]
from = "sheets@range.example"
host = "127.0.0.1"
security = "none"
port = {port}
"""


@dataclass
class Day:
    """What goes wrong on a day."""

    asleep: bool
    mail_away: bool
    printer_away: bool
    share_away: bool
    file_broken: bool
    killed: bool
    disk_full: bool

    @property
    def faults(self) -> int:
        return sum(vars(self).values())


class Computer:
    """The folder of a site and all it delivers to."""

    def __init__(self, base: Path, mail_port: int) -> None:
        self.base, self.site, self._port = base, base / "site", mail_port
        for name in ("site", "share", "paper", "programs", "home", "temporary"):
            (base / name).mkdir(parents=True)
        self.log = base / "runs.log"
        os.environ.update(
            HOME=str(base / "home"),
            TMPDIR=str(base / "temporary"),
            PATH=f"{base / 'programs'}{os.pathsep}/usr/bin{os.pathsep}/bin",
        )
        os.environ.pop("XDG_CONFIG_HOME", None)

    def begin(self, day: Day) -> None:
        share, away = self.base / "share", self.base / "share-away"
        if day.share_away and share.exists():
            share.rename(away)
        elif not day.share_away and away.exists():
            away.rename(share)
        lp = self.base / "programs" / "lp"
        talk = "echo 'lp: no such destination' >&2; exit 1" if day.printer_away else PAPER
        lp.write_text(f"#!/bin/sh\n{talk.format(folder=self.base)}\n")
        lp.chmod(0o755)
        port = free_port() if day.mail_away else self._port
        text = SMALL.format(weather='source = "clear-sky"') + DELIVER.format(port=port)
        (self.site / "site.toml").write_text(f"?{text}" if day.file_broken else text, encoding="utf-8")

    def knock(self, now: datetime, *, kill_after_s: float | None = None, full: bool = False) -> int:
        words = ["due", str(self.site), "--at", "05:15", "--now", f"{now:%Y-%m-%dT%H:%M}"]
        child = os.fork()
        if not child:
            _run(words, self.log, full)
        if kill_after_s is not None:
            time.sleep(kill_after_s)
            os.kill(child, signal.SIGKILL)
        return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


def _warm(base: Path) -> None:
    """One sheet in this process, so that its forks need not load and compile all of it again."""
    from contextlib import redirect_stdout

    from lightplan.cli import main

    other = write_small_site(base / "warm")
    with (base / "warm.log").open("w") as nowhere, redirect_stdout(nowhere):
        main(["morning", str(other), "--now", f"{FIRST:%Y-%m-%dT%H:%M}", "--format", "pdf,html,json,ics"])


def _run(words: list[str], log: Path, full: bool) -> None:
    code = 99
    try:
        from lightplan.cli import main

        # a file that may not grow would stop its own words too
        with Path(os.devnull if full else log).open("a") as out:
            os.dup2(out.fileno(), 1)
            os.dup2(out.fileno(), 2)
            if full:  # no file may grow past 2 kB, as on a disk that is all but full
                import resource

                resource.setrlimit(resource.RLIMIT_FSIZE, (2000, 2000))
            code = main(words)
            sys.stdout.flush()
            sys.stderr.flush()
    except BaseException:
        traceback.print_exc()
    os._exit(code)


def weeks(base: Path, days: int, seed: int, mail_port: int) -> dict[str, object]:
    import lightplan.commands
    import lightplan.deliver.dispatch
    import lightplan.deliver.ics
    import lightplan.morning
    import lightplan.report.pdf  # noqa: F401  (what a run imports)

    draw, computer = random.Random(seed), Computer(base, mail_port)
    _warm(base)
    faults = killed = sheets_missing = 0
    codes: dict[int, int] = {}
    on_time: dict[str, set[str]] = {"share": set(), "paper": set()}
    expected = []
    for number in range(days):
        date = FIRST + timedelta(days=number)
        names = ("asleep", "mail_away", "printer_away", "share_away", "file_broken", "killed", "disk_full")
        odds = (0.2, 0.25, 0.2, 0.2, 0.1, 0.4, 0.1)
        day = Day(**{name: draw.random() < p for name, p in zip(names, odds, strict=True)})
        faults += day.faults
        expected.append(f"{date:%Y-%m-%d}")
        computer.begin(day)
        begin = date + (timedelta(hours=7, minutes=40) if day.asleep else timedelta(hours=5, minutes=15))
        for knock in range(KNOCKS):
            if knock == 2 and day.file_broken:
                day.file_broken = False
                computer.begin(day)
            kill = draw.uniform(0.0, 1.0) if day.killed and knock == 0 else None
            now = begin + timedelta(minutes=15 * knock)
            code = computer.knock(now, kill_after_s=kill, full=day.disk_full and knock == 0)
            killed += code == -signal.SIGKILL
            codes[code] = codes.get(code, 0) + 1
        for place, found in on_time.items():
            found |= {d for d in delivered(base, place) if d == expected[-1]}
        sheets_missing += not (computer.site / "sheets" / f"{expected[-1]}.pdf").exists()
    fine = Day(*[False] * 7)
    computer.begin(fine)
    last = FIRST + timedelta(days=days - 1, hours=20)
    computer.knock(last)
    out: dict[str, object] = {
        "expected": len(expected),
        "faults": faults,
        "killed": killed,
        "without_a_pdf_that_day": sheets_missing,
        "codes": {str(code): count for code, count in sorted(codes.items())},
        "waiting": len(list((computer.site / "outbox").glob("*.json"))),
        "days": expected,
    }
    for place, found in on_time.items():
        got = delivered(base, place)
        out[place] = {
            "on_the_day": len(found),
            "late": len(set(got) - found),
            "lost": sorted(set(expected) - set(got)),
            "twice": len(got) - len(set(got)),
        }
    shutil.copy(computer.site / "timer" / "log.txt", base / "log.txt")
    return out


def delivered(base: Path, place: str) -> list[str]:
    """Dates of the sheets that came to a place, one for each time it came (files: each date once)."""
    folder = base / place
    if not folder.exists():
        folder = base / f"{place}-away"
    suffix = ".pdf" if place == "share" else ".*"
    names = [path.name for path in folder.glob(f"site-*{suffix}")]
    texts = [p.name for p in folder.glob("site-*.txt")] if place == "share" else []
    found = [name[5:15] for name in (*names, *texts)]
    return sorted(set(found)) if place == "share" else found


if __name__ == "__main__":
    print(json.dumps(weeks(Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3]), int(sys.argv[4]))))
