"""Morning sheets of a bench whose day is turned round, read in order as the crew would."""

from __future__ import annotations

import json
from datetime import date, datetime, timedelta
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from lightplan.advice.inversion import days
from lightplan.advice.inversion.days import TurnedDay, day_of
from lightplan.advice.photoperiod.seen import LIGHT_SEEN_PPFD
from lightplan.cli import Exit, main
from lightplan.inversion_told import tell_inversion
from lightplan.site.read import load_site
from tests.inversion.hot_site import SECOND, air_of, beside, dark_bench, other, place_of, planned, sun_of

SOWN = date(2026, 5, 18)  # as the site file has it: celery, up from day 7 to day 16
FIRST, LAST, BACK = date(2026, 5, 25), date(2026, 6, 3), date(2026, 6, 8)
HANDS = {"cover", "uncover", "open-tent", "close-tent"}
# a fortnight and more: entry, emergence, the way back, and the first day after it
READ = [SOWN + timedelta(n) for n in (0, 1, 6, 7, 16, 17, 18, 20, 21)]


def sheet(folder: Path, day: date, capsys: pytest.CaptureFixture[str], *words: str) -> dict:
    asked = ["morning", str(folder), "--date", day.isoformat(), "--format", "json", "--out", "-", *words]
    assert main(asked) == Exit.DONE
    return json.loads(capsys.readouterr().out)


def bench_of(held: dict, name: str = "dark") -> dict:
    return next(one for one in held["benches"] if one["id"] == name)


def orders_of(held: dict, *actions: str) -> list[dict]:
    mine = [one for one in held["orders"] if one["bench"] == "dark"]
    return [one for one in mine if not actions or one["action"] in actions]


def contradictions(sheets: list[dict]) -> list[str]:
    """What a crew that does as it is told would stumble over, sheet after sheet."""
    found, covers, tent_open, covered = [], set(), True, []
    for held in sheets:
        for order in orders_of(held):
            what, at = order["action"], datetime.fromisoformat(order["time"])
            name = order["what"].split(": ")[1].removeprefix("lay on ").removeprefix("take off ")
            name = name.split(" until ")[0].rstrip(".")
            if what == "cover":
                if name in covers:
                    found.append(f"{at}: {name} laid on twice")
                covers.add(name)
                if "boards" in name:
                    covered.append((at, datetime.fromisoformat(order["until"])))
            if what == "uncover":
                if name not in covers:
                    found.append(f"{at}: {name} is not there to take off")
                covers.discard(name)
                if "boards" in name and at.hour < 17:
                    found.append(f"{at}: out of the dark into the sun")
            if what in ("open-tent", "close-tent"):
                if tent_open == (what == "open-tent"):
                    found.append(f"{at}: {what} when it is so already")
                tent_open = what == "open-tent"
            if what == "check-emergence" and any(on < at < off for on, off in covered):
                found.append(f"{at}: looked at under the cover")
        lit = [(datetime.fromisoformat(on), datetime.fromisoformat(off)) for on, off in
               (*bench_of(held)["lamps"]["earlier"], *bench_of(held)["lamps"]["intervals"])]  # fmt: skip
        found += [f"{on}: lamps under the cover" for on, off in lit for a, b in covered if on < b and a < off]
    return found


@pytest.fixture(scope="module")
def fortnight(hot, tmp_path_factory):
    """Sheets made morning by morning in one folder, so that each knows what the last one set."""
    folder = beside(hot, tmp_path_factory.mktemp("fortnight"), other())
    made = []
    for day in READ:
        out = folder / "out"
        code = main(
            ["morning", str(folder), "--date", day.isoformat(), "--format", "json", "--out", str(out)]
        )
        assert code == Exit.DONE
        made.append(json.loads((out / f"{day}.json").read_text(encoding="utf-8")))
    return dict(zip(READ, made, strict=True))


def test_a_fortnight_read_in_order_has_no_contradiction(fortnight):
    assert contradictions(list(fortnight.values())) == []
    covers = [len(orders_of(held, "cover")) for held in fortnight.values()]
    assert covers == [1] * 5 + [2] * 3 + [0]


