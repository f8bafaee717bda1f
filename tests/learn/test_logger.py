"""A logger's CSV: columns and clock shown, zone asked, and its clock held against the sun."""

from __future__ import annotations

import csv
from dataclasses import replace
from datetime import datetime, timedelta, timezone
from itertools import pairwise
from pathlib import Path
from zoneinfo import ZoneInfo

import pandas as pd
import pytest

from lightplan.cli import Exit, main
from lightplan.clock import grid_over
from lightplan.light import daily_light_integral
from lightplan.logger_entry import lag_min, of_rows
from lightplan.observed import filled_day, observed_day
from lightplan.records_readings import New, add_readings, logged_values, readings
from lightplan.site.models import Site
from lightplan.site.read import load_site
from lightplan.sky import make_sky
from lightplan.weather.clear_sky import clear_sky_ghi
from tests.small_site import write_small_site

NOW = ("--now", "2026-03-09T20:00")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return write_small_site(tmp_path / "site")


def dull_week(site: Site, *, shift_h: float = 0.0, summer: bool = False) -> list[tuple[datetime, float]]:
    """A logger's quarter hours under broken cloud (factors of our own), by a clock set wrong by so much."""
    steps = pd.date_range("2026-03-02T00:00Z", "2026-03-06T00:00Z", freq="15min", inclusive="left")
    ghi = clear_sky_ghi(site, steps, pd.Timedelta(minutes=15)).to_numpy()
    cloud = [0.25, 0.9, 0.4, 1.0, 0.3, 0.7, 0.55]
    zone = timezone(timedelta(hours=1 + shift_h))
    return [
        (at.to_pydatetime().astimezone(zone).replace(tzinfo=None), value * cloud[n // 3 % 7] * 110)
        for n, (at, value) in enumerate(zip(steps, ghi, strict=True))
    ]


def write(folder: Path, rows: list[tuple[datetime, float]], form: str = "%d.%m.%Y %H:%M") -> Path:
    path = folder / "logger.csv"
    with path.open("w", encoding="utf-8") as file:
        file.write("Logger 7, roof\nDate-Time;Light [lux];Temp [°C]\n")
        file.writelines(f"{at:{form}};{value:.0f};12\n" for at, value in rows)
    return path


def bring(folder: Path, path: Path, *words: str) -> int:
    given = ("--outdoors", "--quantity", "light", "--unit", "lux", *NOW, *words)
    return main(["reading", str(folder), "import", str(path), *given])


def test_guessed_shown_and_stored_only_when_confirmed(folder, capsys):
    path = write(folder, dull_week(load_site(folder).site))
    assert bring(folder, path) == Exit.WRONG_INPUT
    assert "carry no zone" in capsys.readouterr().err
    assert bring(folder, path, "--zone", "+01:00") == Exit.WRONG_INPUT
    told = capsys.readouterr().err
    assert "times from 'Date-Time', values from 'Light [lux]'" in told
    assert "say it again with --confirm" in told
    assert readings(folder) == ()
    assert bring(folder, path, "--zone", "site", "--confirm") == Exit.DONE
    (row,) = readings(folder)
    assert row.detail["rows"] == 384 == len(logged_values(folder, row.number))
    assert bring(folder, path, "--zone", "site", "--confirm") == Exit.WRONG_INPUT
    other = path.rename(folder / "other.csv")
    assert bring(folder, other, "--zone", "site", "--confirm") == Exit.WRONG_INPUT
    assert "all of it stands already as reading 1" in capsys.readouterr().err


def test_the_old_with_the_new_brings_the_new_alone(folder, capsys):
    """As loggers hand out all they hold: what stands already is told and left, what differs is refused."""
    rows = dull_week(load_site(folder).site)
    assert bring(folder, write(folder, rows[:250]), "--zone", "site", "--confirm") == Exit.DONE
    capsys.readouterr()
    assert bring(folder, write(folder, rows), "--zone", "site", "--confirm") == Exit.DONE
    assert "250 of its rows stand already as reading 1" in capsys.readouterr().err
    first, second = readings(folder)
    assert (first.detail["rows"], second.detail["rows"]) == (250, len(rows) - 250)
    assert len(logged_values(folder, second.number)) == len(rows) - 250
    assert second.detail["first"] > first.detail["last"]
    other = [(at, value * 0.9) for at, value in rows]
    assert bring(folder, write(folder, other), "--zone", "site", "--confirm") == Exit.WRONG_INPUT
    assert "not the same with more after it" in capsys.readouterr().err
    assert len(readings(folder)) == 2


@pytest.mark.parametrize("shift_h", [1.0, -1.0])
def test_a_clock_an_hour_off_is_found_by_the_sun(folder, capsys, shift_h):
    path = write(folder, dull_week(load_site(folder).site, shift_h=shift_h))
    assert bring(folder, path, "--zone", "+01:00", "--confirm") == Exit.WRONG_INPUT
    told = capsys.readouterr().err
    assert f"1 h {'behind' if shift_h > 0 else 'ahead of'} the sun" in told
    assert readings(folder) == ()
    assert (
        bring(folder, path, "--zone", "+01:00", "--shift-min", f"{-60 * shift_h}", "--confirm") == Exit.DONE
    )


def test_night_called_day_is_found(folder, capsys):
    path = write(folder, dull_week(load_site(folder).site, shift_h=11.0))
    assert bring(folder, path, "--zone", "+01:00", "--confirm") == Exit.WRONG_INPUT
    assert "11 h behind the sun" in capsys.readouterr().err


def spring_days(site: Site, zone: timezone | ZoneInfo, first: str, last: str) -> list[tuple[datetime, float]]:
    """Clear quarter hours over a change of the site's clock, as a logger of so set a clock writes them."""
    steps = pd.date_range(first, last, freq="15min", inclusive="left")
    ghi = clear_sky_ghi(site, steps, pd.Timedelta(minutes=15)).to_numpy()
    return [
        (at.to_pydatetime().astimezone(zone).replace(tzinfo=None), value * 110)
        for at, value in zip(steps, ghi, strict=True)
    ]


def test_a_logger_that_keeps_no_summer_time_is_found_out(folder, capsys):
    """Germany's clocks go forward on 29 March 2026 at 02:00: a time between is none by the site's clock; and
    where no row lies there, the days after it run an hour ahead of the sun."""
    site = load_site(folder).site
    rows = spring_days(site, timezone(timedelta(hours=1)), "2026-03-23T00:00Z", "2026-04-03T00:00Z")
    late = ("--zone", "site", "--confirm", "--now", "2026-04-09T20:00")
    assert bring(folder, write(folder, rows), *late) == Exit.WRONG_INPUT
    assert "29.03.2026 02:00 never was by a clock with summer time" in capsys.readouterr().err
    by_day = [(at, v) for at, v in rows if 5 <= at.hour < 20]
    assert bring(folder, write(folder, by_day), *late) == Exit.WRONG_INPUT
    told = capsys.readouterr().err
    assert "from 2026-03-29 on: its light runs about 1 h ahead of the sun" in told
    assert readings(folder) == ()
    assert bring(folder, write(folder, by_day), "--zone", "+01:00", *late[2:]) == Exit.DONE


def test_an_hour_that_comes_twice_is_told_by_the_order_of_its_rows(folder):
    """Clocks go back on 26 October 2025 at 03:00."""
    site = load_site(folder).site
    rows = spring_days(site, site.timezone, "2025-10-24T00:00Z", "2025-10-29T00:00Z")
    assert bring(folder, write(folder, rows), "--zone", "site", "--confirm") == Exit.DONE
    (row,) = readings(folder)
    kept = [at for at, _ in logged_values(folder, row.number)]
    assert {b - a for a, b in pairwise(kept)} == {timedelta(minutes=15)}


@pytest.mark.parametrize(("on", "off"), [(4, 9), (17, 21)])
def test_lamps_do_not_pass_for_a_dawn_or_dusk(folder, capsys, on, off):
    """A logger on a lit bench: 80 µmol of lamps beside half of a dull sun."""
    rows = [
        (at, value * 0.5 + (80 * 54 if on <= at.hour < off else 0))  # lux of sunlight, Thimijan & Heins 1983
        for at, value in dull_week(load_site(folder).site)
    ]
    path = write(folder, rows)
    given = ("--quantity", "light", "--unit", "lux", "--zone", "site", "--confirm", *NOW)
    into = ["reading", str(folder), "import", str(path)]
    assert main([*into, "--outdoors", *given]) == Exit.WRONG_INPUT  # as it would be taken without lamps
    assert "the sun of this place" in capsys.readouterr().err
    assert main([*into, "--outdoors", *given, "--trust-clock"]) == Exit.DONE
    assert main([*into, "--bench", "plugs", *given]) == Exit.DONE


@pytest.mark.parametrize("gap", ["NaN", "n/a", "--", ""])
def test_gaps_are_left_out_however_they_are_written(folder, gap):
    path = write(folder, dull_week(load_site(folder).site))
    lines = path.read_text(encoding="utf-8").splitlines()
    lines[40] = f"{lines[40].split(';')[0]};{gap};12"
    path.write_text("\n".join(lines), encoding="utf-8")
    assert bring(folder, path, "--zone", "site", "--confirm") == Exit.DONE
    assert readings(folder)[0].detail["rows"] == 383


def test_a_number_that_stands_for_a_gap_is_no_darkness(folder, capsys):
    rows = dull_week(load_site(folder).site)
    path = write(folder, [*rows[:40], (rows[40][0], -9999), *rows[41:]])
    assert bring(folder, path, "--zone", "site", "--confirm") == Exit.WRONG_INPUT
    assert "-9999, which is no light" in capsys.readouterr().err
    words = ("--house", "glass", "--quantity", "temperature", "--unit", "c", "--value", "Light [lux]")
    given = (*words, "--zone", "site", "--confirm", *NOW)
    assert main(["reading", str(folder), "import", str(path), *given]) == Exit.WRONG_INPUT
    assert "-9999, which is no temperature" in capsys.readouterr().err
    assert readings(folder) == ()


def test_day_first_or_month_first_is_asked(folder, capsys):
    site = load_site(folder).site
    path = write(folder, dull_week(site), "%m/%d/%Y %H:%M")
    assert bring(folder, path, "--zone", "site", "--confirm") == Exit.WRONG_INPUT
    assert "day first or month first" in capsys.readouterr().err


BROKEN = [
    ("no header\n1;2\n" * 9, "no line of column names"),
    ("time;lux\n2026-03-02 10:00;5\n", "the least"),
    ("time;lux\n" + "2026-03-02 10:00;5\n" * 9, "twice"),
    ("time;lux\n" + "".join(f"2026-03-02 {h:02}:00;x{h}\n" for h in range(9)), "no column of numbers"),
    ("time;a;b\n" + "".join(f"2026-03-02 {h:02}:00;1;2\n" for h in range(9)), "several columns"),
    ("time;lux\n" + "".join(f"2026-03-02 {h:02}:00;{h}000000\n" for h in range(9)), "more than the sun"),
    ("time;lux\n" + "".join(f"2026-03-02 {h:02}:00;5\n" for h in range(9, 0, -1)), "sort the rows by time"),
]


@pytest.mark.parametrize(("text", "said"), BROKEN)
def test_broken_files_are_told_in_one_sentence(folder, capsys, text, said):
    path = folder / "log.csv"
    path.write_text(text, encoding="utf-8")
    assert bring(folder, path, "--zone", "site", "--confirm") == Exit.WRONG_INPUT
    told = capsys.readouterr().err.strip()
    assert said in told
    assert len(told.splitlines()) == 1
    assert readings(folder) == ()


# Places and measured light: manifest of the measured sets beside the checkout; intervals are labelled by
# their ends, so the middle lies half an interval earlier.
MEASURED = [
    ("helsinki_viikki_par_2015-08-22_10min.csv", "ppfd_licor_umol_m2_s", 60.224, 25.021, 5),
    ("ameriflux_us-crt_2011-01-01_30min.csv", "ppfd_umol_m2_s", 41.6285, -83.3471, 15),
]


@pytest.mark.parametrize("off_h", [0, 1, -1])
@pytest.mark.parametrize(("name", "column", "latitude", "longitude", "half_min"), MEASURED)
def test_measured_light_as_a_logger_would_give_it(
    shared, folder, name, column, latitude, longitude, half_min, off_h
):
    path = shared / "weather" / "measured" / name
    with path.open(encoding="utf-8") as file:
        rows = [
            (datetime.fromisoformat(r["end_utc"]) - timedelta(minutes=half_min), float(r[column]))
            for r in csv.DictReader(file)
            if r[column]
        ][: 10 * 144]
    site = replace(load_site(folder).site, latitude=latitude, longitude=longitude)
    found = lag_min(site, [(at + timedelta(hours=off_h), max(value, 0.0)) for at, value in rows])
    assert found == pytest.approx(60 * off_h, abs=15)


@pytest.mark.parametrize(("name", "column", "latitude", "longitude", "half_min"), MEASURED)
def test_light_of_a_day_is_what_the_par_sensor_outdoors_says(
    shared, folder, name, column, latitude, longitude, half_min
):
    """Measured PAR goes through the models' joules and comes out again, under dull skies too; the measured
    global light of the same roof stands beside it."""
    with (shared / "weather" / "measured" / name).open(encoding="utf-8") as file:
        rows = [
            (
                datetime.fromisoformat(r["end_utc"]) - timedelta(minutes=half_min),
                max(float(r[column]), 0.0),
                float(r["ghi_w_m2"]),
            )
            for r in csv.DictReader(file)
            if r[column] and r["ghi_w_m2"]
        ]
    site = replace(load_site(folder).site, latitude=latitude, longitude=longitude)
    kept = New("log", rows[0][0], None, None, {"quantity": "light", "unit": "umol"})
    kept = of_rows(kept, tuple((at, ppfd) for at, ppfd, _ in rows))
    add_readings(folder, [kept], rows[-1][0])
    off, watts = [], []
    days = sorted({at.astimezone(site.timezone).date() for at, *_ in rows})
    for day in days[1:-1]:
        seen = observed_day(site, day, None)
        of_day = [row for row in rows if row[0].astimezone(site.timezone).date() == day]
        if seen is None or len(of_day) * half_min * 2 < 1440:
            continue
        grid = grid_over(day, 1, site.timezone)
        sky = make_sky(site, filled_day(site, day, seen, None), grid)
        off.append(float(daily_light_integral(sky.ppfd_umol_m2_s, grid)[0]) / sum(p for _, p, _ in of_day))
        watts.append(float(seen.table["ghi_w_m2"].mean()) / (sum(w for *_, w in of_day) / len(of_day)))
    assert len(off) >= 4
    per_mol = 1e6 / (half_min * 120)
    assert [ratio * per_mol for ratio in off] == pytest.approx([1.0] * len(off), rel=0.02)
    assert sum(watts) / len(watts) == pytest.approx(1.0, rel=0.06)  # two sensors of unlike kinds
