"""cron: it does not catch up after sleep, so its line knocks each quarter hour and `due` knows the time."""

from __future__ import annotations

import shlex

from lightplan.schedule.timer import Ran, Run, ScheduleError, Timer, must


class Cron:
    name = "cron"

    def shown(self, timer: Timer) -> str:
        return f"# into your crontab (crontab -e):\n{lines(timer)}"

    def install(self, timer: Timer, run: Run) -> tuple[str, ...]:
        before = _without(timer, _crontab(run))
        words = ("crontab", "-")
        must(run(words, before + lines(timer)), words)
        return ()

    def remove(self, timer: Timer, run: Run) -> bool:
        before = _crontab(run)
        after = _without(timer, before)
        if after == before:
            return False
        words = ("crontab", "-") if after.strip() else ("crontab", "-r")
        must(run(words, after) if after.strip() else run(words), words)
        return True

    def stands(self, timer: Timer, run: Run) -> str | None:
        try:
            found = _crontab(run).splitlines(keepends=True)
        except ScheduleError:
            return None
        of_site = [n for n, line in enumerate(found) if line.rstrip("\n") == _mark(timer)]
        return "".join("".join(found[n : n + 2]) for n in of_site) or None


def lines(timer: Timer) -> str:
    """The site's two lines: a comment that marks them, and the knock.

    A percent sign ends a crontab's command unless it is escaped (crontab(5)); the log has what is said.
    """
    minutes = ",".join(str(minute) for minute in timer.knock_minutes)
    command = " ".join(shlex.quote(word) for word in timer.words).replace("%", r"\%")
    return f"{_mark(timer)}\n{minutes} * * * * {command} >/dev/null 2>&1\n"


def _mark(timer: Timer) -> str:
    return f"# {timer.name}: the sheet of {' '.join(str(timer.site).split())}"


def _crontab(run: Run) -> str:
    found: Ran = run(("crontab", "-l"))
    if found.code and "no crontab" not in found.said.lower():
        raise ScheduleError(f"crontab -l ends with code {found.code}: {found.said or 'it says nothing'}.")
    text = "" if found.code else found.out
    return text if not text or text.endswith("\n") else f"{text}\n"


def _without(timer: Timer, text: str) -> str:
    kept, skip = [], 0
    for line in text.splitlines(keepends=True):
        if line.startswith(f"# {timer.name}: "):
            skip = 2
        if skip:
            skip -= 1
            continue
        kept.append(line)
    return "".join(kept)
