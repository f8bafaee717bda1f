"""Kill -9 at random points of a morning: what stands in the folder afterwards, and does the next run do?

Run as a module by the tests and by `tests/bench/bench_kills.py`, in a process of its own without threads:
each morning is a fork of it, so that libraries are not imported anew and the kills fall into the work itself.

    python -m tests.kills FOLDER COUNT SEED FORMATS    prints one line of JSON
"""

from __future__ import annotations

import gzip
import io
import json
import os
import random
import signal
import sqlite3
import sys
import time
import traceback
from contextlib import closing
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np

FIRST = datetime(2026, 4, 21, 5)


def run(folder: Path, now: datetime, log: Path, formats: str) -> int:
    """Fork a morning; gives its process id."""
    words = ["morning", str(folder), "--now", f"{now:%Y-%m-%dT%H:%M}", "--format", formats]
    child = os.fork()
    if child:
        return child
    code = 99
    try:
        from lightplan.cli import main

        with log.open("w") as out:
            os.dup2(out.fileno(), 1)
            os.dup2(out.fileno(), 2)
            code = main(words)
            sys.stdout.flush()
            sys.stderr.flush()
    except BaseException:
        traceback.print_exc()
    os._exit(code)


def ended(child: int) -> int:
    """Exit code, or minus the signal."""
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


def half_files(folder: Path) -> list[str]:
    """Files that are not whole, each with why. Hidden parts that wait to be swept are nobody's files."""
    broken = []
    for path in sorted(folder.rglob("*")):
        if path.is_file() and not path.name.startswith("."):
            try:
                check(path)
            except Exception as error:
                broken.append(f"{path.name}: {error!r:.100}")
    return broken


def check(path: Path) -> None:
    content = path.read_bytes()
    if path.suffix == ".json":
        json.loads(content)
    elif path.suffix == ".html":
        assert content.rstrip().endswith(b"</html>")
    elif path.suffix == ".pdf":
        assert content.startswith(b"%PDF") and content.rstrip().endswith(b"%%EOF")
    elif path.suffix == ".gz":
        json.loads(gzip.decompress(content))
    elif path.suffix == ".npz":
        with np.load(io.BytesIO(content), allow_pickle=False) as kept:
            assert all(np.isfinite(kept[name]).all() for name in kept.files)
    elif path.suffix in (".db", ".sqlite"):
        with closing(sqlite3.connect(path)) as db:
            assert db.execute("PRAGMA integrity_check").fetchone() == ("ok",)


def parts(folder: Path) -> list[str]:
    return [path.name for path in folder.rglob(".*part") if path.is_file()]


def kill_runs(folder: Path, count: int, seed: int, formats: str) -> dict[str, object]:
    """Kill `count` mornings at moments spread over the time that one takes, and run one after each."""
    import lightplan.commands
    import lightplan.morning
    import lightplan.report.pdf  # noqa: F401  (what a morning imports)

    draw, log = random.Random(seed), folder.parent / "run.log"
    started = time.monotonic()
    first = ended(run(folder, FIRST, log, formats))
    whole_s = time.monotonic() - started
    started = time.monotonic()
    ended(run(folder, FIRST, log, formats))
    whole_s = min(whole_s, time.monotonic() - started)
    killed = beaten = 0
    broken: list[str] = []
    wrong: list[str] = [] if first == 0 else [f"the first run ended with {first}: {log.read_text()[-300:]}"]
    left_parts = 0
    slowest_s = 0.0
    for number in range(1, count + 1):
        now = FIRST + timedelta(days=number % 3, minutes=number)
        if number % 5 == 0:  # a house that is traced anew, so that its file is written too
            for kept in (folder / "cache").glob("house-*.npz"):
                kept.unlink()
        child = run(folder, now, log, formats)
        time.sleep(draw.uniform(0.0, whole_s * 1.1))
        os.kill(child, signal.SIGKILL)
        if ended(child) == -signal.SIGKILL:
            killed += 1
        else:
            beaten += 1
        broken += [f"kill {number}: {each}" for each in half_files(folder)]
        left_parts += len(parts(folder))
        started = time.monotonic()
        code = ended(run(folder, now + timedelta(seconds=60), log, formats))
        slowest_s = max(slowest_s, time.monotonic() - started)
        if code != 0:
            wrong.append(f"the run after kill {number} ended with {code}: {log.read_text()[-300:]}")
        said = log.read_text()
        if "broken" in said or "locked" in said or "has held" in said:
            wrong.append(f"the run after kill {number} said: {said[-300:]}")
        if parts(folder):
            wrong.append(f"the run after kill {number} left {parts(folder)}")
    return {
        "killed": killed,
        "ended_before_the_kill": beaten,
        "half_files": broken,
        "next_runs_that_failed": wrong,
        "parts_swept": left_parts,
        "whole_run_s": round(whole_s, 2),
        "slowest_next_run_s": round(slowest_s, 2),
    }


if __name__ == "__main__":
    print(json.dumps(kill_runs(Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3]), sys.argv[4])))
