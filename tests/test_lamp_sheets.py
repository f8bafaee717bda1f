"""Sheets on the edges of lamp planning: late in the evening, by hand, with no lamp that works."""

from __future__ import annotations

import json

import pytest

from lightplan.cli import Exit, main
from tests.replay.seasons import BENCH, FLAT, HEAD

DULL = f"clearness = {[0.3] * 12}\n"


@pytest.fixture(scope="module")
def place(tmp_path_factory):
    """One folder for all: the light of its house is worked out once."""
    return tmp_path_factory.mktemp("invented")


def site(folder, lamps: str, crew: str = '["06:30", "18:00"]'):
    text = HEAD.format(site=f"crew = {crew}", power=DULL + FLAT, limit=60, dark_h=6)
    bench = BENCH.format(id="plugs", ppfd=75, kw=0.6, on="03:00", off="21:00", stage="seedling")
    (folder / "records.db").unlink(missing_ok=True)
    (folder / "site.toml").write_text(
        text + bench.replace("kw = 0.6", f"kw = 0.6, {lamps}"), encoding="utf-8"
    )
    return folder


def sheet(folder, capsys, now: str) -> dict:
    words = ["morning", str(folder), "--date", now[:10], "--now", now, "--format", "json", "--out", "-"]
    code = main(words)
    printed = capsys.readouterr()
    assert code == Exit.DONE, printed.err
    return json.loads(printed.out)


@pytest.mark.parametrize(
    ("crew_end", "now", "least_run_min"),
    [("17:00", "17:50", 0), ("17:00", "19:40", 30), ("18:00", "17:50", 60), ("18:00", "18:05", 60)],
)
def test_a_late_sheet_comes_out_for_lamps_by_hand(place, capsys, crew_end, now, least_run_min):
    """They burn since 17:15, as usual, and nobody can put them out when their least time is over."""
    lamps = f'switch = "hand", least_run_min = {least_run_min}, usual = [["17:15", "20:00"]]'
    folder = site(place, lamps, f'["06:30", "{crew_end}"]')
    found = sheet(folder, capsys, f"2026-01-13T{now}")
    (bench,) = found["benches"]
    assert bench["lamps"]["earlier"]
    for on, off in bench["lamps"]["intervals"]:
        for moment in (on, off):
            at_start = moment == found["window"]["from"]
            assert at_start or "06:30" <= moment[11:16] <= crew_end


def test_a_page_does_not_call_broken_lamps_unneeded(place, capsys):
    site(place, 'working = 0, usual = [["03:00", "07:00"]]')
    words = ["morning", str(place), "--date", "2026-01-13", "--now", "2026-01-13T05:00"]
    assert main([*words, "--format", "html", "--out", str(place)]) == Exit.DONE
    capsys.readouterr()
    page = (place / "2026-01-13.html").read_text(encoding="utf-8")
    assert "no lamps that work" in page
    assert "no lamps needed" not in page


def test_lamps_of_which_none_works_are_not_ordered(place, capsys):
    found = sheet(site(place, "working = 0"), capsys, "2026-01-13T05:00")
    (bench,) = found["benches"]
    assert bench["dli"]["lamps"] == 0
    assert bench["dli"]["total"] < bench["dli"]["target"]
    assert bench["lamps"]["earlier"] == []
    assert not [note for note in bench["notes"] if "yesterday" in note]
    assert [note for note in bench["notes"] if "0 % of the lamps working" in note]
    assert not [o for o in found["orders"] if "lamps" in o["action"] or o["action"] == "set-timer"]
    words = ["replay", str(place), "--from", "2026-01-13", "--to", "2026-01-14", "--format", "json"]
    assert main([*words, "--out", "-"]) == Exit.DONE
    assert {p["kwh"] for p in json.loads(capsys.readouterr().out)["policies"]} == {0}
