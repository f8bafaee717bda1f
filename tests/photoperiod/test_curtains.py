"""A dark cover over a whole house: for all that stands in it, once, and only where it harms none of it."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest

from lightplan.advice.photoperiod.blackout import Blackout, shared
from tests.photoperiod.sheets import Row, bench, orders, sheet, write
from tests.photoperiod.test_day_on_the_sheet import CLOTH, LONG, MAY, NEUTRAL, SHORT, lamps, moments

DULL = {"clear": 0.5}


def curtained(folder: Path, *rows: Row, **place) -> Path:
    """The house has a blackout cloth, the benches what they bring."""
    path = write(folder, *rows, **place) / "site.toml"
    text = path.read_text(encoding="utf-8")
    vents = 'vents_by = "automatic"\n'
    path.write_text(text.replace(vents, f"{vents}{CLOTH}\n"), encoding="utf-8")
    return folder


def of_house(document: dict, *actions: str) -> list[dict]:
    return [o for o in document["orders"] if o["bench"] is None and (not actions or o["action"] in actions)]


def test_one_order_for_the_house_makes_every_day_short(tmp_path):
    """Marigold wants 12 h, so does coleus; tomato beside them takes no harm. Next morning it comes off."""
    rows = (Row("one", SHORT), Row("two", "coleus"), Row("three", NEUTRAL, stage="seedling"))
    folder = curtained(tmp_path, *rows, **DULL)
    document = sheet(folder, MAY)
    (on,) = of_house(document)
    assert (on["action"], on["house"], on["time"][11:16]) == ("cover", "glass", "18:00")
    assert on["until"][:16] == f"{MAY + timedelta(days=1)}T06:30"
    assert (on["why"]["rule"], on["why"]["limit"]) == ("short-day", 12)
    assert not [o for o in document["orders"] if o["bench"] and o["action"] == "cover"]
    for name in ("one", "two", "three"):
        found = bench(document, name)
        assert found["photoperiod_h"] == pytest.approx(11.5)
        assert [c["cover"] for c in found["covers"]] == ["blackout-cloth"]
        assert found["dli"]["sun"] < found["dli"]["sun_open"] - 0.2  # the evening's light
    after = sheet(folder, MAY + timedelta(days=1))
    off, again = of_house(after)
    assert (off["action"], off["time"][11:16], off["why"]["limit"]) == ("uncover", "06:30", 12)
    assert again["action"] == "cover"
    assert [len(bench(after, name)["covers"]) for name in ("one", "two", "three")] == [2, 2, 2]


def test_made_again_in_the_evening_it_lies_and_is_ordered_no_more(tmp_path):
    folder = curtained(tmp_path, Row("one", SHORT), Row("two", NEUTRAL), **DULL)
    first = sheet(folder, MAY, "--now", f"{MAY}T05:15")
    again = sheet(folder, MAY, "--now", f"{MAY}T19:00")
    assert of_house(again, "cover", "uncover") == []
    assert bench(again, "one")["covers"] == bench(first, "one")["covers"]


@pytest.mark.parametrize(
    ("row", "clear", "why"),
    [
        (Row("other", LONG), 0.5, "since Other wants long days"),
        # a dull week: its lamps burn before dawn and after dusk
        (Row("other", NEUTRAL, lamps(), stage="seedling"), 0.15, "since lamps of Other burn then"),
        # 7.1 mol of sun, without the evening 6.9: under a minimum of 7
        (
            Row(
                "other",
                NEUTRAL,
                stage="seedling",
                more="[crop.tomato.seedling]\nminimum = 7\ntarget = 7.5\n",
            ),
            0.15,
            "since Other would lack light",
        ),
    ],
)
def test_it_stays_open_for_whom_it_would_harm(tmp_path, row, clear, why):
    document = sheet(curtained(tmp_path, Row("one", SHORT), row, clear=clear), MAY)
    assert of_house(document) == []
    (said,) = [n for n in bench(document, "one")["notes"] if "wants a day of 12 h at most" in n]
    assert said.endswith(f"would make it short; the one over the house stays open, {why}.")
    assert bench(document, "one")["photoperiod_h"] > 14


def test_lamps_that_are_not_wanted_then_are_no_hindrance_and_stay_off_under_it(tmp_path):
    row = Row("other", NEUTRAL, lamps(), stage="seedling")
    document = sheet(curtained(tmp_path, Row("one", SHORT), row, clear=0.8), MAY)
    ((on, off),) = moments([[c["on"], c["off"]] for c in bench(document, "one")["covers"]])
    lit = moments(bench(document, "other")["lamps"]["intervals"])
    assert all(b <= on or a >= off for a, b in lit)
    assert len(of_house(document, "cover")) == 1


def test_benches_with_cloths_of_their_own_need_no_curtain(tmp_path):
    rows = (Row("one", SHORT, 'covers = ["blackout-film"]'), Row("other", NEUTRAL, stage="seedling"))
    document = sheet(curtained(tmp_path, *rows, **DULL), MAY)
    assert of_house(document) == []
    assert [o["what"].split(": ")[1][:22] for o in orders(document, "one", "cover")]
    assert bench(document, "other")["photoperiod_h"] > 14


def test_one_bench_without_a_cloth_and_the_curtain_serves_all(tmp_path):
    rows = (Row("one", SHORT, 'covers = ["blackout-film"]'), Row("other", SHORT))
    document = sheet(curtained(tmp_path, *rows, **DULL), MAY)
    assert len(of_house(document, "cover")) == 1
    assert orders(document, "one", "cover") == []
    assert bench(document, "one")["photoperiod_h"] == pytest.approx(11.5)


def test_no_curtain_in_winter_nor_before_a_day_off(tmp_path):
    winter = sheet(curtained(tmp_path / "w", Row("one", SHORT)), date(2026, 1, 20))
    assert of_house(winter) == []
    off = f"days_off = [{MAY + timedelta(days=1)}]"
    assert of_house(sheet(curtained(tmp_path / "o", Row("one", SHORT), more=off, **DULL), MAY)) == []


def test_a_curtain_drawn_in_the_sun_warms_the_house(tmp_path):
    """What it keeps from the floor it takes itself, inside (MSU black cloth trials 1994, page)."""
    place = {"clear": 0.6, "latitude": 52.0, "zone": "Europe/London", "longitude": 0.0}
    day = date(2026, 6, 9)
    drawn = sheet(curtained(tmp_path / "c", Row("one", SHORT), **place), day, "--steps")
    bare = sheet(write(tmp_path / "b", Row("one", SHORT), **place), day, "--steps")
    on = drawn["steps"]["one"]["time"].index("2026-06-09T18:00:00+01:00")
    under, open_ = (d["steps"]["one"]["temperature_c"] for d in (drawn, bare))
    assert under[:on] == open_[:on]
    assert all(a > b + 0.01 for a, b in zip(under[on : on + 4], open_[on : on + 4], strict=True))
    assert drawn["steps"]["one"]["sun_ppfd"][on] < 0.01 * bare["steps"]["one"]["sun_ppfd"][on]


def test_times_for_several_are_those_that_suit_them_all():
    each = (
        (Blackout(1.0, 9.0, 12.0), Blackout(2.0, 9.0, 12.5)),
        (Blackout(2.0, 11.0, 14.0), Blackout(3.0, 10.0, 13.0)),
    )
    assert shared(each) == (Blackout(2.0, 11.0, 12.5),)
    assert shared((each[0], ())) == ()
    assert shared(()) == ()


def test_warmth_under_it_is_told_of_one_bench(tmp_path):
    """One cover, one word: the night's heat under it is not said again of every bench."""
    rows = (Row("one", SHORT), Row("two", "coleus"))
    document = sheet(curtained(tmp_path, *rows, clear=0.9), date(2026, 6, 16))
    said = [n for name in ("one", "two") for n in bench(document, name)["notes"] if "air it after dark" in n]
    assert len(said) == 1


@pytest.mark.parametrize("over_house", [False, True])
def test_of_times_alike_those_that_cost_the_least_light(tmp_path, over_house):
    """Crew from 05:00 to 19:00: twelve hours of dark from 17:00, 18:00 or 19:00 on. Solar noon is at 13:00,
    so 19:00 to 07:00 takes the weakest sun.
    """
    make = curtained if over_house else write
    folder = make(tmp_path, Row("one", SHORT, "" if over_house else CLOTH), **DULL)
    path = folder / "site.toml"
    path.write_text(path.read_text().replace('["06:30", "18:00"]', '["05:00", "19:00"]'))
    ((on, off),) = [(c["on"][11:16], c["off"][11:16]) for c in bench(sheet(folder, MAY), "one")["covers"]]
    assert (on, off) == ("19:00", "07:00")
