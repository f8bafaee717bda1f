"""Many sites: the same sheets by one process, several or a Dask cluster; failures listed; weather shared."""

from __future__ import annotations

import json
import os
import re
import shutil
import signal
import subprocess
import sys
import threading
import time
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path

import pytest
from filelock import FileLock

from lightplan.cli import Exit, main
from lightplan.rounds.find import sites_under
from lightplan.rounds.job import Outcome, Round
from lightplan.site.read import load_site
from tests.conftest import ROOT
from tests.small_site import at_service, write_small_site
from tests.weather import bodies
from tests.weather.fault_server import reply, serving

WORDS = ["--now", "2026-03-10T05:30", "--format", "json"]
ENVIRONMENT = {**os.environ, "PYTHONPATH": str(ROOT)}


def growers(base: Path, count: int) -> Path:
    for number in range(count):
        write_small_site(base / f"group-{number % 2}" / f"site-{number}")
    return base


def plans(base: Path) -> dict[str, dict]:
    return {p.parts[-3]: json.loads(p.read_text()) for p in base.rglob("sheets/2026-03-10.json")}


def told(base: Path) -> dict:
    return json.loads((base / "rounds" / "rounds-2026-03-10.json").read_text(encoding="utf-8"))


@pytest.fixture
def in_this_process(monkeypatch):
    """The same work without the seconds that a process of its own takes to load the libraries."""
    from lightplan.rounds import local
    from lightplan.rounds.one import make_one

    monkeypatch.setattr(local, "local_outcomes", lambda r, folders, _: (make_one(r, f) for f in folders))


def test_every_site_is_found_and_its_own_folders_are_not_searched(tmp_path):
    growers(tmp_path, 3)
    write_small_site(tmp_path / "group-0" / "site-0" / "sheets" / "inner")
    write_small_site(tmp_path / ".hidden")
    assert sites_under(tmp_path) == ("group-0/site-0", "group-0/site-2", "group-1/site-1")


def test_a_broken_site_is_listed_and_the_round_goes_on_where_it_stopped(tmp_path, capsys):
    base = growers(tmp_path / "all", 3)
    broken = base / "broken"
    broken.mkdir()
    (broken / "site.toml").write_text("latitude = ")
    assert main(["rounds", str(base), "--workers", "1", *WORDS]) == Exit.STAND_IN
    said = capsys.readouterr().err
    assert "broken: site.toml: line 1" in said and "3 sheets made; 1 site failed." in said
    found = {site["folder"]: site for site in told(base)["sites"]}
    assert found["broken"]["code"] == Exit.WRONG_INPUT and not found["broken"]["files"]
    page = (base / "rounds" / "rounds-2026-03-10.json").read_bytes()
    assert page.endswith(b"}\n")
    # half a line, as a killed round leaves it, and a sheet that somebody deleted
    journal = base / "rounds" / "2026-03-10.jsonl"
    journal.write_bytes(journal.read_bytes() + b'{"folder": "group-0/si')
    shutil.rmtree(base / "group-1" / "site-1" / "sheets")
    write_small_site(broken)
    times = {p: p.stat().st_mtime_ns for p in base.rglob("sheets/*.json")}
    assert main(["rounds", str(base), "--workers", "1", *WORDS]) == Exit.DONE
    assert "2 of 4 are made already" in capsys.readouterr().err
    assert len(plans(base)) == 4 and all(p.stat().st_mtime_ns == at for p, at in times.items())


def test_what_else_is_asked_for_later_is_made(tmp_path, capsys, in_this_process):
    base = growers(tmp_path / "all", 1)
    sheets = base / "group-0" / "site-0" / "sheets"
    assert main(["rounds", str(base), "--workers", "1", *WORDS]) == Exit.DONE
    assert main(["rounds", str(base), "--workers", "1", *WORDS[:2], "--format", "json,html"]) == Exit.DONE
    assert sorted(path.suffix for path in sheets.iterdir()) == [".html", ".json"]
    assert "made already" not in capsys.readouterr().err


