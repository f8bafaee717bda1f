"""Sheets made again, or day after day: what lies, burns or is set already is known, and what is near."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest

from lightplan.advice.photoperiod.blackout import Blackout, blackouts, cover_for_dark
from lightplan.advice.photoperiod.spill import spill_ppfd
from lightplan.clock import Window, grid_over
from lightplan.day_notes import ordered_on
from lightplan.day_tasks import day_length_of, nights_of_site
from lightplan.dayplan import Action
from lightplan.long_days import spilled
from lightplan.night_covers import blackout_task, free_times
from lightplan.plan import planning_grid
from lightplan.remedy_orders import remedy_orders
from lightplan.site.cover_names import known_cover
from lightplan.site.models import Place
from lightplan.site.read import load_site
from lightplan.standing import Lying, NightCover, Standing
from tests.advice.lamp_cases import LAMPS
from tests.photoperiod.sheets import Row, bench, orders, sheet, write
from tests.photoperiod.test_day_on_the_sheet import (
    CLOTH,
    JANUARY,
    LONG,
    MAY,
    NEUTRAL,
    SHORT,
    lamps,
    moments,
    seen_by_hand,
)
from tests.photoperiod.test_measures import SUMMER, H
from tests.report.plans import day_plan
from tests.report.sites import range_of

LITTLE = "[crop.petunia.finishing]\nminimum = 1\ntarget = 2\n"


@pytest.mark.parametrize("clock", ["12:00", "17:50", "19:00"])
def test_a_sheet_made_again_knows_of_the_evenings_cover(tmp_path, clock):
    """At noon it is still to be laid on, at seven it lies: no second order, and no word that nobody comes."""
    folder = write(tmp_path, Row("one", SHORT, CLOTH), clear=0.5)
    first = sheet(folder, MAY, "--now", f"{MAY}T05:15")
    again = sheet(folder, MAY, "--now", f"{MAY}T{clock}")
    late = clock == "19:00"
    assert len(orders(again, "one", "cover")) == (not late)
    assert orders(again, "one", "uncover") == []
    assert bench(again, "one")["covers"] == bench(first, "one")["covers"]
    assert bench(again, "one")["photoperiod_h"] == bench(first, "one")["photoperiod_h"]
    assert bench(again, "one")["notes"] == []
    off, on = orders(sheet(folder, MAY + timedelta(days=1)), "one", "cover", "uncover")
    assert (off["action"], off["time"][11:16], on["action"]) == ("uncover", "06:30", "cover")


def test_a_cover_taken_off_this_morning_is_not_ordered_off_at_noon(tmp_path):
    folder, next_day = write(tmp_path, Row("one", SHORT, CLOTH), clear=0.5), MAY + timedelta(days=1)
    sheet(folder, MAY)
    sheet(folder, next_day, "--now", f"{next_day}T05:15")
    again = sheet(folder, next_day, "--now", f"{next_day}T10:00")
    assert [o["action"] for o in orders(again, "one", "cover", "uncover")] == ["cover"]
    assert len(bench(again, "one")["covers"]) == 2


def test_a_night_that_is_being_broken_is_broken_to_its_end(tmp_path):
    folder = write(tmp_path, Row("one", "petunia", lamps(', switch = "remote"'), more=LITTLE), latitude=46.0)
    first = sheet(folder, JANUARY, "--now", f"{JANUARY}T05:15")
    again = sheet(folder, JANUARY, "--now", f"{JANUARY}T23:00")
    ((_, off),) = bench(first, "one")["lamps"]["intervals"]
    (rest,) = bench(again, "one")["lamps"]["intervals"]
    assert rest == [f"{JANUARY}T23:00:00-05:00", off]
    assert bench(again, "one")["photoperiod_h"] == bench(first, "one")["photoperiod_h"]


def test_the_broken_night_before_a_day_off_and_after_it_are_seen(tmp_path):
    """On the day off the sheet tells what the timer does: the dark ends with the break, before and after it.

    46 N: dusk to 22:15 is some 5 h, 02:15 to dawn 4.7.
    """
    folder = write(
        tmp_path,
        Row("one", "petunia", lamps(), more=LITTLE),
        latitude=46.0,
        more=f"days_off = [{JANUARY + timedelta(days=1)}]",
    )
    first, off = (sheet(folder, JANUARY + timedelta(days=n)) for n in (0, 1))
    assert off["window"]["from"] is None
    assert bench(off, "one")["photoperiod_h"] == pytest.approx(bench(first, "one")["photoperiod_h"], abs=0.05)


def test_a_broken_night_leaves_seed_its_lamps(tmp_path):
    """0.8 kW for two benches of 0.6: seed that wants light around the clock goes first."""
    power = """\
