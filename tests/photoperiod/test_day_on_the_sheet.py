"""Day length from site file to sheet: what is ordered, what plants then see, what is said."""

from __future__ import annotations

import json
from datetime import date, datetime, timedelta
from typing import Any

import numpy as np
import pytest

from lightplan.cli import main
from tests.photoperiod.sheets import Row, bench, orders, sheet, write
from tests.photoperiod.test_twilight import their_night
from tests.places import bare_site

CLOTH = 'covers = ["blackout-cloth"]'
LAMPS = "lamps = { ppfd = 80, power_kw = 0.6{more} }"
SHORT, LONG, NEUTRAL = "marigold_african", "rudbeckia_hirta", "tomato"
MAY, JANUARY = date(2026, 5, 12), date(2026, 1, 20)  # both Tuesdays


def lamps(more: str = "") -> str:
    return LAMPS.replace("{more}", more)


def moments(pairs: list[Any]) -> list[tuple[float, float]]:
    return [tuple(datetime.fromisoformat(t).timestamp() for t in pair) for pair in pairs]


def seen_by_hand(document: dict[str, Any], name: str, angle_deg: float) -> float:
    """24 less the longest dark from noon to noon, minute by minute, with another ephemeris's twilight."""
    found, day = bench(document, name), date.fromisoformat(document["date"])
    place = document["site"]
    site = bare_site(place["latitude"], place["longitude"], document["timezone"])
    night = their_night(site, day, angle_deg)
    start = datetime.fromisoformat(f"{day}T12:00:00").replace(tzinfo=site.timezone).timestamp()
    minute = start + 60 * np.arange(1440) + 30
    dark = (minute > night[0]) & (minute < night[1]) if night else np.zeros(1440, dtype=bool)
    for on, off in moments(found["lamps"]["earlier"] + found["lamps"]["intervals"]):
        dark &= ~((minute > on) & (minute < off))
    for on, off in moments([[c["on"], c["off"]] for c in found["covers"]]):
        dark |= (minute > on) & (minute < off)
    best = run = 0
    for one in dark:
        run = run + 1 if one else 0
        best = max(best, run)
    return 24 - best / 60


@pytest.mark.parametrize(
    ("row", "day", "angle_deg"),
    [
        (Row("one", SHORT, CLOTH), MAY, -6.0),
        (Row("one", SHORT, CLOTH), JANUARY, -6.0),
        (Row("one", SHORT, lamps()), JANUARY, -6.0),
        (Row("one", SHORT, lamps(), stage="seedling"), JANUARY, -6.0),
        (Row("one", LONG, lamps()), JANUARY, -4.0),
        (Row("one", LONG, lamps()), date(2026, 3, 10), -4.0),
        (Row("one", NEUTRAL, ""), MAY, -4.0),
        (Row("one", NEUTRAL, lamps(), stage="seedling"), JANUARY, -4.0),
    ],
)
def test_photoperiod_is_what_is_ordered(tmp_path, row, day, angle_deg):
    """The design's definition against PyEphem's twilight and a count of minutes: to two minutes."""
    document = sheet(write(tmp_path, row), day)
    assert bench(document, "one")["photoperiod_h"] == pytest.approx(
        seen_by_hand(document, "one", angle_deg), abs=2 / 60
    )


def test_a_short_day_in_may_is_made_by_a_cover_in_crew_hours(tmp_path):
    folder = write(tmp_path, Row("one", SHORT, CLOTH), clear=0.5)
    document = sheet(folder, MAY)
    (on,) = orders(document, "one", "cover", "uncover")
    assert (on["action"], on["time"][11:16], on["until"][:16]) == (
        "cover",
        "18:00",
        f"{MAY + timedelta(1)}T06:30",
    )
    assert on["why"]["rule"] == "short-day"
    assert on["why"]["limit"] == 12
    assert on["certainty"] == "sure"
    assert bench(document, "one")["photoperiod_h"] == pytest.approx(11.5)
    after = sheet(folder, MAY + timedelta(days=1))
    off, again = orders(after, "one", "cover", "uncover")
    assert (off["action"], off["time"][11:16]) == ("uncover", "06:30")
    assert (again["action"], again["time"][11:16]) == ("cover", "18:00")
    first, second = bench(after, "one")["covers"]
    assert first["on"] == bench(document, "one")["covers"][0]["on"]  # its true time
    assert bench(after, "one")["dli"]["sun"] < bench(after, "one")["dli"]["sun_open"]
    assert second["off"][:10] == str(MAY + timedelta(days=2))


