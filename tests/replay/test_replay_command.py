"""`lightplan replay` from the command line: a small season end to end, and bad words."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from datetime import date
from pathlib import Path

import pytest

from lightplan.cli import Exit, main
from lightplan.records_issued import issued_forecasts
from lightplan.shipped import samples_folder
from tests.conftest import ROOT
from tests.replay.seasons import FLAT, HEAD, bench

DULL = f"clearness = {[0.3] * 12}\n"
DATES = ("--from", "2026-01-05", "--to", "2026-01-06")


@pytest.fixture(scope="module")
def ottermoss(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("sites") / "ottermoss"
    shutil.copytree(samples_folder() / "ottermoss", folder, ignore=shutil.ignore_patterns("*.db*", "sheets"))
    return folder


def answer(folder: Path, capsys: pytest.CaptureFixture[str], *words: str, code: Exit = Exit.DONE) -> dict:
    assert main(["replay", str(folder), *DATES, "--format", "json", "--out", "-", *words]) == code
    return json.loads(capsys.readouterr().out)


def test_a_small_season_end_to_end(ottermoss, capsys):
    held = answer(ottermoss, capsys, "--forecast", "perfect")
    assert held["forecast"] == "perfect"
    assert {day["bench"] for day in held["policies"][0]["days"]} == {"germ", "plugs"}
    by_name = {policy["name"]: policy for policy in held["policies"]}
    assert by_name["fixed-16h"]["kwh"] > by_name["advice"]["kwh"] > 0
    for policy in held["policies"]:  # the true sun is the same for all
        assert [d["sun_dli"] for d in policy["days"]] == [d["sun_dli"] for d in by_name["advice"]["days"]]


def test_files_are_written_for_every_format_but_none_stays_half_done(ottermoss, capsys, tmp_path):
    words = ["replay", str(ottermoss), *DATES, "--format", "html,json", "--out", str(tmp_path)]
    assert main(words) == Exit.DONE
    assert sorted(path.suffix for path in tmp_path.iterdir()) == [".html", ".json"]
    assert all(path.name.startswith("replay-20") for path in tmp_path.iterdir())
    assert len(capsys.readouterr().out.split()) == 2


def test_recorded_forecasts_come_from_the_records(tmp_path, capsys):
    """A sheet made of the sun that then came is a forecast that was right: as if known."""
    folder = tmp_path / "small"
    folder.mkdir()
    text = HEAD.format(site="", power=DULL + FLAT, limit=60, dark_h=6) + bench()
    (folder / "site.toml").write_text(text, encoding="utf-8")
    assert main(["replay", str(folder), *DATES, "--forecast", "recorded"]) == Exit.WRONG_INPUT
    assert "keeps no sheet from 2026-01-05" in capsys.readouterr().err
    for day in ("2026-01-05", "2026-01-06"):
        code = main(["morning", str(folder), "--date", day, "--format", "json"])
        assert code == Exit.DONE
        if day == "2026-01-05":
            capsys.readouterr()
            answer(folder, capsys, "--forecast", "recorded", code=Exit.STAND_IN)
    kept = issued_forecasts(folder, date(2026, 1, 5), date(2026, 1, 6))
    assert [0 < issued.low <= 1 for issued in kept.values()] == [True, True]
    capsys.readouterr()
    recorded = answer(folder, capsys, "--forecast", "recorded")
    perfect = answer(folder, capsys, "--forecast", "perfect")
    assert recorded["forecast"] == "recorded"
    assert recorded["bound_cost"] == perfect["bound_cost"]
    # a wider band lights no less
    assert recorded["policies"][0]["kwh"] >= perfect["policies"][0]["kwh"] > 0


@pytest.mark.parametrize(
    "words",
    [
        ["replay", "x"],
        ["replay", "x", "--from", "2026-01-02", "--to", "2026-01-01"],
        ["replay", "x", "--from", "2020-01-02", "--to", "2026-01-01"],
        ["replay", "x", *DATES, "--forecast", "wishful"],
        ["replay", "x", *DATES, "--seed", "-1"],
        ["replay", "x", *DATES, "--format", "docx"],
        ["replay", "x", *DATES, "--out", "-"],
    ],
)
def test_wrong_usage_is_exit_2(words, capsys):
    assert main(words) == Exit.WRONG_USAGE
    assert "Traceback" not in capsys.readouterr().err


def test_a_missing_site_is_exit_1_and_help_ends_with_an_example(tmp_path, capsys):
    assert main(["replay", str(tmp_path / "nowhere"), *DATES]) == Exit.WRONG_INPUT
    assert "site.toml" in capsys.readouterr().err
    assert main(["replay", "--help"]) == Exit.DONE
    assert "Example" in capsys.readouterr().out


@pytest.mark.skipif(os.name != "posix", reason="the noise is made by the system's own C library")
def test_what_a_library_prints_by_itself_is_not_among_the_results():
    noisy = (
        "import ctypes, sys; import lightplan.cli as cli; code = cli.main(['check', '--help']);"
        "ctypes.CDLL(None).printf(b'noise of a solver\\n'); cli.click.echo('a result'); sys.exit(code)"
    )
    done = subprocess.run([sys.executable, "-c", noisy], cwd=ROOT, capture_output=True, text=True, check=True)
    assert "noise" not in done.stdout
    assert done.stdout.rstrip().endswith("a result")
