"""The sample sites through the whole program, as a grower would run them."""

from __future__ import annotations

import json
import shutil
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from lightplan.cli import Exit, main
from lightplan.shipped import samples_folder
from lightplan.site.models import Shape, Stage
from lightplan.site.read import load_site
from lightplan.site.start import sample_names

SAMPLES = tuple(sorted(sample_names()))


@pytest.fixture(scope="module")
def traced(tmp_path_factory) -> Path:
    """A cache folder that the module's tests share: each house is traced once."""
    return tmp_path_factory.mktemp("cache")


@pytest.fixture(params=SAMPLES)
def sample(request, tmp_path, traced, monkeypatch) -> Path:
    import lightplan.house.kept as kept

    original = kept.kept_house_light
    monkeypatch.setattr(kept, "kept_house_light", lambda house, folder: original(house, traced))
    return Path(shutil.copytree(samples_folder() / request.param, tmp_path / request.param))


def _morning(folder: Path, *words: str) -> dict:
    out = folder / "out"
    assert main(["morning", str(folder), "--format", "json", "--out", str(out), *words]) == Exit.DONE
    (file,) = out.glob("*.json")
    plan = json.loads(file.read_text(encoding="utf-8"))
    file.unlink()
    return plan


def test_samples_show_every_kind_of_thing():
    sites = [load_site(samples_folder() / name).site for name in SAMPLES]
    assert len(sites) == 3
    houses = [house for site in sites for house in site.houses]
    benches = [bench for site in sites for bench in site.benches]
    assert {house.shape for house in houses} == set(Shape)
    assert any(house.overhead for house in houses)
    assert any(bench.tent and bench.lamps and bench.lamp_hours == ((0, 1440),) for bench in benches)
    assert any(not bench.batches for bench in benches)
    assert any(site.power and site.power.capacity_kw and len(site.power.rates) > 1 for site in sites)
    assert {batch.stage for bench in benches for batch in bench.batches} == set(Stage)


def test_three_days_of_the_year(sample):
    for day in ("2026-01-10", "2026-04-21", "2026-07-15"):
        plan = _morning(sample, "--date", day)
        assert plan["weather"]["kind"] == "typical-year"
        assert plan["weather"]["fallback_reason"] is None
        assert plan["orders"]
        assert [order["number"] for order in plan["orders"]] == list(range(1, len(plan["orders"]) + 1))
        assert [o["time"] for o in plan["orders"]] == sorted(o["time"] for o in plan["orders"])
        for bench in plan["benches"]:
            assert 0 < bench["transmission"] < 1
            light = bench["dli"]
            assert light["total"] == pytest.approx(light["sun"] + light["lamps"], abs=1e-3)
            assert light["low"] <= light["total"] <= light["high"]


def test_lamp_hours_lie_in_the_window_and_in_the_days_sum(sample):
    plan = _morning(sample, "--date", "2026-01-14", "--steps")
    start, end = (datetime.fromisoformat(plan["window"][key]) for key in ("from", "to"))
    lit = 0.0
    for bench in plan["benches"]:
        for on, off in bench["lamps"]["intervals"]:
            assert start <= datetime.fromisoformat(on) < datetime.fromisoformat(off) <= end
        hours = sum(
            (datetime.fromisoformat(off) - datetime.fromisoformat(on)) / timedelta(hours=1)
            for on, off in bench["lamps"]["intervals"]
        )
        assert bench["lamps"]["hours"] == pytest.approx(hours)
        lit += hours
        steps = plan["steps"][bench["id"]]
        today = [n for n, time in enumerate(steps["time"]) if time.startswith("2026-01-14")]
        assert len(today) == 96
        assert sum(steps["lamp_ppfd"][n] for n in today) * 900 / 1e6 == pytest.approx(
            bench["dli"]["lamps"], abs=1e-3
        )
        assert sum(steps["sun_ppfd"][n] for n in today) * 900 / 1e6 == pytest.approx(
            bench["dli"]["sun"], abs=1e-3
        )
    assert lit > 0


def test_tomorrows_sheet_takes_over_what_this_one_set(sample):
    first = _morning(sample, "--date", "2026-01-12")
    second = _morning(sample, "--date", "2026-01-13")
    start = datetime.fromisoformat(second["window"]["from"])
    midnight = start.replace(hour=0, minute=0)
    for before, after in zip(first["benches"], second["benches"], strict=True):
        expected = [
            [max(datetime.fromisoformat(on), midnight), min(datetime.fromisoformat(off), start)]
            for on, off in before["lamps"]["intervals"]
            if datetime.fromisoformat(off) > midnight
        ]
        told = [[datetime.fromisoformat(t) for t in pair] for pair in after["lamps"]["earlier"]]
        assert told == expected
        assert not any("No record" in note for note in after["notes"])


def test_the_same_morning_twice_gives_the_same_sheet(sample):
    day = ("--date", "2026-04-21")
    assert _morning(sample, *day) == _morning(sample, *day)


@pytest.mark.parametrize("sample", ["ottermoss"], indirect=True)
def test_a_bright_tomorrow_bars_no_lamps_today_by_the_timers_dial(sample):
    """Friday 06:30 to Saturday 07:00: the dial lights 06:30 to 07:00 twice, and Saturday's sun alone passes
    its limit. Today is dull and has its minimum all the same."""
    plan = _morning(sample, "--date", "2026-09-18")
    light = next(b["dli"] for b in plan["benches"] if b["id"] == "plugs")
    assert light["sun"] < light["minimum"]
    assert light["low"] >= light["minimum"]
