"""`morning --deliver` and `--format ics` from the command line: what arrives, what is said, what is kept."""

from __future__ import annotations

import json
from email.message import EmailMessage

import pytest

from lightplan.cli import Exit, main
from tests.deliver.faults import CREW, lp
from tests.deliver.mail_server import Handler, free_port, mail_server
from tests.small_site import SMALL

vobject = pytest.importorskip("vobject")
NOW = ["--now", "2026-03-10T05:30"]
MAIL = """
[deliver.mail]
to = ["ann@crew.example", "ben@crew.example"]
from = "sheets@range.example"
host = "127.0.0.1"
security = "none"
port = {port}
"""


def site(folder, deliver: str):
    folder.mkdir(parents=True, exist_ok=True)
    text = SMALL.format(weather='source = "clear-sky"')
    (folder / "site.toml").write_text(f"{text}\n[deliver]\n{deliver}", encoding="utf-8")
    return folder


def test_paper_mail_and_folder_at_once(tmp_path, capsys):
    share = tmp_path / "share"
    share.mkdir()
    handler = Handler()
    paper = tmp_path / "paper"
    with mail_server(handler) as port, lp(tmp_path, f'echo "$@" > {paper}; cat "$8" > {paper}.pdf'):
        wanted = 'printer = "office"\ncopies = 2\nfolder = "../share"' + MAIL.format(port=port)
        folder = site(tmp_path / "s", wanted)
        words = ["morning", str(folder), *NOW, "--format", "pdf,json,ics", "--deliver"]
        assert main(words) == Exit.DONE
    assert capsys.readouterr().err == ""
    sheets = folder / "sheets"
    pdf = (sheets / "2026-03-10.pdf").read_bytes()
    assert (tmp_path / "paper.pdf").read_bytes() == pdf
    assert paper.read_text().startswith("-d office -n 2 -t s-2026-03-10 -- ")
    assert sorted(p.name for p in share.iterdir()) == [f"s-2026-03-10.{x}" for x in ("ics", "json", "pdf")]
    [message] = handler.messages
    assert isinstance(message, EmailMessage) and handler.to == [list(CREW)]
    attached = {p.get_filename(): p.get_payload(decode=True) for p in message.iter_attachments()}
    assert attached["2026-03-10.pdf"] == pdf
    assert attached["2026-03-10.ics"] == (sheets / "2026-03-10.ics").read_bytes()
    plan = json.loads((sheets / "2026-03-10.json").read_text(encoding="utf-8"))
    body = message.get_body().get_content()
    assert plan["orders"] and all(f"{o['number']}. {o['time'][11:16]}" in body for o in plan["orders"])
    assert message["Subject"].startswith("Invented Place, Tuesday 10 March: ")
    assert not list((folder / "outbox").glob("*.json"))


def test_what_is_in_the_way_costs_no_sheet_and_comes_later(tmp_path, capsys):
    folder = site(tmp_path / "s", 'folder = "../share"' + MAIL.format(port=free_port()))
    words = ["morning", str(folder), "--format", "html,ics", "--deliver"]
    assert main([*words, "--now", "2026-03-10T05:30"]) == Exit.STAND_IN
    out, said = capsys.readouterr()
    assert len(out.splitlines()) == 2
    assert "is not there; lightplan does not make it" in said and "refuses the connection" in said
    assert (folder / "sheets" / "2026-03-10.html").is_file()
    (tmp_path / "share").mkdir()
    handler = Handler()
    with mail_server(handler) as port:
        site(folder, 'folder = "../share"' + MAIL.format(port=port))
        assert main([*words, "--now", "2026-03-11T05:30"]) == Exit.DONE
    subjects = [str(m["Subject"]) for m in handler.messages]
    assert [s.startswith("Late: ") for s in subjects] == [False, True]
    assert {p.name[:12] for p in (tmp_path / "share").iterdir()} == {"s-2026-03-10", "s-2026-03-11"}


