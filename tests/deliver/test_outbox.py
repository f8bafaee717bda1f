"""What waits is kept whole before the first try, through kills, full disks and rubbish."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from datetime import date, timedelta
from pathlib import Path

import pytest

from lightplan.deliver import outbox as module
from lightplan.deliver.dispatch import deliver
from lightplan.deliver.keep import keep_newest
from lightplan.deliver.outbox import MOST_WAITING, Outbox
from lightplan.deliver.parcel import Undelivered, as_text, from_text
from tests.conftest import ROOT
from tests.deliver.parcels import DAY, MADE, parcel


class Way:
    """Takes everything, or nothing."""

    words = "Way"

    def __init__(self, name="mail", works=True):
        self.name, self.works, self.sent = name, works, []

    def send(self, parcel, sent_at, *, late):
        if not self.works:
            raise Undelivered("is away")
        self.sent.append(parcel)


def run(outbox, ways, what, sent_at=MADE):
    said, told = [], []
    left = deliver(outbox, ways, what, sent_at=sent_at, say=said.append, tell=told.append)
    return left, said, told


def test_a_parcel_is_the_same_after_the_disk():
    whole = parcel(left=("ann@crew.example",))
    assert from_text(as_text(whole)) == whole
    for rubbish in ("", "{}", '{"site": 1}', as_text(whole)[:50], as_text(whole).replace("2026-04-21", "x")):
        with pytest.raises(ValueError, match="no parcel"):
            from_text(rubbish)


def test_a_later_look_takes_the_place_of_the_first(tmp_path):
    outbox, way = Outbox(tmp_path), Way(works=False)
    run(outbox, [way], parcel())
    noon = parcel(made_at=MADE + timedelta(hours=6), text="noon")
    run(outbox, [way], noon)
    assert [slip.parcel for slip in outbox.pending("mail")] == [noon]


def test_a_way_that_fails_is_not_asked_twice_in_a_run(tmp_path):
    outbox, way = Outbox(tmp_path), Way(works=False)
    for n in range(3):
        left, said, _ = run(outbox, [way], parcel(DAY + timedelta(days=n)))
        assert (left, len(said)) == (n + 1, 1)
    way.works = True
    left, said, told = run(outbox, [way], None)
    assert (left, said, len(told)) == (0, [], 3)
    assert [p.day for p in way.sent] == [DAY, DAY + timedelta(days=1), DAY + timedelta(days=2)]


def test_a_way_asked_for_no_more_is_let_go_and_said(tmp_path):
    outbox = Outbox(tmp_path)
    run(outbox, [Way("mail", works=False)], parcel())
    left, said, _ = run(outbox, [Way("folder")], parcel(DAY + timedelta(days=1)))
    assert left == 0 and not outbox.waits()
    assert "1 sheet(s) waited for mail" in said[0]


def test_only_what_comes_on_another_day_is_late(tmp_path):
    class Told(Way):
        def send(self, parcel, sent_at, *, late):
            super().send(parcel, sent_at, late=late)
            self.late = late

    outbox, way = Outbox(tmp_path), Told(works=False)
    for hours, expected in ((1, False), (18, False), (19, True)):  # made at 05:15
        way.works = False
        run(outbox, [way], parcel())
        way.works = True
        run(outbox, [way], None, sent_at=MADE + timedelta(hours=hours))
        assert way.late is expected


def test_a_broken_slip_is_put_aside_and_the_others_go(tmp_path):
    outbox, way = Outbox(tmp_path), Way(works=False)
    run(outbox, [way], parcel())
    (tmp_path / "outbox" / "mail-2026-04-20.json").write_bytes(b"\xff\x00 rubbish")
    way.works = True
    left, said, _ = run(outbox, [way], None)
    assert left == 0 and way.sent == [parcel()]
    assert any("is put aside" in sentence for sentence in said)
    assert (tmp_path / "outbox" / "mail-2026-04-20.broken").exists()


def test_when_no_disk_takes_it_the_sheet_is_sent_all_the_same(tmp_path, monkeypatch):
    def full(path, content):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(module, "replace_file", full)
    way = Way()
    left, said, _ = run(Outbox(tmp_path), [way], parcel())
    assert way.sent == [parcel()] and left == 0
    assert "no disk takes the sheet" in said[0]


def test_a_folder_that_can_not_be_written_to_has_a_second_place(tmp_path, monkeypatch):
    (tmp_path / "site").mkdir()
    (tmp_path / "site" / "outbox").write_text("in the way")
    elsewhere = tmp_path / "temporary"
    elsewhere.mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(elsewhere))
    way = Way(works=False)
    left, _, _ = run(Outbox(tmp_path / "site"), [way], parcel())
    assert left == 1
    (tmp_path / "site" / "outbox").unlink()
    noon = parcel(made_at=MADE + timedelta(hours=6), text="noon")  # takes its place, wherever that was
    assert run(Outbox(tmp_path / "site"), [way], noon)[0] == 1
    way.works = True
    assert run(Outbox(tmp_path / "site"), [way], None)[0] == 0
    assert way.sent == [noon]


def test_two_runs_at_once_send_one(tmp_path):
    outbox = Outbox(tmp_path)
    hold = (
        "import sys; from pathlib import Path; from filelock import FileLock\n"
        "from lightplan.deliver.outbox import Outbox\n"
        "lock = Outbox(Path(sys.argv[1])).lock_path; lock.parent.mkdir(exist_ok=True)\n"
        "with FileLock(lock):\n    print('held', flush=True); sys.stdin.readline()\n"
    )
    other = subprocess.Popen(
        [sys.executable, "-c", hold, str(tmp_path)],
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    with other:
        assert other.stdout.readline() == "held\n"
        way = Way()
        left, said, _ = run(outbox, [way], parcel())
        assert (left, way.sent) == (1, [])
        assert "Another run is delivering" in said[0]
        other.communicate("\n")
    assert run(outbox, [way], None)[0] == 0
    assert way.sent == [parcel()]


@pytest.mark.parametrize("refused", [(), ("ann@crew.example",)])
def test_a_look_that_comes_while_the_first_is_on_its_way_is_not_lost(tmp_path, refused):
    """A slow mail server, and the noon look made meanwhile: it lies where the first look lay."""
    noon = parcel(made_at=MADE + timedelta(hours=6), text="noon")

    class Slow(Way):
        def send(self, parcel, sent_at, *, late):
            if not self.sent:
                Outbox(tmp_path).put("mail", noon)
                self.sent.append(parcel)
                if refused:
                    raise Undelivered("reached only some", refused)
            else:
                self.sent.append(parcel)

    outbox, way = Outbox(tmp_path), Slow()
    run(outbox, [way], parcel())
    run(outbox, [way], None)
    assert way.sent == [parcel(), noon] and not outbox.waits()


def test_a_sheet_of_an_hour_that_comes_twice_goes_once(tmp_path):
    """Such moments are never equal across zones (PEP 495), so that they can't be told by comparing them."""
    outbox, way = Outbox(tmp_path), Way()
    run(outbox, [way], parcel(date(2026, 11, 1), made_at=MADE.replace(month=11, day=1, hour=1, fold=1)))
    assert len(way.sent) == 1 and not outbox.waits()


