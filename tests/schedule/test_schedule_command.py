"""`lightplan schedule` against programs of the system that are small scripts on a PATH of their own."""

from __future__ import annotations

import os
import sys
from datetime import datetime
from pathlib import Path

import pytest

from lightplan.cli import Exit, main
from tests.small_site import SMALL, write_small_site

pytestmark = pytest.mark.skipif(sys.platform not in ("linux",), reason="systemd and cron are Linux's")
MAIL = """
[deliver.mail]
to = ["ann@crew.example"]
from = "sheets@range.example"
host = "smtp.range.example"
user = "ann"
password_env = "SHEETS"
"""


@pytest.fixture
def computer(tmp_path, monkeypatch) -> Path:
    """A home and a PATH of their own."""
    (tmp_path / "bin").mkdir()
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("PATH", f"{tmp_path / 'bin'}{os.pathsep}/usr/bin{os.pathsep}/bin")
    monkeypatch.delenv("XDG_CONFIG_HOME", raising=False)
    program(tmp_path, "systemctl", "exit 1")
    return tmp_path


def program(home: Path, name: str, script: str) -> None:
    path = home / "bin" / name
    path.write_text(f"#!/bin/sh\n{script}\n")
    path.chmod(0o755)


def cron(home: Path) -> Path:
    """A `crontab` that keeps its table in a file."""
    table = home / "table"
    program(
        home,
        "crontab",
        f'case "$1" in -l) [ -f {table} ] || {{ echo "no crontab for ann" >&2; exit 1; }}; cat {table};;'
        f" -r) rm {table};; -) cat > {table};; esac",
    )
    return table


def test_cron_where_no_systemd_answers(computer, capsys):
    table, folder = cron(computer), write_small_site(computer / "s")
    assert main(["schedule", str(folder), "--at", "05:15", "--noon", "11:30"]) == Exit.DONE
    out, said = capsys.readouterr()
    assert table.read_text() in out
    assert "comes at 05:15 and 11:30, Europe/Berlin time" in said
    assert "no [deliver]" in said
    assert main(["schedule", str(folder), "--show"]) == Exit.DONE
    assert table.read_text() in capsys.readouterr().out
    assert main(["schedule", str(folder), "--remove"]) == Exit.DONE
    assert "Taken away (cron)" in capsys.readouterr().err and not table.exists()
    assert main(["schedule", str(folder), "--remove"]) == Exit.DONE
    assert "There was no timer" in capsys.readouterr().err


def test_systemd_where_it_answers(computer, capsys):
    program(computer, "systemctl", f'echo "$@" >> {computer}/ran')
    program(computer, "loginctl", "exit 0")
    folder = write_small_site(computer / "s")
    assert main(["schedule", str(folder), "--at", "05:15"]) == Exit.DONE
    units = sorted(path.suffix for path in (computer / ".config" / "systemd" / "user").iterdir())
    assert units == [".service", ".timer"]
    ran = (computer / "ran").read_text()
    assert "enable lightplan-s-" in ran and "daemon-reload" in ran
    shown = capsys.readouterr().out
    assert "OnCalendar=*-*-* 05:15:00 Europe/Berlin" in shown
    assert main(["schedule", str(folder), "--remove"]) == Exit.DONE
    assert not list((computer / ".config" / "systemd" / "user").iterdir())


def test_show_changes_nothing(computer, capsys):
    folder = write_small_site(computer / "s")
    for name in ("systemd", "cron", "launchd", "windows"):
        words = ["schedule", str(folder), "--at", "05:15", "--show", "--system", name]
        assert main(words) == Exit.DONE
        assert "due" in capsys.readouterr().out
    assert main(["schedule", str(folder), "--at", "05:15", "--show"]) == Exit.DONE
    assert "OnCalendar" in capsys.readouterr().out
    assert sorted(p.name for p in computer.iterdir()) == ["bin", "s"]
    assert [p.name for p in folder.iterdir()] == ["site.toml"]


