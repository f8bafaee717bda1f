"""Words in, exit code out: bad input and bad days end in one sentence, never in a traceback."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from lightplan.cli import Exit, main
from lightplan.shipped import samples_folder

SMALL = """\
[site]
name = "Small Place"
latitude = {latitude}
longitude = {longitude}
timezone = "{zone}"
{site}
[weather]
{weather}
[[house]]
id = "glass"
shape = "gable"
width_m = 9
length_m = 20
eave_m = 2.4
ridge_m = 4.7
ridge_azimuth_deg = 90
glazing = "single-glass"
[[bench]]
id = "plugs"
house = "glass"
area_m2 = 12
lamps = {{ ppfd = 80, power_kw = 0.6 }}
lamp_hours = ["03:00", "21:00"]
[[bench.batch]]
crop = "petunia"
stage = "seedling"
from = 2026-01-01
to = 2028-12-31
"""


def _site(
    folder: Path,
    *,
    latitude=52.0,
    longitude=0.0,
    zone="Europe/London",
    weather='source = "clear-sky"',
    site="",
) -> Path:
    folder.mkdir(exist_ok=True)
    text = SMALL.format(latitude=latitude, longitude=longitude, zone=zone, weather=weather, site=site)
    (folder / "site.toml").write_text(text, encoding="utf-8")
    return folder


def _json(folder: Path, *words: str, code: Exit = Exit.DONE) -> dict:
    assert main(["morning", str(folder), "--format", "json", *words]) == code
    (file,) = (folder / "sheets").glob("*.json")
    return json.loads(file.read_text(encoding="utf-8"))


@pytest.mark.parametrize(
    ("latitude", "longitude", "zone", "day", "length_h"),
    [
        (70.0, 25.0, "Europe/Oslo", "2026-12-21", 0.0),
        (70.0, 25.0, "Europe/Oslo", "2026-06-21", 24.0),
        (52.0, 0.0, "Europe/London", "2028-02-29", None),
        (52.5, 13.4, "Europe/Berlin", "2026-03-29", None),
        (52.5, 13.4, "Europe/Berlin", "2026-10-24", None),
        (52.5, 13.4, "Europe/Berlin", "2026-10-25", None),
        (28.6, 77.2, "Asia/Kolkata", "2026-07-01", None),
        (-46.0, 169.0, "Pacific/Auckland", "2026-07-15", None),
    ],
)
def test_odd_days_make_a_right_sheet(tmp_path, latitude, longitude, zone, day, length_h):
    plan = _json(
        _site(tmp_path / "s", latitude=latitude, longitude=longitude, zone=zone), "--date", day, "--steps"
    )
    assert plan["date"] == day
    assert len([o for o in plan["orders"] if o["bench"] and not o["action"].startswith("check")]) == 1
    steps = plan["steps"]["plugs"]["time"]
    of_day = sum(time.startswith(day) for time in steps)
    assert of_day == {"2026-03-29": 92, "2026-10-25": 100}.get(day, 96)
    if length_h is not None:
        assert plan["sun"]["day_length_h"] == length_h
        assert plan["sun"]["sunrise"] is None
    if length_h == 0.0:
        assert plan["benches"][0]["transmission"] is None
        assert plan["benches"][0]["dli"]["lamps"] > 4


def test_the_day_before_a_clock_change_says_how_to_set_timers(tmp_path):
    folder = _site(tmp_path / "s", latitude=52.5, longitude=13.4, zone="Europe/Berlin")
    assert any("Clocks change" in words for words in _json(folder, "--date", "2026-10-24")["cautions"])
    shutil.rmtree(folder / "sheets")
    assert not any("Clocks change" in words for words in _json(folder, "--date", "2026-10-20")["cautions"])


def test_a_day_without_crew_has_no_window_and_no_orders(tmp_path):
    plan = _json(_site(tmp_path / "s", site="days_off = [2026-05-01]"), "--date", "2026-05-01")
    assert plan["window"] == {"from": None, "to": None}
    assert plan["orders"] == []
    assert plan["benches"][0]["dli"]["sun"] > 0


def test_a_missing_site_is_exit_1(tmp_path, capsys):
    assert main(["morning", str(tmp_path / "nowhere")]) == Exit.WRONG_INPUT
    said = capsys.readouterr().err
    assert "site.toml" in said
    assert "Traceback" not in said
    assert not (tmp_path / "nowhere").exists()


def test_a_wrong_site_writes_nothing(tmp_path, capsys):
    folder = _site(tmp_path / "s", latitude=95.0)
    assert main(["morning", str(folder)]) == Exit.WRONG_INPUT
    assert "latitude" in capsys.readouterr().err
    assert sorted(path.name for path in folder.iterdir()) == ["site.toml"]


@pytest.mark.parametrize(
    "words",
    [
        ["morning", "x", "--date", "2026-02-30"],
        ["morning", "x", "--now", "yesterday"],
        ["morning", "x", "--format", "docx"],
        ["morning", "x", "--out", "-"],
        ["morning"],
        ["evening"],
    ],
)
def test_wrong_usage_is_exit_2(words, capsys):
    assert main(words) == Exit.WRONG_USAGE
    assert "Traceback" not in capsys.readouterr().err


def test_a_file_without_the_dates_is_exit_1(tmp_path, capsys):
    folder = _site(tmp_path / "s", weather='source = "file"\nfile = "w.csv"')
    (folder / "w.csv").write_text(
        "time,ghi_w_m2,temp_air_c\n2020-01-01T00:00+00:00,0,5\n2020-01-01T01:00+00:00,0,5\n", encoding="utf-8"
    )
    assert main(["morning", str(folder), "--date", "2026-01-01"]) == Exit.WRONG_INPUT
    assert "none of the time" in capsys.readouterr().err
    assert not (folder / "sheets").exists()


def test_a_service_not_asked_is_exit_3_and_said(tmp_path, capsys):
    folder = _site(tmp_path / "s", weather="")
    plan = _json(folder, "--date", "2026-01-01", "--offline", code=Exit.STAND_IN)
    assert plan["weather"]["fallback_reason"]
    assert "stands in" in capsys.readouterr().err


def test_without_pango_the_html_is_written_and_the_cure_named(tmp_path, capsys, monkeypatch):
    import lightplan.report.write as write
    from lightplan.report.pdf import PdfUnavailable

    def missing(html: str) -> None:
        raise PdfUnavailable("no PDF: install libpango")

    monkeypatch.setattr(write, "make_pdf", missing)
    folder = _site(tmp_path / "s")
    assert main(["morning", str(folder), "--date", "2026-01-01"]) == Exit.STAND_IN
    assert sorted(path.suffix for path in (folder / "sheets").iterdir()) == [".html", ".json"]
    assert "libpango" in capsys.readouterr().err


def test_a_fault_of_ours_is_one_line_and_a_log(tmp_path, capsys, monkeypatch):
    import lightplan.morning as recipe

    def broken(*_: object, **__: object) -> None:
        raise RuntimeError("boom")

    monkeypatch.setattr(recipe, "plan_day", broken)
    assert main(["morning", str(_site(tmp_path / "s"))]) == Exit.OUR_FAULT
    lines = capsys.readouterr().err.strip().splitlines()
    (said,) = [line for line in lines if not line.startswith("Warning")]
    log = Path(said.rsplit(" ", 1)[-1])
    assert "boom" in log.read_text(encoding="utf-8")
    log.unlink()


def test_a_broken_memory_costs_no_sheet(tmp_path, capsys):
    folder = _site(tmp_path / "s")
    (folder / "records.db").write_bytes(b"no database" * 100)
    assert _json(folder, "--date", "2026-01-01")["orders"]
    assert "records.db is broken" in capsys.readouterr().err
    assert (folder / "records.broken-1.db").read_bytes() == b"no database" * 100


def test_json_goes_to_stdout(tmp_path, capsys):
    folder = _site(tmp_path / "s")
    assert (
        main(["morning", str(folder), "--date", "2026-01-01", "--format", "json", "--out", "-"]) == Exit.DONE
    )
    assert json.loads(capsys.readouterr().out)["date"] == "2026-01-01"
    assert not (folder / "sheets").exists()


def test_now_sets_the_clock_and_a_late_sheet_starts_later(tmp_path):
    plan = _json(_site(tmp_path / "s"), "--now", "2026-01-01T10:07")
    assert plan["window"]["from"] == "2026-01-01T10:15:00+00:00"
    assert plan["generated_at"] == "2026-01-01T10:07:00+00:00"


def test_start_copies_a_sample_and_never_overwrites(tmp_path, capsys):
    target = tmp_path / "mine"
    assert main(["start", str(target), "--sample", "quillfen"]) == Exit.DONE
    assert main(["check", str(target)]) == Exit.DONE
    assert main(["start", str(target), "--sample", "quillfen"]) == Exit.WRONG_INPUT
    assert "Traceback" not in capsys.readouterr().err


def test_start_takes_options(tmp_path, capsys):
    target = tmp_path / "mine"
    words = ["start", str(target), "--name", "Mine", "--latitude", "52.2", "--longitude", "0.1", "--offline"]
    code = main(words)
    said = capsys.readouterr().err
    assert code == Exit.DONE, said
    assert "houses, invert and replay" in said
    assert main(["check", str(target)]) == Exit.DONE
    assert "Europe/London" in capsys.readouterr().out


def test_names_and_version_and_help(capsys):
    assert main(["check", str(samples_folder() / "quillfen"), "--names"]) == Exit.DONE
    assert "twin-wall-polycarbonate" in capsys.readouterr().out
    assert main(["--version"]) == Exit.DONE
    assert "WeasyPrint" in capsys.readouterr().out
    for words in ([], ["morning"], ["start"], ["check"]):
        assert main([*words, "--help"]) == Exit.DONE
        assert "Example" in capsys.readouterr().out
