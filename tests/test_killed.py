"""Kill -9 at random points: no half file, and the next run does. 200 times: `tests/bench/bench_kills.py`."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from datetime import datetime

import pytest

from lightplan.site.read import load_site
from tests.conftest import ROOT
from tests.kills import half_files
from tests.small_site import at_service, write_small_site
from tests.weather import bodies
from tests.weather.fault_server import reply, serving


@pytest.mark.skipif(not hasattr(os, "fork"), reason="runs are forked, which this system can't")
def test_a_killed_run_leaves_no_half_file_and_the_next_one_does(tmp_path):
    folder = write_small_site(tmp_path / "site")
    body = bodies.open_meteo(load_site(folder).site, datetime.fromisoformat("2026-04-20T00:00+02:00"), 14)
    with serving(reply(json.dumps(body))) as server:
        write_small_site(folder, at_service(server.url))
        words = [sys.executable, "-m", "tests.kills", str(folder), "6", "4", "html,json"]
        done = subprocess.run(
            words, cwd=ROOT, env={**os.environ, "PYTHONPATH": str(ROOT)}, capture_output=True, text=True
        )
    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout)
    print(found)
    assert found["half_files"] == []
    assert found["next_runs_that_failed"] == []
    assert found["killed"] >= 3


def test_a_half_file_is_found(tmp_path):
    (tmp_path / "a.json").write_text('{"a": ')
    (tmp_path / "b.html").write_text("<html><body>")
    (tmp_path / "c.pdf").write_bytes(b"%PDF-1.7 ...")
    (tmp_path / "d.json.gz").write_bytes(b"\x1f\x8b\x08")
    (tmp_path / "e.db").write_bytes(b"SQLite format 3\0" + b"x" * 500)
    (tmp_path / "f.npz").write_bytes(b"PK\x03\x04")
    (tmp_path / "whole.json").write_text("{}")
    assert len(half_files(tmp_path)) == 6
