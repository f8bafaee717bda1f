"""`lightplan calibrate`: used by every command from then on, shown, reversible."""

from __future__ import annotations

import csv
import json
import math
import shutil
import sqlite3
from dataclasses import replace
from datetime import date, datetime, timedelta
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from lightplan.calibrate import calibrate
from lightplan.calibrate_loggers import logged_readings
from lightplan.calibrated import calibrated, with_found
from lightplan.cli import Exit, main
from lightplan.clock import grid_over
from lightplan.house.kept import kept_house_light
from lightplan.house.losses import DIRT_GATHERS_DAYS, _calibration
from lightplan.learn.calibration import from_json, to_json
from lightplan.learned import dimmed_houses
from lightplan.measured_light import held_against, shares
from lightplan.records_learned import calibration_in_use
from lightplan.records_readings import readings
from lightplan.report.learned_words import measured_words
from lightplan.site.models import Measured
from lightplan.site.read import load_site
from lightplan.sky import make_sky
from lightplan.weather.table import empty_table
from tests.small_site import write_small_site

NOW = "2026-03-12T20:00"
TRUE = 0.8


@pytest.fixture(scope="module")
def traced(tmp_path_factory) -> Path:
    """The small site's house, traced once."""
    folder = write_small_site(tmp_path_factory.mktemp("traced"))
    kept_house_light(load_site(folder).site.house("glass"), folder / "cache")
    return folder / "cache"


@pytest.fixture
def folder(tmp_path: Path, traced: Path) -> Path:
    shutil.copytree(traced, tmp_path / "site" / "cache")
    return write_small_site(tmp_path / "site")


def read_house(folder: Path, factor: float = TRUE, days: tuple[int, ...] = (2, 5, 9)) -> None:
    """Pairs that show `factor` times what the model gives, exactly."""
    site = load_site(folder).site
    lights = {"glass": kept_house_light(site.house("glass"), folder / "cache")}
    for day in days:
        at = datetime(2026, 3, day, 12, 10, tzinfo=site.timezone)
        house = site.house("glass")
        held = held_against(site, house=house, bench=None, at=at, outside_umol=700.0, lights=lights)
        inside = f"{700 * held.share * factor:.3f}"
        words = ("light", "--house", "glass", "--inside", inside, "--outside", "700", "--spots", "5")
        at_words = ("--at", at.replace(tzinfo=None).isoformat()[:16], "--now", NOW)
        assert main(["reading", str(folder), *words, *at_words]) == Exit.DONE


def run(folder: Path, capsys, *words: str) -> dict:
    capsys.readouterr()
    assert (
        main(["calibrate", str(folder), "--format", "json", "--out", "-", "--now", NOW, *words]) == Exit.DONE
    )
    return json.loads(capsys.readouterr().out)


def sheet(folder: Path, capsys, day: str = "2026-03-13") -> dict:
    capsys.readouterr()
    words = ("--now", f"{day}T05:30", "--format", "json", "--out", "-", "--steps")
    assert main(["morning", str(folder), *words]) == Exit.DONE
    return json.loads(capsys.readouterr().out)


def test_a_factor_reaches_the_sheet_and_is_taken_back(folder, capsys):
    before = sheet(folder, capsys)
    read_house(folder)
    found = run(folder, capsys)
    glass = found["houses"][0]["factor"]
    assert glass["used"]
    assert glass["low"] < TRUE < glass["high"]
    after = sheet(folder, capsys)
    for old, new in zip(before["benches"], after["benches"], strict=True):
        assert new["transmission"] / old["transmission"] == pytest.approx(glass["middle"], rel=1e-3)
    assert after["learned"]["calibration"]["houses"][0]["id"] == "glass"
    assert main(["calibrate", str(folder), "--undo"]) == Exit.DONE
    again = sheet(folder, capsys)
    assert again["learned"]["calibration"] is None
    assert [b["transmission"] for b in again["benches"]] == [b["transmission"] for b in before["benches"]]
    assert main(["calibrate", str(folder), "--undo"]) == Exit.WRONG_INPUT
    assert "none to take back" in capsys.readouterr().err