def test_winter_needs_no_cover(tmp_path):
    document = sheet(write(tmp_path, Row("one", SHORT, CLOTH)), JANUARY)
    assert orders(document, "one", "cover") == []
    assert bench(document, "one")["photoperiod_h"] < 12


def test_no_cover_before_a_day_off_and_the_sheet_says_so(tmp_path):
    folder = write(
        tmp_path, Row("one", SHORT, CLOTH), clear=0.5, more=f"days_off = [{MAY + timedelta(days=1)}]"
    )
    document = sheet(folder, MAY)
    assert orders(document, "one", "cover") == []
    assert "nobody is there in time" in " ".join(bench(document, "one")["notes"])


def test_without_a_cover_it_is_told_what_would_do(tmp_path):
    document = sheet(write(tmp_path, Row("one", SHORT)), MAY)
    words = " ".join(bench(document, "one")["notes"])
    assert "African marigold wants a day of 12 h at most" in words
    assert "a dark cover 18:00–06:30 would make it short" in words


def test_lamps_for_light_keep_a_short_day_short(tmp_path):
    """The same lamps light a day-neutral crop on into the night."""
    dull = {"clear": 0.25}
    short = sheet(write(tmp_path / "s", Row("one", SHORT, lamps()), **dull), JANUARY)
    free = sheet(write(tmp_path / "f", Row("one", NEUTRAL, lamps()), **dull), JANUARY)
    assert bench(short, "one")["photoperiod_h"] <= 12 + 1 / 60
    assert bench(short, "one")["photoperiod_h"] > 11
    assert bench(free, "one")["photoperiod_h"] > 14
    assert "because of the dark the crop needs" in " ".join(bench(short, "one")["notes"])


def test_a_long_day_is_drawn_out_where_the_sun_is_enough(tmp_path):
    """No lamp is wanted for light: the hours that the day lacks, and no more than a quarter hour over."""
    day = date(2026, 4, 8)
    document = sheet(write(tmp_path, Row("one", "petunia", lamps())), day)
    (order,) = orders(document, "one", "set-timer")
    assert order["why"]["rule"] == "long-day"
    found = bench(document, "one")
    assert 14 <= found["photoperiod_h"] <= 14.27
    assert found["lamps"]["hours"] == pytest.approx(14 - order["why"]["value"], abs=0.27)


def test_lamps_stay_off_once_the_day_is_long_by_itself(tmp_path):
    document = sheet(write(tmp_path, Row("one", "petunia", lamps())), date(2026, 6, 10))
    assert bench(document, "one")["lamps"]["intervals"] == []
    assert bench(document, "one")["photoperiod_h"] > 14


def test_a_short_winter_day_is_broken_in_the_middle_of_its_night(tmp_path):
    """46 N in January, a crop of little need: more than 4 h are lacking, 4 h in the night do as well."""
    own = "[crop.rudbeckia_hirta.finishing]\nminimum = 1\ntarget = 2\n"
    folder = write(tmp_path, Row("one", LONG, lamps(), more=own), latitude=46.0)
    document = sheet(folder, JANUARY)
    (order,) = orders(document, "one", "set-timer")
    assert order["why"]["rule"] == "night-break"
    ((on, off),) = moments(bench(document, "one")["lamps"]["intervals"])
    dusk, dawn = their_night(bare_site(46.0, -75.0, "America/New_York"), JANUARY, -4.0)
    assert off - on == 4 * 3600
    assert abs((on + off) / 2 - (dusk + dawn) / 2) <= 450 + 60  # to the quarter hour
    assert bench(document, "one")["photoperiod_h"] > 18


def test_a_night_lit_by_turns_costs_a_fifth(tmp_path):
    own = "[crop.petunia.finishing]\nminimum = 1\ntarget = 2\n"
    remote = lamps(', switch = "remote"')
    folder = write(tmp_path, Row("one", "petunia", remote, more=own), latitude=46.0)
    document = sheet(folder, JANUARY, "--now", f"{JANUARY}T05:00")
    (order,) = orders(document, "one", "set-timer")
    assert order["what"].endswith("; by night 6 min in every 30.")
    found = bench(document, "one")
    assert found["lamps"]["kwh"] == pytest.approx(4 * 0.6 / 5)
    assert found["photoperiod_h"] > 18


