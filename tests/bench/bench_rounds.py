"""Sheets a second and peak memory of rounds. Run: python -m tests.bench.bench_rounds COUNT [COUNT…]

For each count: one process, two, and a Dask cluster of two workers, a folder each. Memory is the largest sum
of this command's processes (and the largest single one), looked at each 0.2 s. `COUNTx2`: two processes only.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import psutil

from lightplan.cli import main
from tests.conftest import ROOT
from tests.deliver.mail_server import free_port
from tests.rounds.test_rounds import dask
from tests.small_site import write_small_site

WORDS = ["--now", "2026-03-10T05:30", "--format", "html,json"]


def measured(base: Path, *how: str) -> tuple[float, float, float]:
    """Seconds, and peak memory [MB]: of all processes, of the command's own."""
    words = [sys.executable, "-m", "lightplan", "rounds", str(base), *how, *WORDS]
    began, most, own = time.monotonic(), 0, 0
    with subprocess.Popen(
        words,
        env={**os.environ, "PYTHONPATH": str(ROOT), "OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    ) as command:
        whole = psutil.Process(command.pid)
        while command.poll() is None:
            try:
                one = whole.memory_info().rss
                most, own = max(most, one + sum(p.memory_info().rss for p in whole.children())), max(own, one)
            except psutil.Error:
                pass
            time.sleep(0.2)
        assert command.returncode == 0, command.returncode
    return time.monotonic() - began, most / 1e6, own / 1e6


def run(count: int, only_two: bool) -> None:
    with tempfile.TemporaryDirectory() as temporary:
        one = write_small_site(Path(temporary) / "one")
        main(["morning", str(one), *WORDS, "--out", temporary])  # its house traced once, for all copies
        for name in ["2"] if only_two else ["1", "2", "cluster"]:
            base = Path(temporary) / f"by-{name}"
            for number in range(count):
                folder = write_small_site(base / f"site-{number:04}")
                shutil.copytree(one / "cache", folder / "cache")
            running: list[subprocess.Popen[bytes]] = []
            how = ["--workers", name]
            if name == "cluster":
                port = free_port()
                address = f"tcp://127.0.0.1:{port}"
                running = [dask("scheduler", "--port", str(port))]
                time.sleep(2)
                where = ["--local-directory", f"{temporary}/dask", "--nthreads", "1", "--no-nanny"]
                running += [dask("worker", address, *where) for _ in range(2)]
                time.sleep(3)
                how = ["--cluster", address]
            took, most, own = measured(base, *how)
            for process in running:
                process.kill()
                process.wait()
            made = len(list(base.rglob("sheets/2026-03-10.json")))
            print(
                f"{count:5} sites by {name:8} {took:6.1f} s  {made / took:5.2f} sheets/s  made {made}"
                f"  peak {most:5.0f} MB all, {own:5.0f} MB the command itself",
                flush=True,
            )


if __name__ == "__main__":
    for word in sys.argv[1:]:
        run(int(word.removesuffix("x2")), word.endswith("x2"))