def test_what_waits_of_sheets_made_already_is_delivered_and_nothing_twice(tmp_path, capsys, in_this_process):
    base = growers(tmp_path / "all", 2)
    share, away = tmp_path / "share", tmp_path / "away"
    share.mkdir()
    for site, folder in (("group-0/site-0", share), ("group-1/site-1", away)):
        with (base / site / "site.toml").open("a") as file:
            file.write(f'[deliver]\nfolder = "{folder.as_posix()}"\n')
    words = ["rounds", str(base), "--workers", "1", *WORDS]
    assert main(words) == Exit.DONE and not list(share.iterdir())
    assert main([*words, "--deliver"]) == Exit.STAND_IN
    said = capsys.readouterr().err
    assert "made already" not in said and "group-1/site-1: Folder" in said and "is not there" in said
    [copy] = share.iterdir()
    copy.unlink()  # what went out is not sent again
    assert main([*words, "--deliver"]) == Exit.STAND_IN
    said = capsys.readouterr().err
    assert "2 of 2 are made already" in said and "group-1/site-1: Folder" in said
    away.mkdir()
    main([*words, "--deliver"])
    assert [path.name for path in away.iterdir()] == ["site-1-2026-03-10.json"] and not list(share.iterdir())
    [late] = [site for site in told(base)["sites"] if site["folder"] == "group-1/site-1"]
    assert late["said"][-1] == "What waited has been delivered since."


def test_a_mail_server_that_is_away_does_not_cost_every_site_its_patience(tmp_path, monkeypatch, capsys):
    from lightplan.rounds import waiting

    tried = []
    monkeypatch.setattr(waiting, "_sent", lambda round_, folder, outbox: bool(tried.append(folder)))
    monkeypatch.setattr(waiting.Outbox, "waits", lambda self: True)
    folders = [f"s{n}" for n in range(6)]
    round_ = Round(tmp_path, datetime(2026, 3, 10, tzinfo=UTC), ("json",), tmp_path)
    outcomes = [Outcome(folder, folder, Exit.STAND_IN, "x") for folder in folders]
    assert not list(waiting.delivered_since(round_, outcomes))
    assert tried == folders[:3] and "3 more site(s) wait" in capsys.readouterr().err


def test_a_folder_that_can_not_be_looked_into_is_told(tmp_path, monkeypatch, capsys, in_this_process):
    base, look = growers(tmp_path / "all", 2), os.scandir

    def shut(path):
        if str(path).endswith("group-1"):
            raise PermissionError(13, "Permission denied", str(path))
        return look(path)

    monkeypatch.setattr(os, "scandir", shut)
    assert main(["rounds", str(base), "--workers", "1", *WORDS]) == Exit.STAND_IN
    said = capsys.readouterr().err
    assert "group-1 can't be looked into (Permission denied)" in said and "1 sheet made" in said
    assert main(["rounds", str(base / "nowhere"), *WORDS]) == Exit.WRONG_INPUT
    assert "is not a folder that can be looked into" in capsys.readouterr().err


def test_a_round_outlives_a_disk_that_is_full_for_its_notes(tmp_path, monkeypatch, capsys, in_this_process):
    base, opened, full = growers(tmp_path / "all", 3), Path.open, []

    def open_or_not(path, mode="r", *words, **more):
        if path.suffix == ".jsonl" and mode == "a":
            full.append(path)
            if len(full) < 3:
                with opened(path, "a") as file:
                    file.write('{"folder": "group-')
                raise OSError(28, "No space left on device")
        return opened(path, mode, *words, **more)

    monkeypatch.setattr(Path, "open", open_or_not)
    assert main(["rounds", str(base), "--workers", "1", *WORDS]) == Exit.DONE
    said = capsys.readouterr().err
    assert said.count("No space left") == 1 and "3 sheets made." in said
    assert len(told(base)["sites"]) == 3
    main(["rounds", str(base), "--workers", "1", *WORDS])
    assert "1 of 3 are made already" in capsys.readouterr().err


def test_a_second_round_at_the_same_time_is_refused(tmp_path, capsys):
    base = growers(tmp_path / "all", 1)
    (base / "rounds").mkdir()
    with FileLock(base / "rounds" / "round.lock"):
        assert main(["rounds", str(base), "--workers", "1", *WORDS]) == Exit.WRONG_INPUT
    assert "another round is at work here" in capsys.readouterr().err and not plans(base)


def test_a_sheet_that_no_disk_takes_is_told_as_that(tmp_path, monkeypatch):
    import lightplan.morning as morning
    from lightplan.rounds.one import make_one

    def full(*words, **more):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(morning, "save_sheet", full)
    write_small_site(tmp_path / "s")
    round_ = Round(tmp_path, datetime(2026, 3, 10, 5, tzinfo=UTC), ("json",), tmp_path / "w", offline=True)
    outcome = make_one(round_, "s")
    assert not outcome.made and outcome.code == Exit.STAND_IN
    assert outcome.sentence.startswith("no disk took the sheet: ") and "No space left" in outcome.said[0]


