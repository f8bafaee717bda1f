"""What stands on the sheet: bands, groups, folds, densities, drawings."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from lightplan.clock import at_local
from lightplan.dayplan import Action, Certainty, CoverTime, DayPlan, Note, Order, Reason
from lightplan.report.bars import WIDTH as BAR_WIDTH
from lightplan.report.bars import bar_scale, light_bar
from lightplan.report.drawing import DARK, INK, SUN
from lightplan.report.head import sentence
from lightplan.report.sheet import sheet_view
from lightplan.report.strip import WIDTH, Axis, lane, strip_top, sun_strip
from lightplan.report.week_rows import due
from tests.report.plans import day_plan
from tests.report.samples import SAMPLES, WINTER
from tests.report.sites import range_of


def order_at(plan: DayPlan, minutes: int, action: Action = Action.MEASURE) -> Order:
    bench = plan.benches[0].bench
    return Order(
        number=99,
        time=at_local(plan.day, minutes, plan.site.timezone),
        until=None,
        house=bench.house,
        bench=bench.id,
        action=action,
        why=Reason("no-batch"),
        certainty=Certainty.SURE,
        odds=None,
    )


def test_orders_fall_into_the_parts_of_the_crews_day() -> None:
    plan = SAMPLES["one-bench"]()
    # crew 06:30 to 18:00; the evening's last walk is the hour before they go, and what follows at night
    minutes = (390, 435, 436, 1019, 1020, 1800)
    plan = replace(plan, orders=tuple(replace(order_at(plan, m), number=n) for n, m in enumerate(minutes)))
    found = {b.title: [p.number for row in b.orders for p in row.places] for b in sheet_view(plan).bands}
    assert found == {
        "When the crew comes": ["0", "1"],
        "Through the day": ["2", "3"],
        "Before you leave": ["4", "5"],
    }


def test_parts_without_orders_have_no_heading() -> None:
    plan = SAMPLES["one-bench"]()
    assert [b.title for b in sheet_view(replace(plan, orders=plan.orders[:1])).bands] == [
        "When the crew comes"
    ]


def test_a_sheet_made_late_begins_with_now() -> None:
    plan = day_plan(range_of(1, WINTER), WINTER, now_min=605)
    assert sheet_view(plan).bands[0].title == "Now"
    assert sheet_view(plan).bands[0].orders[0].time == "10:15"


def test_no_order_is_lost_in_grouping() -> None:
    for make in SAMPLES.values():
        plan = make()
        view = sheet_view(plan)
        shown = [p.number for b in view.bands for row in b.orders for p in (*row.places, *row.also)]
        shown += [number for b in view.bands for row in b.routine for number, _ in row.places]
        let_be = [n for line in view.no_work for n in re.findall(r"(?:: |, | and )(\d+) [A-Z]", line)]
        assert sorted(shown + let_be, key=int) == [str(o.number) for o in plan.orders]


def test_many_orders_alike_stand_under_one_line() -> None:
    rows = [row for b in sheet_view(SAMPLES["thirty"]()).bands for row in b.orders]
    assert len(rows) < 10 < sum(len(row.places) for row in rows)
    assert all(len(row.places) == 1 for b in sheet_view(SAMPLES["clocks-back"]()).bands for row in b.orders)


def test_nobody_comes() -> None:
    sheet = sheet_view(SAMPLES["nobody-comes"]())
    assert sheet.bands == () and sheet.no_orders
    assert sheet.head.sentence == "Nobody comes today: lamps run as already set."
    assert "Germination: on 00:00–24:00" in [f"{r.place}: {r.words}" for r in sheet.already_set]


def test_later_issues_have_no_columns_yet() -> None:
    block = sheet_view(SAMPLES["dull"]()).benches
    assert not (block.has_account or block.has_temperature or block.has_day_length)
    assert "cover" not in block.key


def test_a_bench_with_nothing_on_it_is_one_line() -> None:
    sheet = sheet_view(SAMPLES["dull"]())
    assert "By the door" not in [row.name for row in sheet.benches.rows]
    numbers = [o.number for o in SAMPLES["dull"]().orders if o.why.rule == "no-batch"]
    assert [line for line in sheet.no_work if line.startswith("Empty: ")] == [
        f"Empty: {number} By the door." for number in numbers
    ]


def test_benches_to_leave_alone_fold_where_there_are_many() -> None:
    bright = day_plan(range_of(12, WINTER), WINTER, clearness=0.95)
    many = sheet_view(bright)
    (line,) = [n for n in many.no_work if n.startswith("Sun is enough: ")]
    assert len(many.benches.rows) < len([b for b in bright.benches if b.batches])
    assert all(row.name not in line for row in many.benches.rows)
    few = sheet_view(day_plan(range_of(6, WINTER), WINTER, clearness=0.95))
    assert len(few.benches.rows) == 6


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("dull", "A very dull day: lamps on 6 of 7 benches. Under the minimum all the same: 5 benches."),
        ("good", "An ordinary day: lamps on Germination and Aisle left only."),
        ("one-bench", "A dull day: lamps on Germination."),
        ("no-benches", "12.5 mol outdoors today: nothing to set."),
    ],
)
def test_the_one_sentence(name: str, words: str) -> None:
    assert sheet_view(SAMPLES[name]()).head.sentence == words


def test_sun_that_does_not_rise_or_set_is_told() -> None:
    facts = {name: sheet_view(SAMPLES[name]()).head.facts[0][0] for name in ("polar-night", "polar-day")}
    assert facts == {
        "polar-night": ("Sun", "does not rise today"),
        "polar-day": ("Sun", "does not set today"),
    }


def test_what_stands_in_is_headed() -> None:
    look = "not a forecast: look at the sky before you follow it"
    assert sheet_view(SAMPLES["midsummer"]()).head.stand_in == f"Typical year, {look}"
    assert sheet_view(SAMPLES["nobody-comes"]()).head.stand_in == f"Guessed from a clear sky, {look}"
    assert sheet_view(SAMPLES["dull"]()).head.stand_in is None


def test_emergence_from_sowing_and_the_tables_days() -> None:
    # petunia, merged row of crops_germination.csv: 7 to 10 days
    (batch,) = due(SAMPLES["one-bench"]())
    (sown,) = [b.batch.sown for bench in SAMPLES["one-bench"]().benches for b in bench.batches]
    assert (batch.first - sown, batch.last - sown) == (timedelta(days=7), timedelta(days=10))
    assert sheet_view(SAMPLES["one-bench"]()).emergence == (
        "Petunia on Germination: Sun 11 Jan to Wed 14 Jan",
    )


def test_units_of_the_boxes_for_readings() -> None:
    us, metric = sheet_view(SAMPLES["one-bench"]()), sheet_view(SAMPLES["far-south"]())
    assert (us.light_unit, us.temperature_unit) == ("fc", "°F")
    assert (metric.light_unit, metric.temperature_unit) == ("μmol", "°C")


def rectangles(drawing: str, fill: str) -> list[tuple[float, float]]:
    """x and width of every filled box of a colour."""
    found = re.findall(
        rf'<rect x="([\d.]+)" y="[\d.]+" width="([\d.]+)" height="[\d.]+" fill="{fill}"', drawing
    )
    return [(float(x), float(w)) for x, w in found]


def test_bar_is_to_scale() -> None:
    dli = SAMPLES["dull"]().benches[1].dli
    scale = bar_scale([dli])
    ((x, sun),) = rectangles(light_bar(dli, scale), SUN)
    ((start, lamps),) = rectangles(light_bar(dli, scale), INK)
    assert x == 0 and start == pytest.approx(sun, abs=0.02)
    assert sun / lamps == pytest.approx(dli.sun / dli.lamps, rel=0.01)
    assert sun == pytest.approx(dli.sun / scale * BAR_WIDTH, abs=0.01)


def test_light_kept_out_by_covers_is_hatched() -> None:
    dli = SAMPLES["dull"]().benches[1].dli
    covered = replace(dli, sun=dli.sun - 1.0, total=dli.total - 1.0)
    hatched = rectangles(light_bar(covered, 20.0), "#ffffff")
    assert rectangles(light_bar(dli, 20.0), "#ffffff") == []
    assert hatched == [
        (pytest.approx(covered.total / 20 * BAR_WIDTH, abs=0.01), pytest.approx(9.0, abs=0.02))
    ]


@pytest.mark.parametrize(("name", "hours"), [("dull", 24), ("clocks-forward", 23), ("clocks-back", 25)])
def test_strip_is_as_long_as_the_civil_day(name: str, hours: int) -> None:
    plan = SAMPLES[name]()
    axis = Axis(plan)
    assert axis.steps == 4 * hours
    zone = plan.site.timezone
    assert axis.x(at_local(plan.day, 1440, zone)) == WIDTH
    # 06:00 stands (6 ± the hour that jumps) hours after midnight
    assert axis.x(at_local(plan.day, 360, zone)) == pytest.approx((hours - 18) / hours * WIDTH)
    reached = 0.0
    for label, width in axis.hour_cells():
        assert axis.x(at_local(plan.day, 60 * int(label), zone)) == pytest.approx(reached / 100 * WIDTH)
        reached += width
    assert reached == pytest.approx(100)


def test_lanes_show_lamps_at_their_times() -> None:
    plan = SAMPLES["one-bench"]()
    bench = plan.benches[0]
    start = at_local(plan.day, 480, plan.site.timezone)
    lamps = replace(bench.lamps, earlier=(), intervals=((start, start + timedelta(hours=3)),))
    drawn = rectangles(lane(plan, (replace(bench, lamps=lamps),)), INK)
    assert drawn == [(pytest.approx(8 / 24 * WIDTH), pytest.approx(3 / 24 * WIDTH))]


def test_cover_is_hatched_and_runs_on_to_midnight_where_nobody_takes_it_off() -> None:
    plan = SAMPLES["one-bench"]()
    on = at_local(plan.day, 1080, plan.site.timezone)
    cover = CoverTime("quilt", on, None, Reason("dark-needed", 4.0, 8.0, "h"), None)
    bench = replace(plan.benches[0], covers=(cover,))
    assert (pytest.approx(0.75 * WIDTH), pytest.approx(0.25 * WIDTH)) in rectangles(
        lane(plan, (bench,)), "#ffffff"
    )


def test_dark_is_filled_where_there_is_neither_sun_nor_lamps() -> None:
    plan = SAMPLES["one-bench"]()
    bench = plan.benches[0]
    light = np.zeros(len(plan.grid))
    light[24:72] = 50.0  # 06:00 to 18:00
    series = replace(bench.series, sun_ppfd=light, lamp_ppfd=np.zeros_like(light))
    dark = rectangles(lane(plan, (replace(bench, series=series),)), DARK)
    assert dark == [(0.0, WIDTH / 4), (WIDTH * 3 / 4, WIDTH / 4)]


def test_sun_over_the_limit_rises_over_its_line() -> None:
    plan = SAMPLES["good"]()
    benches = tuple(b for b in plan.benches if b.limits and b.limits.ppfd_umol_m2_s)
    drawing = sun_strip(plan, benches, height=30.0, top_umol=strip_top(plan))
    (limit_y,) = {float(y) for y in re.findall(r'y1="([\d.]+)"[^>]*stroke-dasharray="5 3"', drawing)}
    highest = min(float(y) for y in re.findall(r"[ML][\d.]+ ([\d.]+)", drawing))
    assert highest < limit_y < 30.0


def test_the_one_sentence_names_what_gets_too_hot() -> None:
    plan = SAMPLES["dull"]()
    assert "too hot" not in sentence(plan)
    hot = replace(plan.benches[0], notes=(*plan.benches[0].notes, Note("temperature-over-limit")))
    words = sentence(replace(plan, benches=(hot, *plan.benches[1:])))
    assert f"Too hot: {hot.bench.name}." in words


def test_what_is_done_in_one_walk_stands_on_one_line() -> None:
    """A tent opened and boards laid on at 09:00: one line with two boxes; nothing joins across places."""
    plan = SAMPLES["one-bench"]()
    assert plan.window is not None
    bench = plan.benches[0].bench
    at = plan.window.start + timedelta(hours=3)
    why = Reason("temperature-limit", 48.0, 40.0, "c")

    def order(number: int, action: Action, subject: str | None, where: str | None) -> Order:
        until = at + timedelta(hours=4)
        return Order(
            number, at, until, bench.house, where, action, why, Certainty.SURE, None, subject=subject
        )

    orders = (
        order(1, Action.OPEN_TENT, "rolled-back", bench.id),
        order(2, Action.COVER, "insulation-board", bench.id),
        order(3, Action.VENT, None, None),
    )
    rows = [row for band in sheet_view(replace(plan, orders=orders)).bands for row in band.orders]
    assert [(row.places[0].number, [then.number for then in row.also]) for row in rows] == [
        ("1", ["2"]),
        ("3", []),
    ]
    assert rows[0].reason or rows[0].places[0].reason


def test_the_one_sentence_gives_no_place_anothers_time() -> None:
    plan = SAMPLES["good"]()
    assert plan.window is not None
    why = Reason("vent-limit", 40.0, 24.0, "c")
    house = plan.site.houses[0].id

    def vent(number: int, hours: int) -> Order:
        at = plan.window.start + timedelta(hours=hours)  # type: ignore[union-attr]
        return Order(number, at, None, house, None, Action.VENT, why, Certainty.SURE, None)

    begin = f"{plan.window.start + timedelta(hours=1):%H:%M}"
    alike, apart = (
        sentence(replace(plan, orders=(vent(1, 1), vent(2, second)))).split(";")[1] for second in (1, 3)
    )
    assert f"from {begin}." in alike
    assert f"from {begin} on." in apart