def test_the_orders_come_from_the_plan(fortnight, hot):
    """The very clock times of `lightplan invert` for that sowing date."""
    plan = tell_inversion(load_site(hot).site, "dark", None, first=SOWN, last=SOWN).document
    for day, held in fortnight.items():
        back = next((one for one in plan["turn_back"] if one["date"] == day.isoformat()), plan["schedule"])
        boards = [one for one in bench_of(held)["covers"] if one["cover"] == "foil-board"]
        if day == BACK:
            assert not boards and back["cover_on"] is None
            continue
        assert [(one["on"][11:16], one["off"][11:16]) for one in boards] == [
            (back["cover_on"], back["cover_off"])
        ]
        (lit,) = bench_of(held)["lamps"]["intervals"]
        assert (lit[0][11:16], lit[1][11:16]) == (back["lamps_on"], back["lamps_off"])


def test_seedlings_are_looked_for_as_the_cover_goes_on_and_comes_off(fortnight):
    for day, held in fortnight.items():
        looks = orders_of(held, "check-emergence")
        if FIRST <= day <= LAST:
            (cover,) = bench_of(held)["covers"]
            assert [one["time"] for one in looks] == [cover["on"], cover["off"]]
        else:
            assert looks == []


def test_the_hand_order_of_a_day(fortnight):
    """Tent closed before the cover is on; the cover off before the tent is opened; then lamps, then water."""
    held = fortnight[SOWN + timedelta(1)]
    assert [one["action"] for one in orders_of(held)] == [
        "set-timer", "close-tent", "cover", "uncover", "open-tent", "check-water",
    ]  # fmt: skip
    (cover,) = bench_of(held)["covers"]
    assert bench_of(held)["lamps"]["intervals"][0][0] > cover["off"]


def test_on_the_way_back_a_shade_lies_under_the_dark_cover(fortnight):
    held = fortnight[date(2026, 6, 5)]
    shade, boards = bench_of(held)["covers"]
    assert shade["cover"] == "shade-cloth-70" and shade["on"] < boards["on"] < shade["off"] == boards["off"]
    evening = [one["what"] for one in orders_of(held, "uncover", "open-tent")]
    for told, words in zip(evening, ("foil-faced boards", "open the tent", "70 % shade cloth"), strict=True):
        assert words in told, "what was laid last comes off first"
    assert bench_of(held)["stage"] == "seedling", "all that will come up are up"
    assert "way back" in " ".join(bench_of(held)["notes"])


def test_nothing_is_taken_off_before_the_evening(fortnight):
    for held in fortnight.values():
        for order in orders_of(held, "uncover", "open-tent", "check-emergence"):
            hour = datetime.fromisoformat(order["time"]).hour
            assert hour >= 19 or (order["action"] == "check-emergence" and hour == 7), order["what"]


def test_the_first_and_the_last_day_say_so(fortnight, hot, tmp_path, capsys):
    """Sowing is for the evening, on a bench that was dark and unlit till then; the way back has an end."""
    notes = {day: " ".join(bench_of(held)["notes"]) for day, held in fortnight.items()}
    assert "Sow celery this evening, once it is uncovered at 19:00" in notes[SOWN]
    assert "over the limit" not in notes[SOWN], "there is no seed in it yet"
    assert [day for day in READ if "Sow" in notes[day]] == [SOWN]
    assert [day for day in READ if "tent off for good" in notes[day]] == [BACK - timedelta(1)]
    eve = sheet(beside(hot, tmp_path, other()), SOWN - timedelta(1), capsys)
    assert bench_of(eve)["lamps"]["intervals"] == [] and bench_of(eve)["crop"] is None


def test_turned_back_its_day_length_is_that_of_any_bench(fortnight):
    """Noon to noon. By hand: 36.1° N, 8 June at 22.8°, sun above −4°: 2 × 113.6° / 15 = 15.15 h."""
    assert bench_of(fortnight[BACK])["photoperiod_h"] == pytest.approx(15.15, abs=0.06)