def test_undo_uses_the_one_before_again(folder, capsys):
    read_house(folder)
    first = run(folder, capsys)["houses"][0]["factor"]["middle"]
    assert main(["reading", str(folder), "strike", "1", "--why", "shadow", "--now", NOW]) == Exit.DONE
    second = run(folder, capsys)["houses"][0]["factor"]["middle"]
    assert second != first
    main(["calibrate", str(folder), "--undo"])
    kept = calibration_in_use(folder)
    assert kept is not None
    assert kept["houses"][0]["factor"]["middle"] == pytest.approx(first, abs=1e-4)


def test_a_trial_changes_nothing(folder, capsys):
    read_house(folder)
    assert run(folder, capsys, "--try")["in_use"] is False
    assert calibration_in_use(folder) is None


def test_nothing_is_concluded_from_nothing(folder, capsys):
    found = run(folder, capsys)
    glass = found["houses"][0]["factor"]
    assert (glass["used"], glass["why_not"]) == (False, "no reading yet")
    assert (glass["prior_low"], glass["prior_high"]) == pytest.approx((glass["low"], glass["high"]))
    assert found["next_reading"] == "clear noon, glass, five spots inside and one look outside"


def test_houses_and_lamps_are_calibrated_too(folder, capsys):
    read_house(folder)
    words = ("lamps", "--bench", "plugs", "--value", "60", "--spots", "5", "--at", "2026-03-09T22:00")
    assert main(["reading", str(folder), *words, "--now", NOW]) == Exit.DONE
    found = run(folder, capsys)
    lamps = next(row["factor"] for row in found["lamps"] if row["bench"] == "plugs")
    assert lamps["low"] < 60 / 80 * 1.05
    assert lamps["used"]
    site = calibrated(load_site(folder).site).site
    assert site.benches[0].lamps is not None
    assert site.benches[0].lamps.ppfd_umol_m2_s == pytest.approx(80 * lamps["middle"], rel=1e-3)
    assert site.benches[1].lamps is not None
    assert site.benches[1].lamps.ppfd_umol_m2_s == 60
    assert main(["houses", str(folder), "--year", "2026", "--out", "-"]) == Exit.DONE
    told = json.loads(capsys.readouterr().out)
    assert told["houses"][0]["calibrated"] is True


def test_a_wash_takes_the_soil_away_but_not_the_level(folder):
    site = load_site(folder).site
    measured = Measured(math.log(0.9), math.log(0.95), 0.0, math.log(0.8), date(2026, 1, 1), date(2026, 3, 1))

    def share(washed: date | None, day: date) -> float:
        return _calibration(replace(site.house("glass"), washed=washed, measured=measured), day)

    assert share(None, date(2026, 3, 10)) == pytest.approx(0.9 * 0.95 * 0.8)
    assert share(date(2026, 3, 5), date(2026, 3, 5)) == pytest.approx(0.9)
    late = date(2026, 3, 5) + timedelta(days=DIRT_GATHERS_DAYS)
    assert share(date(2026, 3, 5), late) == pytest.approx(0.9 * 0.95)


def edit(folder: Path, old: str, new: str) -> None:
    path = folder / "site.toml"
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