def test_a_sheet_that_no_disk_takes_is_mailed_as_orders(tmp_path, monkeypatch, capsys):
    from lightplan.deliver import calendar_file, outbox
    from lightplan.report import write

    def full(path, content):
        raise OSError(28, "No space left on device")

    for module in (write, outbox, calendar_file):
        monkeypatch.setattr(module, "replace_file", full)
    handler = Handler()
    with mail_server(handler) as port:
        folder = site(tmp_path / "s", MAIL.format(port=port))
        words = ["morning", str(folder), *NOW, "--format", "html,ics", "--deliver"]
        assert main(words) == Exit.STAND_IN
    [message] = handler.messages
    text = message.get_content()
    assert "could not be written; these are its orders" in text and "\n1. 06:30 " in text.replace("\r", "")
    assert "No sheet could be written anywhere" in capsys.readouterr().err


def test_old_sheets_go_with_keep(tmp_path):
    folder = site(tmp_path / "s", "keep = 7\n")
    for day in range(1, 10):
        words = ["morning", str(folder), "--now", f"2026-03-{day:02}T05:30", "--format", "html,ics"]
        assert main([*words, "--deliver"]) == Exit.DONE
    left = sorted(p.name for p in (folder / "sheets").iterdir())
    assert left == sorted(f"2026-03-{d:02}.{x}" for d in range(3, 10) for x in ("html", "ics"))


def test_the_noon_look_goes_on_from_the_mornings_calendar(tmp_path):
    folder = site(tmp_path / "s", "")
    path = folder / "sheets" / "2026-03-10.ics"
    for clock in ("05:30", "12:00"):
        assert main(["morning", str(folder), "--now", f"2026-03-10T{clock}", "--format", "ics"]) == Exit.DONE
        found = vobject.readOne(path.read_bytes().decode())
        uids = [event.uid.value for event in found.vevent_list]
        assert uids and len(uids) == len(set(uids))
        if clock == "05:30":
            first = set(uids)
    assert first <= set(uids)


def test_a_calendar_fault_of_ours_costs_no_sheet(tmp_path, monkeypatch, capsys):
    import lightplan.deliver.ics as ics

    def breaks(*_):
        raise ZeroDivisionError("x")

    monkeypatch.setattr(ics, "calendar", breaks)
    folder = site(tmp_path / "s", "")
    assert main(["morning", str(folder), *NOW, "--format", "html,ics"]) == Exit.STAND_IN
    assert (folder / "sheets" / "2026-03-10.html").is_file()
    assert "No calendar file could be made, by a fault of lightplan" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--format", "ics,docx"], "html, json, pdf, ics"),
        (["--format", "json", "--out", "-", "--deliver"], "--deliver"),
    ],
)
def test_wrong_words(tmp_path, capsys, words, says):
    folder = site(tmp_path / "s", "")
    assert main(["morning", str(folder), *NOW, *words]) == Exit.WRONG_USAGE
    assert says in capsys.readouterr().err


def test_deliver_without_a_way_says_so(tmp_path, capsys):
    folder = site(tmp_path / "s", "")
    assert main(["morning", str(folder), *NOW, "--format", "html", "--deliver"]) == Exit.DONE
    assert "names no printer, mail or folder" in capsys.readouterr().err


@pytest.mark.parametrize("command", ["morning", "rounds"])
def test_by_hand_the_password_comes_from_the_same_file_as_for_the_timer(
    tmp_path, monkeypatch, capsys, command
):
    secret = ("SHEETS_OF_THIS_TEST", "tulip")
    monkeypatch.setenv(*secret)
    monkeypatch.delenv(secret[0])
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    monkeypatch.setenv("APPDATA", str(tmp_path / "config"))
    mail = MAIL.format(port=free_port()).replace('"none"', '"starttls"')
    folder = site(tmp_path / "all" / "s", f'{mail}user = "ann"\npassword_env = "{secret[0]}"\n')
    words = [command, str(folder if command == "morning" else folder.parent), *NOW, "--format", "json"]
    assert main([*words, "--deliver"]) == Exit.STAND_IN
    assert f"{secret[0]} with the password is not set" in capsys.readouterr().err
    kept = tmp_path / "config" / "lightplan" / "environment"
    kept.parent.mkdir(parents=True)
    kept.write_text("=".join(secret), encoding="utf-8")
    kept.chmod(0o600)
    assert main([*words, "--deliver"]) == Exit.STAND_IN
    said = capsys.readouterr().err
    assert "refuses the connection" in said and secret[1] not in said