def test_a_year_of_a_broken_printer_does_not_fill_the_disk(tmp_path):
    outbox = Outbox(tmp_path)
    days = [DAY + timedelta(days=n) for n in range(MOST_WAITING + 5)]
    for day in days:
        outbox.put("print", parcel(day))
    assert [slip.parcel.day for slip in outbox.pending("print")] == days[5:]
    assert len(list((tmp_path / "outbox").glob("*.json"))) == MOST_WAITING
    assert "5 sheet(s) of 2026-04-21 and later" in outbox.complaints[0]


@pytest.mark.skipif(
    os.name != "posix" or os.geteuid() != 0, reason="only an administrator can give a file away"
)
def test_what_another_user_put_there_is_not_sent(tmp_path):
    outbox = Outbox(tmp_path)
    slip = outbox.put("mail", parcel())
    os.chown(slip.path, 12345, 12345)
    assert not outbox.waits() and not outbox.pending("mail")


def test_a_fault_of_ours_in_one_way_costs_that_way_only(tmp_path):
    class Broken(Way):
        def send(self, parcel, sent_at, *, late):
            raise ZeroDivisionError("x")

    outbox, good = Outbox(tmp_path), Way("folder")
    left, said, _ = run(outbox, [Broken(), good], parcel())
    assert left == 1 and good.sent == [parcel()]
    assert "a fault of lightplan (ZeroDivisionError('x'))" in said[0]


def test_old_sheets_go_and_nothing_else(tmp_path):
    days = [date(2026, 4, 1) + timedelta(days=n) for n in range(12)]
    for day in days:
        for suffix in ("pdf", "html", "json", "ics"):
            (tmp_path / f"{day}.{suffix}").touch()
    others = ["houses-2026-04-01.pdf", "notes.txt", "2026-04-01.txt", "2026-13-01.pdf"]
    for name in others:
        (tmp_path / name).touch()
    gone = keep_newest(tmp_path, 7, date(2026, 4, 10))
    assert {path.name[:10] for path in gone} == {"2026-04-01", "2026-04-02", "2026-04-03"}
    assert len(gone) == 12
    left = {path.name for path in tmp_path.iterdir()}
    assert set(others) <= left and {f"{day}.pdf" for day in days[3:]} <= left
    assert keep_newest(Path("/nowhere"), 7, DAY) == ()