def test_a_factor_holds_for_the_house_as_it_was_told(folder, capsys):
    """A grower who corrects site.toml by what was measured would else have it twice."""
    read_house(folder)
    lamps = ("lamps", "--bench", "plugs", "--value", "60", "--spots", "5", "--at", "2026-03-09T22:00")
    assert main(["reading", str(folder), *lamps, "--now", NOW]) == Exit.DONE
    run(folder, capsys)
    edit(folder, 'id = "glass"', 'id = "glass"\nname = "The old one"')
    edit(folder, 'glazing = "single-glass"', 'glazing = "single-glass"\nvent_at_c = 22\nwashed = 2025-11-01')
    still = calibrated(load_site(folder).site)
    assert still.trouble is None  # a name, a temperature and a wash are no other house
    assert still.site.houses[0].measured is not None
    edit(folder, 'glazing = "single-glass"', 'glazing = "single-glass"\ndirt_loss = 0.2')
    edit(folder, "ppfd = 80", "ppfd = 61")
    in_use = calibrated(load_site(folder).site)
    assert in_use.site.houses[0].measured is None
    assert [b.lamps.ppfd_umol_m2_s for b in in_use.site.benches if b.lamps] == [61, 60]
    assert "tells house 'glass', the lamps of bench 'plugs' otherwise than when" in str(in_use.trouble)
    made = sheet(folder, capsys)
    assert made["learned"]["calibration"]["houses"] == []
    assert made["learned"]["calibration"]["lamps"] == []
    assert in_use.found is not None
    assert "Not used: The old one and lamps of plugs (site.toml has changed since 12 March, so run" in (
        measured_words(in_use.site, in_use.found)
    )
    run(folder, capsys)
    assert calibrated(load_site(folder).site).trouble is None


def test_what_if_is_told_with_the_same_factors_beside_today(folder, capsys):
    read_house(folder)
    run(folder, capsys)
    words = ("--year", "2026", "--what-if", "house.glass.dirt_loss=0.2", "--out", "-")
    assert main(["houses", str(folder), *words]) == Exit.DONE
    told = json.loads(capsys.readouterr().out)
    assert told["houses"][0]["calibrated"] is True
    assert told["what_if"]["calibrated"] is True


def test_a_house_corrected_in_the_site_file_has_not_gone_dim(folder, capsys):
    """Its readings are all held against the house as it is told now, not each as it was told then."""
    edit(folder, 'glazing = "single-glass"', 'glazing = "single-glass"\nframe_loss = 0.4')
    read_house(folder, 1.0, days=(2, 4, 5))
    edit(folder, "frame_loss = 0.4", "frame_loss = 0.1")
    read_house(folder, 0.6 / 0.9, days=(8, 9, 11))  # the same light as before
    site = load_site(folder).site
    lights = {"glass": kept_house_light(site.house("glass"), folder / "cache")}
    now = datetime.fromisoformat(NOW).replace(tzinfo=site.timezone)
    assert dimmed_houses(site, now.date(), now, lights) == ()
    rows = readings(folder)
    ratios = [row.detail["inside_umol"] / row.detail["share"] for row in rows]
    assert ratios[-1] / ratios[0] < 0.7  # as they were kept, the house would have gone dim at once


def test_records_that_cannot_be_read_cost_the_factors_not_the_sheet(folder, capsys):
    read_house(folder)
    run(folder, capsys)
    with sqlite3.connect(folder / "records.db") as db:
        db.execute("UPDATE calibration SET found_json = '{\"houses\": 3}'")
    found = calibrated(load_site(folder).site)
    assert found.found is None
    assert "run lightplan calibrate again" in str(found.trouble)
    assert sheet(folder, capsys)["learned"]["calibration"] is None


def test_a_calibration_survives_its_json(folder, capsys):
    read_house(folder)
    site = load_site(folder).site
    found = calibrate(site, datetime.fromisoformat(NOW).replace(tzinfo=site.timezone))
    again = from_json(json.loads(json.dumps(to_json(found))))
    assert again.houses[0].factor.middle == pytest.approx(found.houses[0].factor.middle, abs=1e-5)
    assert with_found(site, again).houses[0].measured == again.houses[0].measured


def test_pages_are_made(folder, capsys, tmp_path):
    read_house(folder)
    words = ("--format", "html,json", "--out", str(tmp_path / "out"), "--now", NOW)
    assert main(["calibrate", str(folder), *words]) == Exit.DONE
    page = (tmp_path / "out" / "calibrate-2026-03-12.html").read_text(encoding="utf-8")
    assert "% less than reckoned" in page
    assert "What to read next" in page