def test_what_is_too_hot_in_the_dark_too_is_said(fortnight):
    hot_days = [
        day for day in READ if "Too hot under its cover too" in " ".join(bench_of(fortnight[day])["notes"])
    ]
    over = [day for day in READ if "over the limit" in " ".join(bench_of(fortnight[day])["notes"])]
    assert hot_days and set(hot_days) <= set(over) and max(hot_days) <= LAST


def test_trays_leave_a_bench_that_is_deadly_in_the_dark(hot, tmp_path, capsys):
    """48 °C outside kills what is covered too: 40 °C is what moist seed bears (from memory)."""
    words = ('source = "typical-year"\nfile = "pvlib:723170TYA.CSV"', 'source = "file"\nfile = "hours.csv"')
    folder = beside(hot, tmp_path, other(words))
    hours = pd.date_range("2026-05-01", "2026-06-30 23:00", freq="h", tz="America/New_York")
    sun = np.clip(np.sin((hours.hour + 0.5 - 6) / 14 * np.pi), 0, None)
    air = np.where(hours.day == 21, 26, 4) + 22 * sun
    table = pd.DataFrame({"time": [h.isoformat() for h in hours], "ghi_w_m2": 700 * sun, "temp_air_c": air})
    table.to_csv(folder / "hours.csv", index=False)
    mild, deadly = (sheet(folder, SOWN + timedelta(n), capsys) for n in (2, 3))
    assert orders_of(mild, "move") == []
    (move,) = orders_of(deadly, "move")
    assert move["why"]["limit"] == 40 < move["why"]["value"]
    assert move["time"] == orders_of(deadly, "cover")[0]["time"] and "cool room" in move["what"]


def test_a_sheet_made_again_by_day_has_nobody_look_under_the_cover(hot, tmp_path, capsys):
    day = date(2026, 5, 26)
    held = sheet(beside(hot, tmp_path, other()), day, capsys, "--now", f"{day}T11:00")
    steps = [(one["time"][11:16], one["action"]) for one in orders_of(held) if one["action"] != "set-timer"]
    assert steps == [
        ("11:00", "close-tent"),
        ("11:00", "cover"),
        ("19:00", "uncover"),
        ("19:00", "open-tent"),
        ("19:00", "check-water"),
        ("19:00", "check-emergence"),
    ]
    assert [one["on"][11:16] for one in bench_of(held)["covers"]] == ["07:00"]


def test_without_a_shade_of_its_own_the_way_back_asks_for_one(hot, tmp_path, capsys):
    bare = ('covers = ["shade-cloth-50", "shade-cloth-70", "foil-board"]', 'covers = ["foil-board"]')
    folder = beside(hot, tmp_path, other(bare))
    notes = {
        day: " ".join(bench_of(sheet(folder, day, capsys))["notes"]) for day in (LAST, LAST + timedelta(1))
    }
    assert [day for day, said in notes.items() if "lay some cloth over it" in said] == [LAST + timedelta(1)]


def test_its_day_runs_from_lamps_on(fortnight):
    """24 h from 19:15: the night's lamps whole, and no light of the morning before."""
    for day in (SOWN, SOWN + timedelta(1), date(2026, 6, 4)):
        bench = bench_of(fortnight[day])
        assert bench["dli"]["lamps"] == pytest.approx(bench["lamps"]["mol"], abs=1e-3)
        assert bench["dli"]["total"] == pytest.approx(bench["dli"]["sun"] + bench["dli"]["lamps"], abs=2e-3)
        assert bench["dli"]["low"] <= bench["dli"]["total"] <= bench["dli"]["high"]
    last_dark = bench_of(fortnight[date(2026, 6, 7)])["dli"]["sun"]
    assert last_dark > 8, "of its day, all but the first hour lies on the day without a cover"