def test_lamp_hours_that_bar_the_night_are_told(tmp_path):
    keys = lamps() + '\nlamp_hours = ["08:00", "16:00"]'
    document = sheet(write(tmp_path, Row("one", LONG, keys)), JANUARY)
    assert "lamp hours do not reach into the night" in " ".join(bench(document, "one")["notes"])


def test_a_hand_switched_bench_is_told_to_take_a_timer(tmp_path):
    document = sheet(write(tmp_path, Row("one", LONG, lamps(', switch = "hand"'))), JANUARY)
    assert "put them on a timer" in " ".join(bench(document, "one")["notes"])


def test_held_back_crops_get_the_contrary(tmp_path):
    own = "[crop.marigold_african.finishing]\nflowering = 'hold-back'\n"
    document = sheet(write(tmp_path, Row("one", SHORT, lamps() + "\n" + CLOTH, more=own)), date(2026, 3, 31))
    assert orders(document, "one", "cover") == []
    assert bench(document, "one")["photoperiod_h"] >= 13


PLACES = (
    "place = { across_m = [0, 2], along_m = [0, 6] }",
    "place = { across_m = [3, 5], along_m = [0, 6] }",
)


def test_a_neighbours_lamps_break_a_short_day_and_are_named(tmp_path):
    lit = Row("lit", LONG, lamps() + "\n" + PLACES[0])
    document = sheet(write(tmp_path, lit, Row("one", SHORT, PLACES[1])), JANUARY)
    found = bench(document, "one")
    assert found["photoperiod_h"] > 13
    assert "the rest by lamps of Lit; hang a curtain between" in " ".join(found["notes"])
    alone = sheet(write(tmp_path / "a", Row("one", SHORT, PLACES[1])), JANUARY)
    assert bench(alone, "one")["photoperiod_h"] < 11


def test_a_neighbours_lamps_are_no_matter_where_no_short_day_is_wanted(tmp_path):
    """Their light is a rule of thumb, so it is counted only where it would do harm."""
    lit = Row("lit", LONG, lamps() + "\n" + PLACES[0])
    document = sheet(write(tmp_path, lit, Row("one", NEUTRAL, PLACES[1])), JANUARY)
    assert bench(document, "one")["photoperiod_h"] == pytest.approx(
        seen_by_hand(document, "one", -4.0), abs=2 / 60
    )


def test_a_cover_shuts_the_neighbours_lamps_out(tmp_path):
    lit = Row("lit", LONG, lamps() + "\n" + PLACES[0])
    document = sheet(write(tmp_path, lit, Row("one", SHORT, PLACES[1] + "\n" + CLOTH)), JANUARY)
    assert [o["action"] for o in orders(document, "one", "cover")] == ["cover"]
    assert bench(document, "one")["photoperiod_h"] <= 12


def test_neighbours_whose_place_is_not_known_are_warned_of(tmp_path):
    document = sheet(write(tmp_path, Row("lit", LONG, lamps()), Row("one", SHORT)), JANUARY)
    assert "where the benches stand is not given" in " ".join(bench(document, "one")["notes"])
    assert bench(document, "one")["photoperiod_h"] < 11


def test_yard_light_leaves_no_dark_but_under_a_cover(tmp_path):
    bare = sheet(write(tmp_path / "b", Row("one", SHORT, "stray_ppfd = 0.1")), JANUARY)
    assert bench(bare, "one")["photoperiod_h"] == 24
    assert "0.1 μmol of yard light" in " ".join(bench(bare, "one")["notes"])
    dim = sheet(write(tmp_path / "d", Row("one", SHORT, "stray_ppfd = 0.09")), JANUARY)
    assert bench(dim, "one")["photoperiod_h"] < 11
    covered = sheet(write(tmp_path / "c", Row("one", SHORT, "stray_ppfd = 0.1\n" + CLOTH)), JANUARY)
    assert bench(covered, "one")["photoperiod_h"] <= 12


def test_a_shared_bench_keeps_the_short_day_and_says_so(tmp_path):
    more = f'[[bench.batch]]\ncrop = "{LONG}"\nstage = "finishing"\nfrom = 2026-01-01\nto = 2026-12-31\n'
    document = sheet(write(tmp_path, Row("one", SHORT, lamps(), more=more)), JANUARY)
    assert bench(document, "one")["photoperiod_h"] <= 12 + 1 / 60
    assert "the short day holds" in " ".join(bench(document, "one")["notes"])


