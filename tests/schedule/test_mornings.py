"""Weeks unattended with random faults: every morning has its sheet, and what is late comes all the same."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections import Counter

import pytest

from tests.conftest import ROOT
from tests.deliver.mail_server import Handler, mail_server

DAYS, SEED = 12, 1  # thirty, and more seeds: tests/bench/bench_mornings.py


@pytest.mark.skipif(not hasattr(os, "fork"), reason="a knock is a fork, so that it can be killed")
def test_no_sheet_is_lost(tmp_path):
    handler = Handler()
    with mail_server(handler) as port:
        words = [sys.executable, "-m", "tests.schedule.mornings", str(tmp_path / "pc"), str(DAYS), str(SEED)]
        done = subprocess.run(
            [*words, str(port)],
            cwd=ROOT,
            env={**os.environ, "PYTHONPATH": str(ROOT)},
            capture_output=True,
            text=True,
            check=False,
        )
    assert done.returncode == 0, done.stderr
    told = json.loads(done.stdout)
    assert told["expected"] == DAYS and told["faults"] > DAYS / 2 and told["killed"] > 1
    assert told["waiting"] == 0
    for place in ("share", "paper"):
        assert told[place]["lost"] == []
        assert told[place]["on_the_day"] + told[place]["late"] == DAYS
        assert told[place]["late"] > 0
        assert told[place]["twice"] <= told["killed"] + 3  # a kill, a full disk: handed over and not noted
    by_day = Counter(day for m in handler.messages for day in told["days"] if day in day_of(m))
    assert set(by_day) == set(told["days"])
    assert sum(by_day.values()) - DAYS <= told["killed"] + 3
    assert set(told["codes"]) <= {"-9", "0", "1", "3"}


def day_of(message) -> str:
    """The Message-ID holds the moment a sheet was made."""
    made = str(message["Message-ID"]).split(".")[2]
    return f"{made[:4]}-{made[4:6]}-{made[6:8]}"
