"""What processes of a round do in tests: next to nothing, and some die of it."""

from __future__ import annotations

import os
import signal
import time
from pathlib import Path

from lightplan.cli import Exit
from lightplan.rounds.job import Outcome, Round


def one(round_: Round, folder: str) -> Outcome:
    """`deadly` kills its process each time, `once` the first time, `slow` takes its time; tries are noted."""
    with (round_.base / f"{folder}.tries").open("a") as tries:
        tries.write("x")
    first = round_.base / f"{folder}.first"
    if folder.startswith("deadly") or (folder.startswith("once") and not first.exists()):
        first.touch()
        os.kill(os.getpid(), signal.SIGKILL)
    if folder.startswith("slow"):
        time.sleep(1)
        with (round_.base / f"{folder}.ends").open("a") as ends:
            ends.write("x")
    return Outcome(folder, folder, Exit.DONE, "made", files=(f"{folder}.json",))


def tries(base: Path, folder: str) -> int:
    return len((base / f"{folder}.tries").read_text())