# Light as measured by two sensors of different kinds, and the place (manifest of the measured sets beside the
# checkout). The stamps are ends of intervals; half of one earlier is their middle.
MEASURED = [
    ("helsinki_viikki_par_2015-08-22_10min.csv", "ppfd_licor_umol_m2_s", 60.224, 25.021, 5, "2015-09-02"),
    ("ameriflux_us-crt_2011-01-01_30min.csv", "ppfd_umol_m2_s", 41.6285, -83.3471, 15, "2011-01-09"),
]


@pytest.mark.parametrize(("name", "column", "latitude", "longitude", "half_min", "now"), MEASURED)
def test_a_factor_is_found_between_a_real_pyranometer_and_a_real_par_sensor(
    shared, folder, name, column, latitude, longitude, half_min, now
):
    """Outside the measured global light in W/m², inside the measured PAR × the model's share × 0.85."""
    text = (folder / "site.toml").read_text(encoding="utf-8")
    text = text.replace("52.5", str(latitude)).replace("13.4", str(longitude))
    text = text.replace("Europe/Berlin", "Europe/Helsinki" if longitude > 0 else "America/New_York")
    (folder / "site.toml").write_text(text.replace("2026-01-01", "2010-01-01"), encoding="utf-8")
    site = load_site(folder).site
    with (shared / "weather" / "measured" / name).open(encoding="utf-8") as file:
        rows = [
            (pd.Timestamp(r["end_utc"]) - pd.Timedelta(minutes=half_min), r["ghi_w_m2"], r[column])
            for r in csv.DictReader(file)
            if r["ghi_w_m2"] and r[column]
        ]
    times = pd.DatetimeIndex([at for at, *_ in rows])
    ghi = pd.Series([max(float(g), 0.0) for _, g, _ in rows], index=times)
    ppfd = pd.Series([max(float(p), 0.0) for *_, p in rows], index=times)
    dates = sorted(set(times.tz_convert(site.timezone).date))
    grid = grid_over(dates[0], len(dates), site.timezone)
    table = empty_table(pd.date_range(grid.times[0].floor("h"), grid.times[-1].ceil("h"), freq="h"))
    table["ghi_w_m2"] = ghi.groupby(times.floor("h")).mean().reindex(table.index).fillna(0.0)
    table["temp_air_c"], table["snow_m"] = 15.0, 0.0
    sky = make_sky(site, table, grid)
    lights = {"glass": kept_house_light(site.house("glass"), folder / "cache")}
    share = shares(site, sky, grid=grid, house=site.house("glass"), bench=None, lights=lights)
    at = np.clip(np.asarray(grid.times.searchsorted(times, side="right")) - 1, 0, len(grid) - 1)
    inside = ppfd * share[at] * 0.85
    for where, values, unit in (("--outdoors", ghi, "w"), ("--house=glass", inside, "umol")):
        path = folder / f"{unit}.csv"
        path.write_text(
            "time,light\n" + "".join(f"{t.isoformat()},{v:.3f}\n" for t, v in values.items()), "utf-8"
        )
        words = ("import", str(path), where, "--quantity", "light", "--unit", unit, "--confirm")
        assert main(["reading", str(folder), *words, "--now", f"{now}T20:00"]) == Exit.DONE
    local_now = datetime.fromisoformat(f"{now}T20:00").replace(tzinfo=site.timezone)
    held = logged_readings(
        site, readings(folder), washes={"glass": ()}, lights=lights, today=local_now.date()
    )
    ratios = [h.reading.inside_umol / h.reading.outside_umol / h.share for h in held]
    assert len(ratios) >= 5
    # two sensors of unlike kinds: 2.018 µmol per joule is said to hold to ±4 %
    assert np.mean(ratios) == pytest.approx(0.85, rel=0.06)
    factor = calibrate(site, local_now).houses[0].factor
    assert factor.used
    assert factor.low < 0.85 < factor.high
    assert factor.middle < 0.96
