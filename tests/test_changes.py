"""A second look at a day beside its first plan: what is new, changed, dropped, and what is left as it was."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date, datetime, timedelta

import pytest

from lightplan.changes import Change, second_look
from lightplan.cli import Exit, main
from lightplan.clock import Window
from lightplan.dayplan import Action, Certainty, DayPlan, LampDay, Order, Reason
from lightplan.report.change_words import change_words, dropped_words, look_words
from lightplan.report.html import sheet_html
from lightplan.report.json_morning import morning_json
from lightplan.report.pdf import make_pdf
from lightplan.report.sheet import sheet_view
from lightplan.site.read import load_site
from tests.report.plans import day_plan
from tests.report.sites import range_of
from tests.small_site import at_service, write_small_site
from tests.weather import bodies
from tests.weather.fault_server import reply, serving

DAY = date(2026, 1, 10)
PLAN = day_plan(range_of(2, DAY), DAY, clearness=0.3)
ZONE = PLAN.site.timezone
ONE, TWO = (bench.bench for bench in PLAN.benches)


def at(hour: float, day: int = 0) -> datetime:
    return datetime(2026, 1, 10, tzinfo=ZONE) + timedelta(days=day, hours=hour)


NIGHT = at(6.5, 1)


def order(action, time, until=None, bench=ONE, certainty=Certainty.SURE, subject=None) -> Order:
    why = Reason("no-lamp-need")
    return Order(0, at(time), until, bench.house, bench.id, action, why, certainty, None, subject=subject)


def plan(made: float, *orders: Order, one=(), two=()) -> DayPlan:
    """A plan made at an hour for the time from then on, with the lamp times of both benches."""
    lamps = {ONE.id: one, TWO.id: two}
    benches = tuple(
        replace(b, lamps=LampDay((), tuple(lamps[b.bench.id]), 0.0, 0.0, 0.0, None)) for b in PLAN.benches
    )
    numbered = tuple(replace(o, number=n) for n, o in enumerate(orders, start=1))
    return replace(
        PLAN,
        generated_at=at(made),
        window=Window(at(max(made, 6.5)), NIGHT),
        orders=numbered,
        benches=benches,
    )


def look(first: DayPlan, second: DayPlan):
    found = second_look(second, json.loads(json.dumps(morning_json(first))))
    assert found is not None
    return found


def test_a_timer_is_as_before_where_its_times_from_now_on_are():
    """In the morning 07:00–09:00 and 16:00–20:00; at noon the second run alone is left to be set."""
    first = plan(5.5, order(Action.SET_TIMER, 6.5, NIGHT), one=((at(7), at(9)), (at(16), at(20))))
    same = plan(12, order(Action.SET_TIMER, 12, NIGHT), one=((at(16), at(20)),))
    split = plan(12, order(Action.SET_TIMER, 12, NIGHT), one=((at(16), at(18)), (at(18), at(20))))
    later = plan(12, order(Action.SET_TIMER, 12, NIGHT), one=((at(17), at(20)),))
    off = plan(12, order(Action.LEAVE_OFF, 12, NIGHT))
    assert look(first, same).marks[1].change is Change.SAME
    assert look(first, split).marks[1].change is Change.SAME
    assert change_words(later.orders[0], later, look(first, later)) == "Changed: was 16:00–20:00"
    assert change_words(off.orders[0], off, look(first, off)) == "Changed: was 16:00–20:00"


def test_a_timer_that_was_off_and_now_runs_says_so():
    first = plan(5.5, order(Action.LEAVE_OFF, 6.5, NIGHT))
    now = plan(12, order(Action.SET_TIMER, 12, NIGHT), one=((at(17), at(20)),))
    assert change_words(now.orders[0], now, look(first, now)) == "Changed: was off"


def test_lamps_by_hand_are_known_by_their_runs():
    evening = (order(Action.LAMPS_ON, 16, at(20)), order(Action.LAMPS_OFF, 20))
    first = plan(5.5, *evening, one=((at(16), at(20)),))
    same = plan(12, *evening, one=((at(16), at(20)),))
    shorter = plan(
        12, order(Action.LAMPS_ON, 17, at(19)), order(Action.LAMPS_OFF, 19), one=((at(17), at(19)),)
    )
    none = plan(12, order(Action.LEAVE_OFF, 12, NIGHT))
    extra = plan(
        12,
        order(Action.LAMPS_ON, 13, at(14)),
        order(Action.LAMPS_OFF, 14),
        *evening,
        one=((at(13), at(14)), (at(16), at(20))),
    )
    assert [m.change for m in look(first, same).marks.values()] == [Change.SAME, Change.SAME]
    found = look(first, shorter)
    assert change_words(shorter.orders[0], shorter, found) == "Changed: was 16:00 until 20:00"
    assert change_words(shorter.orders[1], shorter, found) == "Changed: was 20:00"
    gone = look(first, none)
    assert gone.marks[1].change is Change.CHANGED
    assert [d.time for d in gone.dropped] == [at(16)]
    assert dropped_words(none, gone)[0].startswith("16:00 ")
    assert "lamps on until 20:00" in dropped_words(none, gone)[0]
    changes = [m.change for m in look(first, extra).marks.values()]
    assert changes == [Change.NEW, Change.NEW, Change.SAME, Change.SAME]


def test_covers_and_other_orders_are_matched_by_place_and_action():
    first = plan(
        5.5,
        order(Action.COVER, 11, at(15), subject="wet-paper"),
        order(Action.COVER, 13, at(15), subject="wet-paper"),
        order(Action.CHECK_WATER, 14),
        order(Action.VENT, 13, bench=TWO, certainty=Certainty.LIKELY),
    )
    second = plan(
        12,
        order(Action.COVER, 13.5, at(15), subject="wet-paper"),
        order(Action.VENT, 13, bench=TWO, certainty=Certainty.STAND_BY),
        order(Action.UNCOVER, 15, subject="wet-paper"),
    )
    found = look(first, second)
    words = [change_words(o, second, found) for o in second.orders]
    assert words == ["Changed: was 13:00 until 15:00", "Less sure now: was likely", "New"]
    assert [d.time for d in found.dropped] == [at(14)]  # 11:00 is past, whatever became of it
    assert look_words(second, found) == (
        "Second look, beside the sheet of 05:30: 1 new, 2 changed, 1 dropped."
    )


def test_a_first_plan_that_can_not_be_read_is_none():
    now = plan(12, order(Action.SET_TIMER, 12, NIGHT))
    for text in ({}, {"generated_at": "x"}, {"generated_at": "2026-01-10T05:00", "benches": 3}):
        assert second_look(now, text) is None


def test_marks_stand_on_the_page_and_a_first_sheet_has_none():
    first = plan(
        5.5, order(Action.SET_TIMER, 6.5, NIGHT), order(Action.CHECK_WATER, 14), one=((at(16), at(20)),)
    )
    second = plan(12, order(Action.SET_TIMER, 12, NIGHT), one=((at(17), at(20)),))
    found = look(first, second)
    view = sheet_view(second, found)
    html = sheet_html(view)
    for words in ("Second look, beside the sheet of 05:30", "Changed: was 16:00–20:00", "No longer:"):
        assert words in html
    assert 'class="change differs"' in html
    assert make_pdf(html).complaints == ()
    plain = sheet_html(sheet_view(second))
    assert "Second look" not in plain and 'class="change' not in plain


@pytest.fixture
def looked_twice(tmp_path):
    """A dull forecast at 05:30, a bright one at noon."""
    folder = write_small_site(tmp_path / "s")
    site = load_site(folder).site
    start = datetime(2026, 3, 9, tzinfo=site.timezone)
    pages, keys = [], []
    for now, clearness in (("05:30", 0.25), ("12:00", 0.75)):
        with serving(reply(json.dumps(bodies.open_meteo(site, start, clearness=clearness)))) as server:
            write_small_site(folder, at_service(server.url))
            words = ["morning", str(folder), "--now", f"2026-03-10T{now}", "--format", "html,json"]
            assert main(words) == Exit.DONE
        pages.append((folder / "sheets" / "2026-03-10.html").read_text(encoding="utf-8"))
        keys.append(json.loads((folder / "sheets" / "2026-03-10.json").read_text(encoding="utf-8")))
    return pages, keys


def test_a_second_run_the_same_day_marks_what_changed(looked_twice):
    (first, second), (morning, noon) = looked_twice
    assert "Second look" not in first
    assert "Second look, beside the sheet of 05:30" in second
    assert "Changed: was" in second
    assert morning.keys() == noon.keys()
    assert morning["orders"][0].keys() == noon["orders"][0].keys()
    timer = next(o for o in noon["orders"] if o["bench"] == "plugs")
    assert timer["action"] == "set-timer"  # the first sheet set it to run on: it must be told to stop
    hand = next(o for o in noon["orders"] if o["bench"] == "hand")
    assert hand["action"] == "lamps-off"