def test_sites_of_a_cell_ask_once(tmp_path):
    base = growers(tmp_path / "all", 4)
    site = load_site(base / "group-0" / "site-0").site
    body = bodies.open_meteo(site, datetime.fromisoformat("2026-03-09T00:00+01:00"), 14)
    with serving(reply(json.dumps(body))) as server:
        for folder in base.glob("group-*/site-*"):
            write_small_site(folder, at_service(server.url))
        assert main(["rounds", str(base), "--workers", "2", *WORDS]) == Exit.DONE
    assert len(server.asked) == 1
    found = list(plans(base).values())
    assert {plan["weather"]["source"] for plan in found} == {"open-meteo"}
    assert len({json.dumps(plan["outdoor"]) for plan in found}) == 1


PATIENCE_S = 120.0  # for a kill to find its prey: a busy machine takes long to load the libraries


def kill_one_soon(pids) -> threading.Thread:
    """Kill -9 the first process that `pids` names, as soon as it names one; the thread's `name` is its id."""

    def hunt() -> None:
        end = time.monotonic() + PATIENCE_S
        while time.monotonic() < end and not thread.over:
            for pid in pids():
                with suppress(ProcessLookupError):
                    os.kill(pid, signal.SIGKILL)
                    thread.killed = pid
                    return
            time.sleep(0.005)

    thread = threading.Thread(target=hunt, daemon=True)
    thread.over, thread.killed = False, None
    thread.start()
    return thread


def over(thread: threading.Thread) -> int | None:
    """End the hunt; the process it killed."""
    thread.over = True
    thread.join()
    return thread.killed


def at_work(base: Path) -> list[int]:
    """Processes that are in the middle of a site: they hold its lock, and it has no sheet yet."""
    found = []
    for holder in base.glob("*/*/cache/run.holder"):
        with suppress(OSError):
            words = re.search(r"process (\d+)", holder.read_text())
            if words and not list((holder.parents[1] / "sheets").glob("*.json")):
                found.append(int(words[1]))
    return found


def test_a_process_killed_in_the_middle_loses_no_site(tmp_path):
    base = growers(tmp_path / "all", 5)
    # not the first: half of the others are handed out already, the rest is not
    hunt = kill_one_soon(lambda: at_work(base) if len(plans(base)) else [])
    code = main(["rounds", str(base), "--workers", "2", *WORDS])
    assert over(hunt) and code == Exit.DONE and len(plans(base)) == 5
    assert sum(site["code"] == Exit.DONE for site in told(base)["sites"]) == 5


def dask(program: str, *words: str) -> subprocess.Popen:
    code = f"from distributed.cli.dask_{program} import main; main()"
    return subprocess.Popen(
        [sys.executable, "-c", code, *words, "--host", "127.0.0.1", "--no-dashboard"],
        env=ENVIRONMENT,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )


def test_a_cluster_with_a_worker_killed_makes_the_same_sheets(tmp_path):
    pytest.importorskip("distributed")
    from tests.deliver.mail_server import free_port

    base = growers(tmp_path / "all", 4)
    alike = shutil.copytree(base, tmp_path / "local")
    port = free_port()
    address = f"tcp://127.0.0.1:{port}"
    where = ["--local-directory", str(tmp_path / "dask"), "--nthreads", "1", "--no-nanny"]
    running = [dask("scheduler", "--port", str(port))]
    time.sleep(1)
    running += [dask("worker", address, *where) for _ in range(2)]
    hunt = kill_one_soon(lambda: [pid for pid in at_work(base) if pid == running[1].pid])
    try:
        code = subprocess.run(
            [sys.executable, "-m", "lightplan", "rounds", str(base), "--cluster", address, *WORDS],
            env=ENVIRONMENT,
            capture_output=True,
            text=True,
            timeout=4 * PATIENCE_S,  # so as not to hang; a busy machine may need half of it
            check=False,
        )
        assert code.returncode == Exit.DONE, code.stderr
    finally:
        for process in running:
            process.kill()
            process.wait()
    assert over(hunt) == running[1].pid
    assert main(["rounds", str(alike), "--workers", "1", *WORDS]) == Exit.DONE
    assert plans(base) == plans(alike) and len(plans(base)) == 4


def test_an_absent_cluster_is_told(tmp_path, capsys, monkeypatch):
    pytest.importorskip("distributed")
    from lightplan.rounds import cluster

    monkeypatch.setattr(cluster, "CALL_S", 1)
    base = growers(tmp_path, 1)
    assert main(["rounds", str(base), "--cluster", "tcp://127.0.0.1:9", *WORDS]) == Exit.WRONG_INPUT
    assert "does not answer" in capsys.readouterr().err


def test_no_sites_and_wrong_words(tmp_path, capsys):
    assert main(["rounds", str(tmp_path), *WORDS]) == Exit.WRONG_INPUT
    assert "no folder with a site.toml" in capsys.readouterr().err
    assert main(["rounds", str(tmp_path), "--workers", "1", "--cluster", "x"]) == Exit.WRONG_USAGE