def test_what_is_past_today_is_not_made_up_for(computer, monkeypatch):
    """Installed in the afternoon, the first sheet is tomorrow's."""
    import lightplan.commands.schedule as command

    cron(computer)
    folder = write_small_site(computer / "s")
    monkeypatch.setattr(command, "local_now", lambda zone, given: datetime(2026, 4, 21, 16, 0, tzinfo=zone))
    assert main(["schedule", str(folder), "--at", "05:15"]) == Exit.DONE
    due = ["due", str(folder), "--at", "05:15", "--now"]
    assert main([*due, "2026-04-21T16:15"]) == Exit.DONE
    assert not (folder / "sheets").exists()
    assert main([*due, "2026-04-22T05:15"]) == Exit.DONE
    assert (folder / "sheets" / "2026-04-22.pdf").exists()


def test_where_nothing_answers_it_is_said(computer, capsys, monkeypatch):
    import lightplan.schedule.systems as systems

    monkeypatch.setattr(systems.shutil, "which", lambda name: None)
    folder = write_small_site(computer / "s")
    assert main(["schedule", str(folder), "--at", "05:15"]) == Exit.WRONG_INPUT
    assert "Neither systemd's user timers nor crontab answer here" in capsys.readouterr().err


def test_what_a_timer_would_miss_is_warned_of(computer, capsys):
    folder = computer / "s"
    folder.mkdir()
    text = SMALL.format(weather='source = "clear-sky"') + MAIL
    (folder / "site.toml").write_text(text, encoding="utf-8")
    assert main(["schedule", str(folder), "--at", "07:00", "--show", "--system", "cron"]) == Exit.DONE
    said = capsys.readouterr().err
    assert "the crew comes at 06:30" in said
    assert "put SHEETS=… into" in said and ".config/lightplan/environment" in said
    kept = computer / ".config" / "lightplan" / "environment"
    kept.parent.mkdir(parents=True)
    kept.write_text("SHEETS=tulip\n")
    for mode, expected in ((0o644, "chmod 600"), (0o600, "")):
        kept.chmod(mode)
        assert main(["schedule", str(folder), "--at", "05:15", "--show", "--system", "cron"]) == Exit.DONE
        out, said = capsys.readouterr()
        assert expected in said and ("put SHEETS" in said) == bool(expected) and "tulip" not in out + said


@pytest.mark.parametrize(
    "words", [[], ["--noon", "11:30"], ["--at", "05:15", "--noon", "05:15"], ["--remove", "--at", "05:15"]]
)
def test_wrong_words(computer, words):
    assert main(["schedule", str(write_small_site(computer / "s")), *words]) == Exit.WRONG_USAGE


def test_a_wrong_site_is_not_scheduled(computer, capsys):
    assert main(["schedule", str(computer / "nowhere"), "--at", "05:15"]) == Exit.WRONG_INPUT
    assert "site.toml" in capsys.readouterr().err


def test_a_crontab_that_may_not_be_read_does_not_hide_what_was_taken_away(computer, capsys):
    program(computer, "systemctl", "exit 0")
    program(computer, "loginctl", "exit 0")
    folder = write_small_site(computer / "s")
    assert main(["schedule", str(folder), "--at", "05:15"]) == Exit.DONE
    program(computer, "crontab", 'echo "ann is not allowed to use this program" >&2; exit 1')
    assert main(["schedule", str(folder), "--remove"]) == Exit.DONE
    said = capsys.readouterr().err
    assert "Taken away (systemd)." in said and "not allowed" in said
    assert main(["schedule", str(folder), "--remove"]) == Exit.WRONG_INPUT
    assert "There was no timer" not in capsys.readouterr().err


def test_a_folder_whose_name_would_break_a_timers_line_is_refused(computer, capsys):
    folder = write_small_site(computer / "two\nlines")
    assert main(["schedule", str(folder), "--at", "05:15", "--show"]) == Exit.WRONG_INPUT
    assert "rename that folder" in capsys.readouterr().err