def test_photoperiod_from_midnight_to_midnight_by_hand(fortnight):
    """Lamps 00:00 to 06:00, day until the boards at 07:00, dark to 19:00, light to midnight: 12 h."""
    bench = bench_of(fortnight[SOWN + timedelta(1)])
    (cover,) = bench["covers"]
    on, off = (datetime.fromisoformat(cover[key]) for key in ("on", "off"))
    assert bench["photoperiod_h"] == pytest.approx(24 - (off - on).total_seconds() / 3600)


def test_the_medium_is_as_the_plan_has_it_and_cooler_than_open(fortnight):
    temperature = bench_of(fortnight[SOWN + timedelta(1)])["temperature_c"]
    assert temperature["where"] == "medium"
    assert temperature["peak_after"] < 25 < 35 < temperature["peak_open"]


def test_a_day_off_is_told_the_day_before(hot, tmp_path, capsys):
    folder = beside(hot, tmp_path, other(("[weather]", "days_off = [2026-05-21]\n[weather]")))
    held = sheet(folder, date(2026, 5, 20), capsys)
    told = [(one["time"][:16], one["why"]["rule"]) for one in orders_of(held, "cover", "uncover")]
    assert ("2026-05-21T07:00", "inverted-come") in told and ("2026-05-21T19:00", "inverted-come") in told
    assert [rule for _, rule in told[:2]] == ["inverted-dark"] * 2
    assert sheet(folder, date(2026, 5, 21), capsys)["orders"] == []


WEEKEND = (
    'crew = ["06:00", "19:30"]',
    '[site.crew]\nmon_fri = ["06:00", "19:30"]\nsat = ["07:00", "12:00"]\nsun = []\n',
)


def test_over_a_weekend_a_timer_keeps_one_setting_and_seedlings_their_shade(hot, tmp_path, capsys):
    """Its clock times are the same on all days of a window (the design). Days 3 and 4 of the way back."""
    folder = beside(hot, tmp_path, other(WEEKEND))
    held = sheet(folder, date(2026, 6, 6), capsys)
    lit = [(on[11:16], off[11:16]) for on, off in bench_of(held)["lamps"]["intervals"]]
    assert lit == [("19:15", "21:15")] * 2, "the shorter of 23:30 and 21:15"
    sunday = [one for one in orders_of(held, "cover") if one["time"].startswith("2026-06-07")]
    assert [one["time"][11:16] for one in sunday] == ["06:00", "16:30"]
    assert {one["why"]["rule"] for one in sunday} == {"inverted-come"}
    assert contradictions([held]) == []
    notes = " ".join(bench_of(sheet(folder, date(2026, 5, 24), capsys))["notes"])
    assert "Seed gets light" not in notes, "set the day before, and enough"


def test_lamps_by_hand_are_switched_before_the_cover(hot, tmp_path, capsys):
    folder = beside(hot, tmp_path, other(('place = "above"', 'place = "above", switch = "hand"')))
    held = sheet(folder, SOWN + timedelta(3), capsys)
    steps = [(one["time"][11:16], one["action"]) for one in orders_of(held)]
    off, cover = steps.index(("06:45", "lamps-off")), steps.index(("07:00", "cover"))
    assert off < cover and ("19:15", "lamps-on") in steps


def test_what_cannot_be_turned_round_is_said_and_planned_as_any_bench(hot, tmp_path, capsys):
    folder = beside(hot, tmp_path, other((', "foil-board"]', "]")))
    asked = ["morning", str(folder), "--date", "2026-05-20", "--format", "json", "--out", "-"]
    assert main(asked) == Exit.DONE
    out = capsys.readouterr()
    assert "nothing dark" in out.err and "planned as any other" in out.err
    held = json.loads(out.out)
    assert "inverted" not in json.dumps(held["orders"])
    assert "nothing dark" in bench_of(held)["notes"][0], "the sheet says so too: nobody reads a timer's log"


