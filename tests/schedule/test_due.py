"""When a sheet is due, by the site's clock: once a day whoever knocks, also where clocks change."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from lightplan.cli import Exit, main
from lightplan.schedule.due import MOST_TRIES, Memory, Slot, State, is_due, just_now, last_slot
from lightplan.schedule.environment import read_environment, take_environment
from lightplan.schedule.log import MOST_BYTES, BoundedLog
from tests.conftest import ROOT
from tests.small_site import write_small_site

NEW_YORK, BERLIN = ZoneInfo("America/New_York"), ZoneInfo("Europe/Berlin")


def slots_over(zone: ZoneInfo, start: datetime, hours: int, times: tuple[int, ...]) -> list[tuple[str, str]]:
    """Knock each quarter hour as cron does, by UTC; the local dates and clocks at which a sheet is made."""
    made, state = [], None
    for knock in range(hours * 4):
        now = (start + timedelta(minutes=15 * knock)).astimezone(zone)
        slot = last_slot(now, times)
        if slot is not None and is_due(slot, state):
            state = State(slot, 1, True)
            made.append((f"{now:%Y-%m-%d}", f"{now:%H:%M}"))
    return made


@pytest.mark.parametrize(
    ("zone", "start"),
    [  # US: Energy Policy Act of 2005, section 110; EU: Directive 2000/84/EC
        (NEW_YORK, datetime(2026, 3, 7, 5, tzinfo=UTC)),
        (NEW_YORK, datetime(2026, 10, 31, 4, tzinfo=UTC)),
        (BERLIN, datetime(2026, 3, 27, 23, tzinfo=UTC)),
        (BERLIN, datetime(2026, 10, 23, 22, tzinfo=UTC)),
    ],
)
@pytest.mark.parametrize("at_min", [0, 15, 60, 75, 120, 150, 165, 180, 195, 315, 1425])
def test_once_a_day_over_both_clock_changes(zone, start, at_min):
    made = slots_over(zone, start, 24 * 4 - 1, (at_min,))
    days = [day for day, _ in made]
    first = start.astimezone(zone).date()
    assert len(days) == len(set(days))
    assert {f"{first + timedelta(days=n)}" for n in range(3)} <= set(days)
    clock = f"{at_min // 60:02}:{at_min % 60:02}"
    odd = [at for _, at in made if at != clock]
    skipped = (zone, first.month) in ((NEW_YORK, 3), (BERLIN, 3)) and clock[:2] == "02"
    assert odd == ([f"03{clock[2:]}"] if skipped else [])


def test_a_time_that_is_skipped_or_comes_twice():
    march = datetime(2026, 3, 8, 5, tzinfo=UTC)
    assert slots_over(NEW_YORK, march, 24, (150,)) == [("2026-03-08", "03:30")]
    november = datetime(2026, 11, 1, 4, tzinfo=UTC)
    assert slots_over(NEW_YORK, november, 24, (90,)) == [("2026-11-01", "01:30")]


def test_a_computer_that_slept_makes_the_last_one_only():
    now = datetime(2026, 4, 21, 13, 7, tzinfo=NEW_YORK)
    assert last_slot(now, (315, 690)) == Slot(now.date(), 690)
    assert last_slot(now.replace(hour=7), (315, 690)) == Slot(now.date(), 315)
    assert last_slot(now.replace(hour=5), (315, 690)) is None


def test_failures_are_tried_again_but_not_for_ever():
    slot = Slot(datetime(2026, 4, 21).date(), 315)
    assert is_due(slot, State(slot, MOST_TRIES - 1, False))
    assert not is_due(slot, State(slot, MOST_TRIES, False))
    assert not is_due(slot, State(slot, 1, True))
    assert is_due(slot, State(Slot(slot.day - timedelta(days=1), 315), MOST_TRIES, False))


def test_the_memory_outlives_rubbish_and_full_disks(tmp_path, monkeypatch):
    import tempfile

    elsewhere = tmp_path / "temporary"
    elsewhere.mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(elsewhere))
    slot = Slot(datetime(2026, 4, 21).date(), 315)
    memory = Memory(tmp_path / "s")
    assert memory.read() is None
    assert memory.write(State(slot, 2, False)) and memory.read() == State(slot, 2, False)
    (tmp_path / "s" / "timer" / "state.json").write_text("rubbish")
    assert memory.read() is None
    blocked = tmp_path / "blocked"
    blocked.write_text("a file")
    other = Memory(blocked)
    ahead = State(Slot(slot.day + timedelta(days=900), 315), 1, True)  # a clock that was far out
    assert other.write(ahead) and other.read() == ahead
    blocked.unlink()
    assert other.write(State(slot, 1, True)) and other.read() == State(slot, 1, True)


def test_without_any_memory_it_runs_at_its_time_only():
    slot = Slot(datetime(2026, 4, 21).date(), 315)
    assert just_now(slot, datetime(2026, 4, 21, 5, 15, tzinfo=NEW_YORK))
    assert just_now(slot, datetime(2026, 4, 21, 5, 29, tzinfo=NEW_YORK))
    assert not just_now(slot, datetime(2026, 4, 21, 5, 30, tzinfo=NEW_YORK))


def knock(folder: Path, clock: str, *more: str) -> int:
    return main(["due", str(folder), "--at", "05:15", "--now", f"2026-04-21T{clock}", *more])


def test_a_morning_of_knocks(tmp_path, capsys):
    folder = write_small_site(tmp_path / "s")
    sheets = folder / "sheets"
    assert knock(folder, "05:00") == Exit.DONE
    assert not sheets.exists() and capsys.readouterr().err == ""
    assert knock(folder, "05:16") == Exit.DONE
    assert sorted(p.suffix for p in sheets.iterdir()) == [".html", ".ics", ".json", ".pdf"]
    made = json.loads((sheets / "2026-04-21.json").read_text(encoding="utf-8"))["generated_at"]
    capsys.readouterr()
    assert knock(folder, "05:31") == Exit.DONE
    assert capsys.readouterr() == ("", "")
    assert knock(folder, "11:31", "--at", "11:30") == Exit.DONE
    again = json.loads((sheets / "2026-04-21.json").read_text(encoding="utf-8"))["generated_at"]
    assert made[11:16] == "05:16" and again[11:16] == "11:31"
    log = (folder / "timer" / "log.txt").read_text(encoding="utf-8").splitlines()
    steps = [line[20:] for line in log]
    assert steps.count("ended with code 0") == 2
    assert [s for s in steps if s.startswith("due")] == ["due at 05:15, try 1", "due at 11:30, try 1"]
    assert all(line.startswith("2026-04-21 ") for line in log)


def test_a_wrong_site_file_is_told_and_tried_again(tmp_path, capsys):
    folder = write_small_site(tmp_path / "s")
    right = (folder / "site.toml").read_text(encoding="utf-8")
    (folder / "site.toml").write_text(right.replace("latitude = 52.5", "latitude = 152.5"), encoding="utf-8")
    for clock in ("05:15", "05:30"):
        assert knock(folder, clock) == Exit.WRONG_INPUT
    assert "latitude" in capsys.readouterr().err
    log = (folder / "timer" / "log.txt").read_text(encoding="utf-8")
    assert "try 2" in log and "latitude" in log and "Traceback" not in log
    (folder / "site.toml").write_text(right, encoding="utf-8")
    assert knock(folder, "05:45") == Exit.DONE
    assert (folder / "sheets" / "2026-04-21.pdf").exists()


def test_a_site_that_is_not_there_is_told(tmp_path, capsys):
    assert knock(tmp_path / "nowhere", "05:15") == Exit.WRONG_INPUT
    assert "site.toml" in capsys.readouterr().err
    assert not (tmp_path / "nowhere").exists()


def test_never_twice_at_once(tmp_path, capsys):
    folder = write_small_site(tmp_path / "s")
    hold = (
        "import sys; from pathlib import Path; from filelock import FileLock\n"
        "from lightplan.schedule.due import FOLDER, LOCK\n"
        "path = Path(sys.argv[1]) / FOLDER; path.mkdir()\n"
        "with FileLock(path / LOCK):\n    print('held', flush=True); sys.stdin.readline()\n"
    )
    with subprocess.Popen(
        [sys.executable, "-c", hold, str(folder)],
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    ) as other:
        assert other.stdout.readline() == "held\n"
        assert knock(folder, "05:15") == Exit.DONE
        assert "Another run of this timer" in capsys.readouterr().err
        assert not (folder / "sheets").exists()
        other.communicate("\n")


def test_the_log_is_bounded_and_keeps_whole_lines(tmp_path):
    path, clock = tmp_path / "timer" / "log.txt", datetime(2026, 4, 21, 5, 15)
    BoundedLog(path, lambda: clock)("first\nsecond\n\n")
    assert path.read_text(encoding="utf-8") == "2026-04-21 05:15:00 first\n2026-04-21 05:15:00 second\n"
    path.write_text("2026-04-20 05:15:00 ä line of an older day\n" * 8000, encoding="utf-8")
    BoundedLog(path, lambda: clock)("newest")
    text = path.read_text(encoding="utf-8")
    assert len(text.encode()) < MOST_BYTES and text.endswith("newest\n")
    assert set(text.splitlines()[:-1]) == {"2026-04-20 05:15:00 ä line of an older day"}


def test_what_another_run_made_in_the_meantime_is_not_made_again(tmp_path, monkeypatch):
    """It ended between this one's first look and its lock; what waits is sent all the same."""
    import lightplan.commands.due as command

    folder = write_small_site(tmp_path / "s")
    slot, states = Slot(datetime(2026, 4, 21).date(), 315), []

    class Read(Memory):
        def read(self):
            states.append(super().read())
            self.write(State(slot, 1, True))
            return states[-1]

    monkeypatch.setattr(command, "Memory", Read)
    assert knock(folder, "05:15") == Exit.DONE
    assert states == [None, State(slot, 1, True)] and not (folder / "sheets").exists()


