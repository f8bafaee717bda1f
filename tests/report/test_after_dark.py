"""A sheet made in the evening: its day is not still to come, and a clock time of tomorrow is not today's."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import timedelta

import pytest

from lightplan.cli import Exit, main
from lightplan.clock import Window
from lightplan.dayplan import Action, Certainty, DayPlan, Note, Order, Reason
from lightplan.report.head import sentence
from lightplan.report.html import sheet_html
from lightplan.report.order_words import lamps_now
from lightplan.report.sheet import sheet_view
from tests.report.samples import SAMPLES
from tests.small_site import write_small_site

POOR = Note(
    "minimum-missed", (("total", 6.4), ("minimum", 8.0), ("because", "lamp-light"), ("expected", 9.0))
)
BRIGHT = Note("ppfd-over-limit", (("peak", 700.0), ("limit", 500.0), ("minutes", 90)))
HOT = Note(
    "temperature-over-limit", (("where", "air"), ("limit", 35.0), ("minutes", 90), ("mark", "judgement"))
)


def at_night(plan: DayPlan) -> DayPlan:
    assert plan.window is not None and plan.sun.sunset is not None
    return replace(plan, window=Window(plan.sun.sunset + timedelta(minutes=30), plan.window.end))


def with_notes(plan: DayPlan) -> DayPlan:
    first, *others = plan.benches
    why = Reason("minimum-short", 2.8, 6.0, "mol")
    orders = tuple(replace(o, why=why) for o in plan.orders if o.action is Action.SET_TIMER)
    dli = replace(first.dli, total=9.0, minimum=8.0)
    told = (replace(first, dli=dli, notes=(POOR, BRIGHT, HOT)), *(replace(b, notes=()) for b in others))
    return replace(plan, benches=told, orders=orders)


def test_by_day_the_day_is_still_to_come():
    plan = with_notes(SAMPLES["dull"]())
    assert not plan.is_over
    page = sheet_html(sheet_view(plan))
    assert "if it turns out poor" in sentence(plan) and "oo hot" in sentence(plan)
    assert "if the day turns out poor" in page and "If today turns out poor" in page
    assert "watch the plants at noon" in page


def test_after_sunset_the_day_was_what_it_was():
    plan = with_notes(at_night(SAMPLES["dull"]()))
    assert plan.is_over
    words, page = sentence(plan), sheet_html(sheet_view(plan))
    assert words.startswith("Tonight: ")
    assert "if it was poor" in words and "Was too hot: " in words
    assert "turns out" not in page and "watch the plants" not in page
    assert "if the day was poor" in page and "If today was poor" in page
    assert "Sun over the limit" in page


def test_where_the_sun_does_not_set_no_day_is_over():
    for name in ("polar-night", "polar-day"):
        assert not SAMPLES[name]().is_over
    assert not SAMPLES["nobody-comes"]().is_over


@pytest.mark.parametrize(
    ("hours_on", "lit_now", "said"),
    [
        (15.0, False, "First on 09:00 Sun"),
        (15.0, True, "They go off now, next on 09:00 Sun"),
        (2.0, False, ""),
        (0.0, False, "They come on now, until 21:00"),
    ],
)
def test_a_clock_time_of_tomorrow_is_said_to_be_tomorrows(hours_on, lit_now, said):
    """Made on a Saturday at 18:00, for a timer that is next on at 09:00, 20:00 or now."""
    plan = SAMPLES["one-bench"]()
    bench, window = plan.benches[0].bench, plan.window
    assert window is not None
    start = window.start.replace(hour=18, minute=0)
    on = start + timedelta(hours=hours_on)
    evening = replace(plan, window=Window(start, window.end + timedelta(days=1)))
    assert evening.is_over
    order = Order(
        1,
        start,
        window.end,
        bench.house,
        bench.id,
        Action.SET_TIMER,
        Reason("dli-short", 2.0, 8.0, "mol"),
        Certainty.SURE,
        None,
        intervals=((on, on + timedelta(hours=3)),),
        lit_now=lit_now,
    )
    assert lamps_now(order, evening) == said


def test_the_json_of_an_evening_says_it_too(tmp_path, capsys):
    folder = write_small_site(tmp_path / "place")
    found = {}
    for now in ("06:00", "21:30"):
        asked = ["--date", "2026-01-12", "--now", f"2026-01-12T{now}", "--format", "json", "--out", "-"]
        assert main(["morning", str(folder), *asked]) == Exit.DONE
        benches = json.loads(capsys.readouterr().out)["benches"]
        found[now] = " ".join(note for b in benches for note in b["notes"])
    assert "turns out" not in found["21:30"]
