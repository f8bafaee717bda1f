"""Crops against houses: marks by hand, books and questions, moves that gain."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from lightplan.crops.needs import bench_needs
from lightplan.site.models import Batch, OwnNeeds, Stage
from lightplan.year.fit import Mark, crop_fits, mark_of, moves


@pytest.mark.parametrize(
    ("light", "mark"),
    [
        (6.9, Mark.UNDER_MINIMUM),
        (7.0, Mark.SHORT),
        (9.99, Mark.SHORT),
        (10.0, Mark.ON_TARGET),
        (15.0, Mark.ON_TARGET),
        (15.1, Mark.OVER),
    ],
)
def test_marks_of_a_week(light, mark):
    assert mark_of(light, minimum=7, target=10, limit=15) is mark


def test_every_batch_of_the_year_that_needs_light_and_what_was_asked(answer):
    year = answer.answer.year
    on_books = [
        (one.bench.id, b.crop)
        for one in year.benches
        for b in sorted(one.bench.batches, key=lambda b: b.from_date)
        if b.stage is not Stage.GERMINATION and b.from_date.year <= 2026 <= b.to_date.year
    ]
    fits = answer.answer.fits
    assert [(f.bench.id, f.crop) for f in fits if f.bench is not None] == on_books
    assert [(f.crop, f.stage) for f in fits if f.bench is None] == [("tomato", Stage.FINISHING)]
    assert all([h.house_id for h in f.houses] == [h.house.id for h in year.houses] for f in fits)


def test_a_fit_is_its_weeks_light_beside_its_needs(answer):
    """Lettuce seedlings of autumn in the block: short and marks worked out again week by week."""
    year = answer.answer.year
    fit = next(f for f in answer.answer.fits if f.crop == "lettuce" and f.stage is Stage.SEEDLING)
    inside = year.house("block").light.inside_mol
    batch = next(b for b in fit.bench.batches if b.crop == "lettuce")
    bench = replace(fit.bench, batches=(batch,))
    short, marks = 0.0, []
    for week in year.weeks:
        days = [
            n
            for n in range(week.days.start, week.days.stop)
            if batch.from_date <= year.grid.dates[n] <= batch.to_date
        ]
        if not days:
            marks.append(None)
            continue
        needs = bench_needs(bench, year.grid.dates[days[0]], {}).needs
        light = np.mean([inside[n] for n in days])
        short += max(0.0, needs.target - light) * len(days)
        over = needs.limit is not None and light > needs.limit
        enough, least = light >= needs.target, light >= needs.minimum
        marks.append(
            Mark.OVER if over else Mark.ON_TARGET if enough else Mark.SHORT if least else Mark.UNDER_MINIMUM
        )
    assert fit.house("block").short_mol == pytest.approx(short)
    assert fit.house("block").marks == tuple(marks)
    assert Mark.UNDER_MINIMUM in marks and Mark.ON_TARGET in marks


def brighter(year, house_id, times):
    """The year with one house so many times as bright."""
    return replace(
        year,
        houses=tuple(
            replace(one, light=replace(one.light, inside_mol=one.light.inside_mol * times))
            if one.house.id == house_id
            else one
            for one in year.houses
        ),
    )


def test_moves_gain_and_the_greatest_comes_first(answer):
    year = brighter(answer.answer.year, "wall", 1.3)
    found = moves(crop_fits(year), year)
    assert [m.gain_mol for m in found] == sorted((m.gain_mol for m in found), reverse=True)
    assert found
    for move in found:
        own = move.fit.house(move.fit.bench.house)
        assert move.gain_mol == pytest.approx(own.gap_mol - move.to.gap_mol)
        assert move.gain_mol > 0
        assert move.to.gap_mol == min(h.gap_mol for h in move.fit.houses)
        steps = [
            n
            for n, day in enumerate(year.grid.day)
            if move.fit.from_date <= year.grid.dates[day] <= move.fit.to_date
        ]
        here, there = (year.house(h).heat.air_c[steps] for h in (own.house_id, move.to.house_id))
        assert move.warmer_k == pytest.approx(there.mean() - here.mean())
        assert move.coldest_c == there.min() >= 4


def test_of_houses_as_good_the_own_one_is_best(answer):
    fit = next(f for f in crop_fits(answer.answer.year) if f.bench is not None and f.bench.house == "wall")
    alike = replace(fit, houses=tuple(replace(h, short_mol=10.0, over_mol=0.0) for h in fit.houses))
    assert alike.best.house_id == "wall" != alike.houses[0].house_id


@pytest.mark.parametrize(("a_day", "is_worth_it"), [(0.4, False), (0.6, True)])
def test_a_move_is_worth_half_a_mol_a_day(answer, a_day, is_worth_it):
    year = answer.answer.year
    fit = next(f for f in crop_fits(year) if f.crop == "petunia")
    block, wall, frame = (replace(h, short_mol=300.0, over_mol=0.0) for h in fit.houses)
    better = replace(wall, short_mol=300.0 - a_day * fit.days)
    found = moves((replace(fit, houses=(block, better, frame)),), year)
    assert [m.to.house_id for m in found] == (["wall"] if is_worth_it else [])
    if found:
        assert found[0].gain_mol == pytest.approx(a_day * fit.days)


def test_over_counts_from_the_limit_not_from_the_target(answer):
    """A begonia of own values, target 5 and limit 16, in June."""
    year = answer.answer.year
    one = next(b for b in year.benches if b.bench.id == "middle")
    first, last = date(2026, 6, 1), date(2026, 6, 28)  # four whole weeks
    batch = Batch("begonia_wax", Stage.FINISHING, first, last, None, None, False)
    needs = {("begonia_wax", Stage.FINISHING): OwnNeeds(target=5.0, limit=16.0)}
    benches = (replace(one, bench=replace(one.bench, batches=(batch,))),)
    fit = crop_fits(replace(year, site=replace(year.site, own_needs=needs), benches=benches))[0]
    start = year.grid.dates.index(first)
    weeks = year.house("block").light.inside_mol[start : start + 28].reshape(4, 7).mean(axis=1)
    assert fit.house("block").over_mol == pytest.approx(7 * np.maximum(weeks - 16.0, 0.0).sum())
    assert fit.house("block").over_mol > 50
    assert fit.house("block").short_mol == 0.0


def test_nothing_is_sent_into_frost(answer):
    """The cold frame three times as bright: crops of January are sent there only were it warmer too."""
    year = brighter(answer.answer.year, "frame", 3)
    sent = [m for m in moves(crop_fits(year), year) if m.to.house_id == "frame"]
    held = {m.fit.crop for m in sent}
    assert not {"geranium_seed", "parsley"} & held  # January: there they would have 100 mol more
    *others, frame = year.houses
    warm = replace(frame, heat=replace(frame.heat, air_c=frame.heat.air_c + 10))
    heated = replace(year, houses=(*others, warm))
    assert {"geranium_seed", "parsley"} <= {m.fit.crop for m in moves(crop_fits(heated), heated)}


def test_a_house_gone_dark_sends_its_crops_away(answer):
    """The block at a third of its light: what stood well there is told to move."""
    year = answer.answer.year
    dark = brighter(year, "block", 1 / 3)
    before = {(m.fit.bench.id, m.fit.crop) for m in moves(crop_fits(year), year)}
    after = moves(crop_fits(dark), dark)
    assert ("plugs", "dahlia") in {(m.fit.bench.id, m.fit.crop) for m in after} - before
    assert after[0].gain_mol > 100