[power]
currency = "USD"
capacity_kw = 1.0
other_kw = 0
rates = [{ from = "00:00", to = "24:00", price = 0.1 }]
"""
    seed = Row("seed", "lettuce", lamps(), stage="germination")
    beside = Row("one", "petunia", lamps(), more=LITTLE)
    both = sheet(write(tmp_path / "b", beside, seed, latitude=46.0, more=power), JANUARY)
    alone = sheet(write(tmp_path / "a", seed, latitude=46.0, more=power), JANUARY)
    assert bench(both, "seed")["lamps"]["intervals"] == bench(alone, "seed")["lamps"]["intervals"]
    assert "can't all burn by night" in " ".join(bench(both, "one")["notes"])


def test_one_pair_of_times_serves_light_and_length_at_once(tmp_path):
    """4.1 h of day are lacking, and two of light on a poor day. Two pairs break the night for 4 h; a dial of
    one would burn from dusk through the break to 02:15 for both, so it draws the day out.
    """
    own = "[crop.petunia.finishing]\nminimum = 3.2\ntarget = 7\n"
    one, two = (
        sheet(
            write(tmp_path / str(n), Row("one", "petunia", lamps(f", pairs = {n}"), more=own), latitude=46.0),
            JANUARY,
        )
        for n in (1, 2)
    )
    for document in (one, two):
        assert bench(document, "one")["photoperiod_h"] >= 14
    assert len(bench(one, "one")["lamps"]["intervals"]) == 1
    assert bench(one, "one")["lamps"]["hours"] < 5
    (order,) = orders(two, "one", "set-timer")
    assert order["why"]["rule"] == "night-break"


def test_a_bright_noon_switches_no_lamps_off_that_make_the_day_long(tmp_path):
    """Its light may be made up by the sun, its hours after dusk not: they go on when the day ends."""
    own = "[crop.petunia.finishing]\nminimum = 5\ntarget = 7\n"
    folder = write(tmp_path, Row("one", "petunia", lamps(", pairs = 1"), more=own), latitude=46.0)
    document = sheet(folder, JANUARY)
    said = next(n for n in bench(document, "one")["notes"] if "switch the lamps off" in n)
    until = datetime.fromisoformat(f"{JANUARY}T{said.split('until ')[1][:5]}")
    assert until <= datetime(2026, 1, 20, 17, 15)  # dusk to −4 degrees is at 17:15 there
    assert max(off for _, off in bench(document, "one")["lamps"]["intervals"])[:16] > until.isoformat()


def test_neighbours_lit_by_day_alone_are_no_matter_and_others_are_told_once(tmp_path):
    by_day = lamps() + '\nlamp_hours = ["08:00", "16:00"]'
    near = (Row("first", LONG, by_day), Row("second", LONG, by_day))
    document = sheet(write(tmp_path / "d", *near, Row("one", SHORT), clear=0.4), JANUARY)
    assert bench(document, "first")["lamps"]["intervals"]  # they do burn
    assert not [n for n in bench(document, "one")["notes"] if "where the benches stand" in n]
    near = (Row("first", LONG, lamps()), Row("second", LONG, lamps()))
    document = sheet(write(tmp_path / "n", *near, Row("one", SHORT), clear=0.4), JANUARY)
    (said,) = [n for n in bench(document, "one")["notes"] if "where the benches stand" in n]
    assert said.startswith("Lamps of First and Second burn by night")


def test_a_bench_under_its_own_cover_is_not_warned_of_lamps(tmp_path):
    rows = (Row("lit", LONG, lamps()), Row("one", SHORT, CLOTH))
    document = sheet(write(tmp_path, *rows, clear=0.4), MAY)
    assert orders(document, "one", "cover")
    night = list(moments(bench(document, "lit")["lamps"]["intervals"]))
    ((on, off),) = moments([[c["on"], c["off"]] for c in bench(document, "one")["covers"]])
    assert all(on <= a and b <= off for a, b in night if a > on)  # whatever burns, burns while it lies
    assert not [n for n in bench(document, "one")["notes"] if "where the benches stand" in n]


def test_on_a_day_off_it_is_said_that_nobody_comes(tmp_path):
    folder = write(tmp_path, Row("one", SHORT, CLOTH), clear=0.5, more=f"days_off = [{MAY}]")
    assert "nobody is there in time" in " ".join(bench(sheet(folder, MAY), "one")["notes"])


def test_boards_are_laid_over_plants_only_where_there_is_no_cloth():
    both = tuple(known_cover(name) for name in ("foil-board", "insulation-board", "blackout-cloth"))
    assert cover_for_dark(both).name == "blackout-cloth"
    assert cover_for_dark(both[:1]).name == "foil-board"


def test_light_of_several_lamps_adds_up():
    """Two benches that each throw 0.06 µmol, and 0.04 of yard light: 0.1 is reached by any two of them."""
    site = range_of(3, date(2026, 3, 1))
    first, _, dark = site.benches
    beside = replace(dark, lamps=None, place=Place((20.0, 21.0), (0.0, 6.0)), house=first.house)
    strength = LAMPS.ppfd_umol_m2_s
    lit = replace(first, lamps=LAMPS, place=Place((0.0, 1.0), (0.0, 6.0)), area_m2=12.0, house=first.house)
    thrown = spill_ppfd(lit, beside)
    lit = replace(lit, lamps=replace(LAMPS, ppfd_umol_m2_s=strength * 0.06 / thrown))
    also = replace(lit, id="also", name="also")
    assert spill_ppfd(lit, beside) == pytest.approx(0.06, rel=1e-6)
    grid = grid_over(date(2026, 3, 1), 2, site.timezone)
    night = (grid.minute >= 1200) & (grid.day == 0)

    def reached(stray: float, *sources) -> bool:
        here = replace(beside, stray_ppfd_umol_m2_s=stray)
        of = replace(site, benches=(*sources, here))
        return here.id in spilled(of, {source.id: night for source in sources}, grid)

    assert not reached(0.0, lit)
    assert reached(0.0, lit, also)
    assert reached(0.04, lit)
    assert not reached(0.039, lit)


def test_what_lies_there_already_counts_for_the_dark():
    """13.25 h of dark till 06:30 begin at 17:15, if nothing lies there; else hands may come at any time."""
    asked = replace(SUMMER, wanted_dark_h=13.25, morning=(18.5 * H, 18.5 * H))
    assert [c.on for c in blackouts(asked)][-1] == 5 * H
    covered = blackouts(replace(asked, covered=((5 * H, 9.5 * H),)))  # against heat, off after dusk
    assert covered[-1].on == 6 * H
    assert covered[-1].dark_h == 13.5


def test_a_cover_against_heat_that_lies_on_into_the_night_is_one_order():
    plan = day_plan(range_of(1, date(2026, 3, 3)), date(2026, 3, 3))
    day, zone = plan.benches[0], plan.site.timezone
    at = [datetime(2026, 3, d, h, m, tzinfo=zone) for d, h, m in ((3, 11, 0), (3, 17, 0), (4, 6, 30))]
    window = Window(datetime(2026, 3, 3, 6, 30, tzinfo=zone), at[2])
    cloth = known_cover("blackout-cloth")
    nothing = np.zeros(1)
    lying = Lying(cloth.name, at[0], at[1])
    dark = nothing > 0
    for on, words in ((at[1], []), (at[1] + timedelta(minutes=30), [Action.UNCOVER, Action.COVER])):
        night = NightCover(cloth, on, at[2], 13.5, 15.0, 12.0)
        stands = Standing(None, nothing, dark, dark, None, lying=(lying,), night=night)
        assert [o.action for o in remedy_orders(day, stands, window)] == words


def test_lamps_lit_by_turns_warm_by_turns(tmp_path):
    """3 kW for 6 minutes of 30 are 0.6: a fifth of the rise under lamps lit throughout."""
    felt = {}
    for name, more in (("turns", ', switch = "remote"'), ("whole", ""), ("none", ', switch = "hand"')):
        keys = lamps(more).replace("0.6", "3.0")
        folder = write(tmp_path / name, Row("one", "petunia", keys, more=LITTLE), latitude=46.0)
        path = folder / "site.toml"
        unheated = path.read_text().replace('venting = "roof"', 'venting = "roof"\nheat_to_c = -25')
        path.write_text(unheated)
        document = sheet(folder, JANUARY, "--now", f"{JANUARY}T05:15", "--steps")
        steps = document["steps"]["one"]
        felt[name] = steps["temperature_c"][steps["time"].index("2026-01-21T00:00:00-05:00")]
    assert felt["whole"] > felt["none"] + 0.5
    share = (felt["turns"] - felt["none"]) / (felt["whole"] - felt["none"])
    assert share == pytest.approx(0.2, abs=0.06)


def test_a_sheet_made_at_midnight_breaks_the_night_and_no_more(tmp_path):
    """Remote lamps can burn from midnight on: what is left of the broken night, not the rest of it."""
    folder = write(tmp_path, Row("one", "petunia", lamps(', switch = "remote"'), more=LITTLE), latitude=46.0)
    document = sheet(folder, JANUARY)
    assert document["generated_at"][11:16] == "00:00"
    clock = [(on[11:16], off[11:16]) for on, off in bench(document, "one")["lamps"]["intervals"]]
    assert clock == [("00:00", "02:15"), ("22:15", "02:15")]


def test_a_long_day_is_made_by_what_is_ordered_not_by_what_the_next_sheet_might(tmp_path):
    """46 S, late summer: dawn comes minutes after the crew. Lamps that begin then are the next sheet's."""
    own = "[crop.rudbeckia_hirta.finishing]\nminimum = 4\ntarget = 6\n"
    south = {"latitude": -46.0, "longitude": 169.0, "zone": "Pacific/Auckland"}
    folder = write(tmp_path, Row("one", LONG, lamps(), more=own), clear=0.5, **south)
    for day in (date(2026, 2, 27), date(2026, 2, 28)):
        document = sheet(folder, day)
        assert len(orders(document, "one", "set-timer")) == 1
        assert bench(document, "one")["photoperiod_h"] >= 14
        assert bench(document, "one")["photoperiod_h"] == pytest.approx(
            seen_by_hand(document, "one", -4.0), abs=2 / 60
        )
        assert not [n for n in bench(document, "one")["notes"] if "If the meter" in n]