def test_seedlings_turned_round_need_their_sowing_date(hot, tmp_path, capsys):
    """From it the way back is counted: up on day 16, so light by day from day 21 on."""
    older = ('stage = "germination"\nfrom = 2026-05-18', 'stage = "seedling"\nfrom = 2026-05-30')
    known = sheet(beside(hot, tmp_path / "known", other(older)), date(2026, 6, 2), capsys)
    assert [one["action"] for one in orders_of(known)].count("cover") == 1
    unknown = beside(hot, tmp_path / "unknown", other(older, ("sown = 2026-05-18\n", "")))
    held = sheet(unknown, date(2026, 6, 2), capsys)
    assert "celery (seedling) is inverted and has no sown" in bench_of(held)["notes"][0]
    assert "inverted" not in json.dumps(held["orders"])


def test_seed_that_needs_no_light_stays_unlit_until_it_is_up(hot, tmp_path, capsys):
    """Pansy, up from day 7 on: lamps left off before, and the sheet says why."""
    folder = beside(hot, tmp_path, other(('crop = "celery"', 'crop = "pansy"')))
    before, after = (sheet(folder, SOWN + timedelta(n), capsys) for n in (3, 7))
    (off,) = orders_of(before, "leave-off")
    assert off["why"]["rule"] == "inverted-unlit" and bench_of(before)["lamps"]["hours"] == 0
    assert orders_of(before, "cover") and not orders_of(before, "set-timer")
    assert orders_of(after, "set-timer") and bench_of(after)["lamps"]["hours"] > 10


def test_vents_by_hand_stay_open_through_the_night(hot, tmp_path, capsys):
    """The plan counts on the night's air. Where that is too cold for the house they are shut as ever."""
    by_hand = ('venting = "fan"\nshade = [{ cover = "whitewash-medium", from = 2026-05', 'venting = "sides"\n'
               'shade = [{ cover = "whitewash-medium", from = 2026-05')  # fmt: skip
    heated = ("heat_to_c = 16\nvent_at_c = 20", "heat_to_c = 28\nvent_at_c = 30")
    until = []
    for name, changes, day in (
        ("warm", (by_hand,), date(2026, 6, 1)),
        ("cold", (by_hand, heated), date(2026, 6, 1)),
        ("after", (by_hand,), date(2026, 6, 9)),
    ):
        held = sheet(beside(hot, tmp_path / name, other(*changes)), day, capsys)
        (vent,) = (one for one in held["orders"] if one["action"] == "vent" and one["house"] == "north")
        until.append(vent["until"][:16])
    assert until == ["2026-06-02T06:00", "2026-06-01T19:30", "2026-06-09T19:30"]


def test_the_others_lamps_leave_room_for_its_own(hot, tmp_path, capsys):
    """0.8 × (5.3 − 4) = 1.04 kW for lamps: its own 0.9 leave too little for 0.3; of 5 kW nothing is lit."""
    hungry = 'covers = ["fleece"]\n[[bench.batch]]\ncrop = "celery"\nstage = "seedling"\n'
    hungry += "from = 2026-05-01\nto = 2026-06-30\n[crop.celery.seedling]\nminimum = 20\ntarget = 25"
    more = ('covers = ["fleece"]', hungry)
    lit = []
    for name, changes in (("wide", (more,)), ("narrow", (more, ("capacity_kw = 12", "capacity_kw = 5.3")))):
        held = sheet(beside(hot, tmp_path / name, other(*changes)), SOWN + timedelta(2), capsys)
        assert bench_of(held)["lamps"]["hours"] > 10
        lit.append(bench_of(held, "cooler")["lamps"]["hours"])
    assert lit[0] > 5 and lit[1] == 0
    changes = (("capacity_kw = 12", "capacity_kw = 5"),)
    held = sheet(beside(hot, tmp_path / "none", other(*changes)), SOWN + timedelta(2), capsys)
    assert bench_of(held)["lamps"]["hours"] == 0, "lamps never pass the breaker"


