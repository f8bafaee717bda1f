"""Full disks, folders nobody may write to, two runs at once: said, worked around, nothing lost."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

from lightplan import files
from lightplan.cli import Exit, main
from lightplan.files import new_file, replace_file, sweep
from lightplan.site_lock import HOLDER_NAME, site_lock
from tests.conftest import ROOT
from tests.small_site import write_small_site

NOW = ["--now", "2026-03-10T05:30", "--format", "html,json"]
FULL = """
import resource, sys
from lightplan.cli import main
import lightplan.morning
resource.setrlimit(resource.RLIMIT_FSIZE, (2000, 2000))
sys.exit(main(sys.argv[1:]))
"""
HOLD = """
import sys
from pathlib import Path
from lightplan.site_lock import site_lock
with site_lock(Path(sys.argv[1]), "A run that began at 05:00 (process 4711)"):
    print("held", flush=True)
    sys.stdin.readline()
"""


def python(code: str, *words: str, **how):
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    return subprocess.Popen(
        [sys.executable, "-c", code, *words],
        env=environment,
        text=True,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        **how,
    )


@pytest.mark.skipif(sys.platform == "win32", reason="needs a limit on file sizes")
def test_a_full_disk_gives_the_orders_all_the_same(tmp_path):
    """No file may grow past 2 kB, as on a disk that is all but full: neither page nor memory fits."""
    folder = write_small_site(tmp_path / "s")
    with python(FULL, "morning", str(folder), *NOW) as full:
        out, said = full.communicate()
    assert full.returncode == Exit.STAND_IN, said
    assert "No sheet could be written anywhere" in said
    assert "1. 06:30 plugs, glass: " in out
    assert said.count("records.db can't be used") == 1
    assert "Traceback" not in said
    sheets = folder / "sheets"
    assert not sheets.exists() or not list(sheets.iterdir())


def test_a_site_folder_that_can_not_be_written_to(tmp_path, capsys, monkeypatch):
    """Files stand where its folders should be, which stops even an administrator."""
    folder = write_small_site(tmp_path / "s")
    for name in ("cache", "sheets"):
        (folder / name).write_text("in the way")
    (folder / "records.db").mkdir()
    elsewhere = tmp_path / "temporary"
    elsewhere.mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(elsewhere))
    assert main(["morning", str(folder), *NOW]) == Exit.STAND_IN
    out, said = capsys.readouterr()
    assert "can't be locked" in said
    assert "can't be written to" in said
    assert said.count("records.db can't be used") == 1
    written = [Path(line) for line in out.splitlines()]
    assert len(written) == 2
    assert all(path.is_file() and path.is_relative_to(elsewhere) for path in written)
    assert (folder / "sheets").read_text() == "in the way"


@pytest.mark.skipif(os.name != "posix" or os.geteuid() == 0, reason="rights do not bind an administrator")
def test_a_read_only_folder(tmp_path, capsys, monkeypatch):
    folder = write_small_site(tmp_path / "s")
    elsewhere = tmp_path / "temporary"
    elsewhere.mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(elsewhere))
    folder.chmod(0o555)
    try:
        assert main(["morning", str(folder), *NOW]) == Exit.STAND_IN
    finally:
        folder.chmod(0o755)
    assert "can't be written to" in capsys.readouterr().err
    assert [path.name for path in folder.iterdir()] == ["site.toml"]


def test_a_second_run_waits_a_little_and_says_who_holds_the_site(tmp_path):
    with python(HOLD, str(tmp_path)) as holder:
        assert holder.stdout.readline() == "held\n"
        with site_lock(tmp_path, "me", wait_s=0.2) as said:
            assert said is not None
            assert said.startswith("A run that began at 05:00 (process 4711) has held")
            assert said.count(".") <= 2
        holder.communicate("\n")
    with site_lock(tmp_path, "me", wait_s=0.2) as said:
        assert said is None
    assert (tmp_path / "cache" / HOLDER_NAME).read_text() == "me"


def test_a_dead_process_holds_nothing(tmp_path):
    with python(HOLD, str(tmp_path)) as holder:
        assert holder.stdout.readline() == "held\n"
        holder.kill()
        holder.communicate()
    with site_lock(tmp_path, "me", wait_s=0.5) as said:
        assert said is None


def test_a_second_run_beside_a_held_lock_makes_its_sheet(tmp_path, capsys, monkeypatch):
    import lightplan.site_lock as lock

    folder = write_small_site(tmp_path / "s")
    monkeypatch.setattr(lock.site_lock.__wrapped__, "__defaults__", (0.2,))
    with python(HOLD, str(folder)) as holder:
        assert holder.stdout.readline() == "held\n"
        assert main(["morning", str(folder), *NOW]) == Exit.DONE
        holder.communicate("\n")
    assert "process 4711" in capsys.readouterr().err


@pytest.mark.parametrize("nameless", [True, False])
def test_files_are_whole_or_not_there(tmp_path, monkeypatch, nameless):
    if not nameless:
        monkeypatch.delattr(files.os, "O_TMPFILE", raising=False)
    path = tmp_path / "x.txt"
    replace_file(path, b"old")
    replace_file(path, b"new")
    with pytest.raises(FileExistsError):
        new_file(path, b"other")
    assert path.read_bytes() == b"new"
    new_file(tmp_path / "y.txt", b"y")

    def full(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(files.os, "fsync", full)
    for write in (replace_file, new_file):
        with pytest.raises(OSError, match="No space"):
            write(tmp_path / "z.txt", b"z")
    with pytest.raises(OSError, match="No space"):
        replace_file(path, b"newer")
    assert path.read_bytes() == b"new"
    assert sorted(p.name for p in tmp_path.iterdir()) == ["x.txt", "y.txt"]


def test_what_a_killed_run_left_is_swept_and_nothing_else(tmp_path):
    left = tmp_path / f".2026-03-10.html.77{files.PART}"
    left.write_bytes(b"half")
    other = tmp_path / ".someone-elses.part"
    other.write_bytes(b"theirs")
    sweep(tmp_path)
    assert not left.exists() and other.exists()


def test_a_corrupt_cache_costs_nothing(tmp_path, capsys):
    folder = write_small_site(tmp_path / "s")
    assert main(["morning", str(folder), *NOW]) == Exit.DONE
    sheet = (folder / "sheets" / "2026-03-10.json").read_text(encoding="utf-8")
    for path in (folder / "cache").glob("*"):
        path.write_bytes(b"rubbish")
    assert main(["morning", str(folder), *NOW]) == Exit.DONE
    assert (folder / "sheets" / "2026-03-10.json").read_text(encoding="utf-8") == sheet
    assert "Traceback" not in capsys.readouterr().err