@pytest.mark.parametrize(
    ("lit", "kept"),
    [
        ("0110 0110", "0110 0000"),  # begins after the window's end
        ("0111 1101", "0111 1100"),  # burns on, then anew
        ("0111 1111", "0111 1111"),
        ("0000 1111", "0000 0000"),
        ("1111 0011", "1111 0000"),
    ],
)
def test_past_the_windows_end_counts_what_burns_there(lit, kept):
    mask, wanted = (np.array([c == "1" for c in text.replace(" ", "")]) for text in (lit, kept))
    assert (ordered_on(mask, 4) == wanted).all()


def test_a_cover_in_use_by_day_is_free_in_the_evening():
    """UTC hours of 3 March: cloth against heat till 17:00, a tarp till 19:00; dusk at 20:00."""
    cloth, tarp = known_cover("blackout-cloth"), known_cover("white-tarp")
    at = {h: datetime(2026, 3, 3, h, tzinfo=UTC) for h in (11, 16, 17, 18, 19, 20, 21)}
    each = tuple(Blackout(at[h].timestamp(), at[h].timestamp() + 50_000, 13.9) for h in (16, 17, 18, 19))
    dusk = at[20].timestamp()

    def hours(*lying: Lying) -> list[int]:
        free = free_times(each, lying, cloth, dusk=dusk)
        return [datetime.fromtimestamp(c.on, UTC).hour for c in free]

    assert hours() == [16, 17, 18, 19]
    assert hours(Lying(cloth.name, at[11], at[17])) == [17, 18, 19]
    assert hours(Lying(tarp.name, at[11], at[19])) == [19]
    assert hours(Lying(tarp.name, at[11], at[19] + timedelta(minutes=30))) == [16, 17, 18, 19]  # laid over it
    assert hours(Lying(tarp.name, at[11], at[21])) == [16, 17, 18, 19]  # lies on into the night
    assert hours(Lying(cloth.name, at[11], at[21])) == []


