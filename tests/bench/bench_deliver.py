"""Faults on the way, and weeks unattended. Run: python -m tests.bench.bench_deliver [DAYS [SEED…]]"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

from lightplan.deliver.dispatch import deliver
from lightplan.deliver.outbox import Outbox
from tests.conftest import ROOT
from tests.deliver.faults import FAULTS
from tests.deliver.mail_server import Handler, mail_server
from tests.deliver.parcels import MADE, parcel


def faults() -> None:
    for fault in FAULTS:
        with tempfile.TemporaryDirectory() as temporary:
            folder, said = Path(temporary), list[str]()
            outbox, began = Outbox(folder / "site"), time.monotonic()
            with fault.made(folder) as channel:
                deliver(outbox, [channel], parcel(), sent_at=MADE, say=said.append, tell=said.append)
            took = time.monotonic() - began
            words = said[0].split(" The sheet of")[0]
            print(f"{fault.name:34} {took:5.2f} s  kept {len(outbox.pending(channel.name))}  {words}")


def mornings(days: int, seed: int) -> None:
    handler = Handler()
    with tempfile.TemporaryDirectory() as temporary, mail_server(handler) as port:
        words = [sys.executable, "-m", "tests.schedule.mornings", f"{temporary}/pc", str(days), str(seed)]
        done = subprocess.run(
            [*words, str(port)],
            cwd=ROOT,
            env={**os.environ, "PYTHONPATH": str(ROOT)},
            capture_output=True,
            text=True,
            check=True,
        )
    told = json.loads(done.stdout)
    dates = Counter(str(m["Message-ID"]).split(".")[2][:8] for m in handler.messages)
    late = sum(str(m["Subject"]).startswith("Late: ") for m in handler.messages)
    lost = {day.replace("-", "") for day in told.pop("days")} - set(dates)
    told["mail"] = {
        "came": len(dates),
        "late": late,
        "lost": sorted(lost),
        "twice": dates.total() - len(dates),
    }
    print(f"seed {seed}: {json.dumps(told)}")


if __name__ == "__main__":
    faults()
    for number in sys.argv[2:] or ["1"]:
        mornings(int(sys.argv[1]) if len(sys.argv) > 1 else 30, int(number))