def test_two_turned_benches_never_pass_the_breaker(hot, tmp_path, capsys):
    """0.8 × (6 − 4) kW leave 1.6 kW for lamps, the two draw 1.8: the second stays unlit and says why."""
    second = ('[[bench]]\nid = "mums"', f'{SECOND}[[bench]]\nid = "mums"')
    lit = []
    for name, kw in (("wide", 7), ("narrow", 6)):
        changes = (second, ("capacity_kw = 12", f"capacity_kw = {kw}"))
        held = sheet(beside(hot, tmp_path / name, other(*changes)), SOWN + timedelta(1), capsys)
        assert bench_of(held)["lamps"]["hours"] > 10
        lit.append(bench_of(held, "dark2")["lamps"]["hours"])
    assert lit == [pytest.approx(10.75), 0]
    (why,) = [one["why"] for one in held["orders"] if one["bench"] == "dark2" and "timer" in one["action"]]
    assert (why["rule"], why["value"], why["limit"]) == ("capacity", pytest.approx(1.8), pytest.approx(1.6))
    assert "the power that may be drawn" in " ".join(bench_of(held, "dark2")["notes"])


def test_nothing_is_laid_before_the_lamps_are_cold(hot, tmp_path, capsys):
    """Lamps in the tent need 75 min. The first morning they burnt as usual until the crew came at 06:00."""
    warm = (
        'place = "above", usual = [["18:00", "24:00"]]',
        'place = "in-tent", cooling_min = 75, usual = [["00:00", "24:00"]]',
    )
    folder = beside(hot, tmp_path, other(warm))
    for day in (SOWN, SOWN + timedelta(1), date(2026, 6, 4)):
        held = sheet(folder, day, capsys)
        off = datetime.fromisoformat(bench_of(held)["lamps"]["earlier"][-1][1])
        laid = [datetime.fromisoformat(one["time"]) for one in orders_of(held, "cover")]
        assert min(laid) - off >= timedelta(minutes=75)
        assert [one["on"] for one in bench_of(held)["covers"]] == [
            one["time"] for one in orders_of(held, "cover")
        ]


def test_a_cover_off_at_noon_is_seen(hot, tmp_path, capsys, monkeypatch):
    """The reading above against a plan that takes the boards off at 13:00 on the way back."""
    right = day_of

    def wrong(plan, day):
        asked = right(plan, day)
        if asked is None or not asked.back:
            return asked
        return TurnedDay((420, 780), None, asked.lamps, False, asked.back)

    monkeypatch.setattr("lightplan.turned_benches.day_of", wrong)
    folder = beside(hot, tmp_path, other())
    found = contradictions([sheet(folder, date(2026, 6, 4), capsys)])
    assert any("out of the dark into the sun" in one for one in found)


def test_lamps_under_the_cover_are_seen(hot, tmp_path, capsys, monkeypatch):
    right = day_of

    def wrong(plan, day):
        asked = right(plan, day)
        return asked and TurnedDay(asked.cover, None, (1080, 1500), False, 0)

    monkeypatch.setattr("lightplan.turned_benches.day_of", wrong)
    folder = beside(hot, tmp_path, other())
    day = SOWN + timedelta(2)
    assert orders_of(sheet(folder, day, capsys), "cover") == [], (
        "what burns is not covered, whatever a plan says"
    )
    monkeypatch.setattr("lightplan.plan.cooled", lambda turned, *_, **__: turned)
    found = contradictions([sheet(folder, day, capsys)])
    assert any("lamps under the cover" in one for one in found)


def test_days_of_a_plan():
    air, sun = air_of(60, 23, 5), sun_of(60)
    found = planned(place_of(dark_bench(), air_c=air, sun_ppfd=sun), "pansy_viola")
    one = timedelta(days=1)
    assert day_of(found, found.sown - one) is None and day_of(found, found.back[-1].day) is None
    before, after = day_of(found, found.emergence.first - one), day_of(found, found.emergence.first)
    assert before.lamps is None and not before.looked_at, "pansy seed is up before it gets lamps"
    assert after.lamps is not None and after.looked_at
    assert days._night((30, 360), (420, 1140)) == (1470, 1800), "lamps on after midnight"
    assert days._night((1155, 360), (420, 1140)) == (1155, 1800)


def test_light_that_plants_see_is_the_designs():
    assert LIGHT_SEEN_PPFD == 0.1