def test_the_day_told_is_by_what_is_ordered_not_by_lamps_of_the_next_sheet(tmp_path):
    """52 N in January: lamps may burn from 06:30, the window's end, to dawn, but that is not ordered yet."""
    keys = lamps() + '\nlamp_hours = ["06:30", "17:00"]'
    place = {"latitude": 52.0, "longitude": 0.0, "zone": "Europe/London", "clear": 0.2}
    document = sheet(write(tmp_path, Row("one", NEUTRAL, keys, stage="seedling"), **place), JANUARY)
    assert bench(document, "one")["lamps"]["hours"] > 5
    assert bench(document, "one")["photoperiod_h"] == pytest.approx(
        seen_by_hand(document, "one", -4.0), abs=2 / 60
    )


def test_lamps_are_cold_before_a_cover_that_burns_goes_on(tmp_path):
    """Film that burns, an hour to cool, a dull May: lamps end at 17:00 where the film goes on at 18:00."""
    keys = lamps(", cooling_min = 60") + '\ncovers = ["blackout-film"]'
    document = sheet(write(tmp_path, Row("one", SHORT, keys), clear=0.15), MAY)
    ((on, off),) = moments([[c["on"], c["off"]] for c in bench(document, "one")["covers"]])
    lit = moments(bench(document, "one")["lamps"]["intervals"])
    assert lit
    assert all(b <= on - 3600 or a >= off for a, b in lit)


def test_hands_of_the_evening_are_there_from_now_on_till_they_go(tmp_path):
    site = load_site(write(tmp_path, Row("one", SHORT, CLOTH))).site
    for clock, begins in (((5, 15), 12), ((15, 0), 15)):
        now = datetime(2026, 5, 12, *clock, tzinfo=site.timezone)
        grid, window = planning_grid(site, MAY, now)
        seen = day_length_of(site, site.benches[0], grid=grid, by_angle=nights_of_site(site, grid))
        task = blackout_task(site, seen, lit=(), covered=(), grid=grid, window=window)
        hours = [datetime.fromtimestamp(t, site.timezone).hour for t in task.evening]
        assert hours == [begins, 18]
        assert datetime.fromtimestamp(task.morning[0], site.timezone).strftime("%H:%M") == "06:30"