def test_a_bench_that_can_not_be_turned_round_is_told_from_noon_to_noon(tmp_path):
    """Without lamps its day is planned as any other, so its dark is that of the night: 9.9 h of day in
    January, where midnight to midnight would find 16 (its turned days: tests/inversion).
    """
    folder = write(tmp_path, Row("one", NEUTRAL, "", stage="seedling"))
    text = (folder / "site.toml").read_text()
    wanted = text.replace('stage = "seedling"', 'stage = "seedling"\nday = "inverted"')
    (folder / "site.toml").write_text(wanted)
    document = sheet(folder, JANUARY)
    found = bench(document, "one")["photoperiod_h"]
    assert found == pytest.approx(seen_by_hand(document, "one", -4.0), abs=2 / 60)
    assert found < 11


@pytest.mark.parametrize("day", [date(2026, 3, 7), date(2026, 3, 8), date(2026, 10, 31), date(2026, 11, 1)])
def test_clock_changes_move_no_dark(tmp_path, day):
    """2026's changes in New York are on 8 March and 1 November; a cover over that night lies 1 h less or
    more.
    """
    document = sheet(write(tmp_path, Row("one", SHORT, CLOTH), Row("two", NEUTRAL)), day)
    for name, angle in (("one", -6.0), ("two", -4.0)):
        found = bench(document, name)["photoperiod_h"]
        assert found == pytest.approx(seen_by_hand(document, name, angle), abs=2 / 60)
    assert bench(document, "one")["photoperiod_h"] <= 12.02


@pytest.mark.parametrize(
    ("latitude", "day", "hours"), [(75.0, date(2026, 6, 20), 24.0), (75.0, date(2026, 12, 20), 0.0)]
)
def test_polar_days_and_nights(tmp_path, latitude, day, hours):
    folder = write(tmp_path, Row("one", NEUTRAL), latitude=latitude, longitude=20.0, zone="Europe/Oslo")
    assert bench(sheet(folder, day), "one")["photoperiod_h"] == pytest.approx(hours, abs=1e-6)


def test_southern_winter_and_leap_day(tmp_path):
    south = {"latitude": -46.0, "longitude": 169.0, "zone": "Pacific/Auckland"}
    july = sheet(write(tmp_path / "s", Row("one", "petunia", lamps()), **south), date(2026, 7, 14))
    assert bench(july, "one")["photoperiod_h"] >= 14
    leap = sheet(write(tmp_path / "l", Row("one", SHORT, CLOTH), year=2028), date(2028, 2, 29))
    assert bench(leap, "one")["photoperiod_h"] == pytest.approx(seen_by_hand(leap, "one", -6.0), abs=2 / 60)


def test_lamps_that_burn_at_the_windows_end_burn_on_to_dawn(tmp_path):
    """52 N in January: dawn comes after the crew. The day promised is the day given, sheet after sheet."""
    own = "[crop.petunia.finishing]\nminimum = 1\ntarget = 2\n"
    keys = lamps() + '\nlamp_hours = ["00:00", "16:00"]'  # mornings alone
    folder = write(
        tmp_path, Row("one", "petunia", keys, more=own), latitude=52.0, longitude=0.0, zone="Europe/London"
    )
    site = bare_site(52.0, 0.0, "Europe/London")
    sheets = [sheet(folder, JANUARY + timedelta(days=n)) for n in range(3)]
    lit = [span for each in sheets for span in moments(bench(each, "one")["lamps"]["intervals"])]
    for n in range(2):
        dusk, dawn = their_night(site, JANUARY + timedelta(days=n), -4.0)
        first = min(on for on, _ in lit if dusk < on < dawn)
        burnt = sum(max(0.0, min(off, dawn) - max(on, first)) for on, off in lit)
        assert burnt == pytest.approx(dawn - first, abs=900)  # without a gap
        assert 24 - (first - dusk) / 3600 == pytest.approx(bench(sheets[n], "one")["photoperiod_h"], abs=0.05)


def test_on_a_day_off_the_timer_goes_on(tmp_path):
    """The timer serves the day off too, whose own sheet counts lamps of the next morning."""
    folder = write(tmp_path, Row("one", LONG, lamps()), more="days_off = [2026-01-21]")
    first, off = sheet(folder, JANUARY), sheet(folder, JANUARY + timedelta(days=1))
    assert off["orders"] == []
    assert bench(off, "one")["photoperiod_h"] == pytest.approx(bench(first, "one")["photoperiod_h"], abs=0.6)
    assert bench(off, "one")["photoperiod_h"] >= 14


