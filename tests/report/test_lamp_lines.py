"""What the sheet says about the lamps together: hours, energy, cost, power against what may be drawn."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date

import numpy as np

from lightplan.dayplan import Action, DayPlan, LampDay, LampsTogether, Reason
from lightplan.report.lamp_lines import lamp_lines
from lightplan.report.power_strip import power_strip
from lightplan.report.reasons import reason_words
from lightplan.report.sheet import sheet_view
from lightplan.report.units import units_of
from lightplan.site.models import Power
from tests.report.samples import SAMPLES

TOGETHER = LampsTogether(np.zeros(4 * 96), 2.0, None, 0.0, ())


def plan_with(kwh: tuple[float, ...], *, cost: float | None = None, **together: object) -> DayPlan:
    """The dull sample with lamps on its first benches only."""
    plan = SAMPLES["dull"]()
    lit = [b for b in plan.benches if b.lamps.intervals][: len(kwh)]
    figures = dict(zip((b.bench.id for b in lit), kwh, strict=True))
    benches = tuple(
        replace(b, lamps=replace(b.lamps, hours=2.25, kwh=figures[b.bench.id], cost=cost))
        if b.bench.id in figures
        else replace(b, lamps=LampDay((), (), 0.0, 0.0, 0.0, None))
        for b in plan.benches
    )
    site = replace(plan.site, power=Power("EUR", 4.0, 1.0, 0.0, ()) if cost is not None else None)
    return replace(plan, site=site, benches=benches, lamps_together=replace(TOGETHER, **together))  # type: ignore[arg-type]


def test_hours_energy_and_cost_of_each_bench_and_together() -> None:
    words = lamp_lines(plan_with((1.2, 0.6), cost=0.5))[0]
    assert "2 h 15 min, 1.2 kWh, EUR 0.50;" in words
    assert "together 1.8 kWh, EUR 1.00, at most 0 kW at once of the 2 that lamps may draw." in words
    assert lamp_lines(plan_with(())) == ()


def test_without_prices_there_is_no_cost() -> None:
    words = lamp_lines(plan_with((1.35,)))[0]
    assert "1.4 kWh" in words
    assert "EUR" not in words


def test_peak_charge_and_a_search_cut_short_are_told() -> None:
    lines = lamp_lines(plan_with((1.35,), cost=0.5, peak_cost=4.2, solver_gap=0.034))
    assert "EUR 4.20 on the month's peak charge" in lines[0]
    assert "a plan up to 3 % cheaper may exist" in lines[1]
    lines = lamp_lines(plan_with((1.35,), cost=0.5, peak_cost=4.2, solver_gap=0.034, short_gap=0.12))
    assert "up to 12 % of the light that is short might still be found" in lines[1]
    assert "cheaper" not in lines[1]
    near = lamp_lines(plan_with((1.35,), cost=0.5, solver_gap=0.004, short_gap=0.004))
    assert not any("cut short" in line for line in near)


def test_spare_lamps_go_first_where_most_is_lacking() -> None:
    ids = [b.bench.id for b in SAMPLES["dull"]().benches]
    names = [b.bench.name for b in SAMPLES["dull"]().benches]
    lines = lamp_lines(plan_with((1.0,), needed_first=((ids[1], 4.6), (ids[0], 2.0))))
    assert lines[1] == (
        f"If lamps fail, spare ones go first to {names[1]} (4.6 mol short on a poor day) and {names[0]} (2)."
    )


def test_power_stands_at_its_hours_under_the_bound() -> None:
    power = np.zeros(4 * 96)
    power[20:30] = 1.0  # 05:00 to 07:30
    strip = power_strip(plan_with((1.0,), power_kw=power), 20.0)
    assert strip is not None
    assert strip.figures == "1 of 2 kW (line)"
    (points,) = re.findall(r'<path d="M([^"]+)Z"', str(strip.drawing))
    drawn = [tuple(map(float, point.split())) for point in points.split("L")]
    up = [x for x, y in drawn if y < 20]
    assert (min(up), max(up)) == (480 * 20 / 96, 480 * 30 / 96)
    assert min(y for _, y in drawn) == 20 - round(20 / 2.12, 2)
    assert power_strip(plan_with((1.0,)), 20.0) is None
    assert power_strip(plan_with((1.0,), power_kw=power, most_kw=None), 20.0) is None


def test_the_strip_is_on_the_sheet() -> None:
    power = np.zeros(4 * 96)
    power[20:30] = 1.0
    view = sheet_view(plan_with((1.0,), power_kw=power))
    assert view.strips is not None
    assert view.strips.houses[-1].name == "Lamps"


def test_a_bright_day_ahead_is_named() -> None:
    units = units_of(SAMPLES["dull"]().site)
    friday = date(2026, 1, 16)
    owed = Reason("account-owed", -1.2, 4.0, "mol", friday)
    assert (
        reason_words(owed, units)
        == "1.2 mol owed from past days, 4 is the most; bright Friday makes up the rest"
    )
    ahead = Reason("bright-ahead", 18.04, 12.0, "mol", friday)
    assert reason_words(ahead, units) == "Friday is bright, its 18 of 12 mol make up for today"
    short = Reason("dli-short-ahead", 3.1, 12.0, "mol", friday)
    assert reason_words(short, units) == "Friday is expected to bring only 3.1 of 12 mol"


def test_an_empty_bench_is_one_line_with_its_number() -> None:
    plan = SAMPLES["dull"]()
    empty = next(b for b in plan.benches if not b.batches)
    number = len(plan.orders) + 1
    leave = replace(
        plan.orders[0],
        number=number,
        bench=empty.bench.id,
        house=empty.bench.house,
        action=Action.LEAVE_ALONE,
        why=Reason("no-batch"),
    )
    plan = replace(plan, orders=(*plan.orders, leave))
    view = sheet_view(plan)
    assert f"Empty: {number} {empty.bench.name}." in view.no_work
    numbers = {place.number for band in view.bands for row in band.orders for place in row.places}
    numbers |= {number for band in view.bands for row in band.routine for number, _ in row.places}
    assert str(number) not in numbers
    assert numbers == {str(o.number) for o in plan.orders} - {str(number)}