def test_secrets_of_a_timer(tmp_path):
    path = tmp_path / "environment"
    assert read_environment(path) == ({}, ())
    path.write_text("# mail\nexport A=one two\nB = 'x=y'\nnonsense tulip\n\nC=\n", encoding="utf-8")
    path.chmod(0o600)
    found, said = read_environment(path)
    assert found == {"A": "one two", "B": "x=y", "C": ""}
    assert len(said) == 1 and "line 4" in said[0] and "tulip" not in said[0]
    path.write_text("A=1\n", encoding="utf-8-sig")  # as some editors begin a file
    assert read_environment(path) == ({"A": "1"}, ())
    if os.name == "posix":
        for mode in (0o644, 0o640, 0o602):
            path.chmod(mode)
            found, said = read_environment(path)
            assert found == {} and "chmod 600" in said[0]


def test_what_the_environment_has_goes_before_the_file(tmp_path, monkeypatch):
    own, other = "OWN_OF_THIS_TEST", "OTHER_OF_THIS_TEST"
    for name in (own, other):
        monkeypatch.setenv(name, "mine")
    monkeypatch.delenv(other)
    path = tmp_path / "environment"
    path.write_text(f"{own}=file\n{other}=file\n", encoding="utf-8")
    path.chmod(0o600)
    assert take_environment(path) == ()
    assert (os.environ[own], os.environ[other]) == ("mine", "file")


@pytest.mark.parametrize("time", ["5.15", "25:00", "05:60", "0515", ""])
def test_a_wrong_time(tmp_path, capsys, time):
    assert main(["due", str(tmp_path), "--at", time]) == Exit.WRONG_USAGE
    assert "write it like 05:15" in capsys.readouterr().err