def test_a_cover_drawn_in_the_sun_warms_what_is_under_it(tmp_path):
    """Cloth pulled before sunset heats the space beneath (MSU black cloth trials 1994, page)."""
    dark = {"clear": 0.6, "latitude": 52.0, "zone": "Europe/London", "longitude": 0.0}
    covered = sheet(write(tmp_path / "c", Row("one", SHORT, CLOTH), **dark), date(2026, 6, 9), "--steps")
    bare = sheet(write(tmp_path / "b", Row("one", SHORT), **dark), date(2026, 6, 9), "--steps")
    on = covered["steps"]["one"]["time"].index("2026-06-09T18:00:00+01:00")
    under, open_ = (d["steps"]["one"]["temperature_c"] for d in (covered, bare))
    assert under[:on] == open_[:on]
    assert all(a > b + 0.01 for a, b in zip(under[on : on + 4], open_[on : on + 4], strict=True))
    assert covered["steps"]["one"]["sun_ppfd"][on] < 0.01 * bare["steps"]["one"]["sun_ppfd"][on]


def test_nothing_stands_there_nothing_is_seen(tmp_path):
    folder = write(tmp_path, Row("one", NEUTRAL), Row("two", NEUTRAL))
    text = (folder / "site.toml").read_text()
    at = text.rindex("[[bench.batch]]")
    (folder / "site.toml").write_text(text[:at])
    assert bench(sheet(folder, JANUARY), "two")["photoperiod_h"] is None


def test_the_years_page_has_a_line_for_each_crop(tmp_path):
    folder = write(tmp_path, Row("one", SHORT), Row("two", "petunia"), Row("three", NEUTRAL))
    out = tmp_path / "out"
    assert main(["houses", str(folder), "--year", "2026", "--format", "json", "--out", str(out)]) == 0
    document = json.loads(next(out.glob("houses-*.json")).read_text(encoding="utf-8"))
    rows = {row["crop"]: row for row in document["dates"]["day_length"]}
    assert set(rows) == {SHORT, "petunia"}
    # the natural night to -6 degrees is 12 h long at 43 N a fortnight before the equinox of March and after
    # that of September; to -4 degrees it is 10 h long in late April and mid-August (PyEphem, day by day)
    site = bare_site(43.0, -75.0, "America/New_York")
    year = [date(2026, 1, 1) + timedelta(days=n) for n in range(365)]
    for crop, angle, wrong in ((SHORT, -6.0, lambda h: h > 12), ("petunia", -4.0, lambda h: h < 14)):
        theirs = [their_night(site, day, angle) for day in year]
        needed = [wrong(24 - (dawn - dusk) / 3600) for dusk, dawn in theirs]
        turns = [day for n, day in enumerate(year) if needed[n] != needed[n - 1]]
        ours = [date.fromisoformat(day) for day in rows[crop]["dates"]]
        assert len(ours) == len(turns) == 2
        assert all(abs((a - b).days) <= 1 for a, b in zip(ours, turns, strict=True))


def test_a_timers_lamps_wait_for_hands_that_are_late_with_a_night_cover(tmp_path):
    """The cloth burns, and is to come off at 06:30 as the crew comes; a dull day wants lamps from then on."""
    folder = write(tmp_path, Row("one", SHORT, f"{CLOTH}\n{lamps(', cooling_min = 30')}"), clear=0.12)
    first, after = (sheet(folder, MAY + timedelta(days=n)) for n in (0, 1))
    (off,) = orders(after, "one", "uncover")
    assert off["time"][11:16] == "06:30"
    begins = [on[11:16] for on, _ in bench(after, "one")["lamps"]["intervals"]]
    assert min(begins) == "07:00"
    (tonight,) = [c for c in bench(first, "one")["covers"] if c["on"].startswith(str(MAY))]
    lit = [end[:16] for _, end in bench(first, "one")["lamps"]["intervals"]]
    cool = datetime.fromisoformat(tonight["on"]) - timedelta(minutes=30)
    assert all(datetime.fromisoformat(f"{end}{tonight['on'][-6:]}") <= cool for end in lit)
