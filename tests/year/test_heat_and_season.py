"""Heat, lamps and the dates of the season of a sample's year."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from lightplan.clock import STEP_S, STEPS_PER_H
from lightplan.heat.house_air import house_heat
from lightplan.light import daily_light_integral
from lightplan.year.heat import bench_heat_year, day_limits, day_peaks, shaded_house
from lightplan.year.season import season_dates


def bench(answer, name):
    return next(one for one in answer.answer.year.benches if one.bench.id == name)


def test_the_year_sums_what_every_step_brings(answer):
    year = answer.answer.year
    for one in year.benches:
        assert one.light.inside_mol == pytest.approx(daily_light_integral(one.sun.open, year.grid))
        assert (one.light.beam_mol <= one.light.inside_mol + 1e-9).all()


def test_lamp_light_hours_and_energy_are_one(answer):
    year = answer.answer.year
    for one in year.benches:
        if one.lamps is None:
            continue
        lamps = one.bench.lamps
        assert one.lamps.mol == pytest.approx(one.lamps.hours * 3600 / 1e6 * lamps.ppfd_now_umol_m2_s)
        assert one.lamps.kwh == pytest.approx(one.lamps.hours * lamps.power_kw * lamps.working)
        lit = np.bincount(year.grid.day, weights=one.lamps.lit, minlength=len(year.grid.dates))
        assert lit / STEPS_PER_H == pytest.approx(one.lamps.hours)
        assert ((one.lamps.lit >= 0) & (one.lamps.lit <= 1)).all()
    total = sum(one.lamps.kwh.sum() for one in year.benches if one.lamps is not None)
    assert year.lamps.kwh == pytest.approx(total)
    cost = sum(one.lamps.cost.sum() for one in year.benches if one.lamps is not None)
    assert year.lamps.cost == pytest.approx(cost)  # no peak charges here


def test_a_day_s_deficit_is_never_less_than_nothing_carried_over_the_year(answer):
    """The year's lamp light fills the year's gap: not below what days alone lack less what is carried."""
    one = bench(answer, "plugs")
    targets = np.array([0.0 if n is None or n.target is None else n.target for n in one.needs])
    by_day = np.maximum(targets - one.light.inside_mol, 0.0).sum()
    over_all = max(float((targets - one.light.inside_mol)[targets > 0].sum()), 0.0)
    assert over_all <= one.lamps.mol.sum() < by_day


def test_days_over_a_limit_are_counted_minute_by_minute(answer):
    year = answer.answer.year
    one = bench(answer, "plugs")
    limits = day_limits(year.site, one.bench, year.grid)
    air = year.house("block").heat.air_c
    for day in np.flatnonzero([limit is not None for limit in limits])[::9]:
        minutes = 15 * int((air[year.grid.day == day] > limits[day].temperature_c).sum())
        upper = limits[day].temperature_upper_c
        higher = 0 if upper is None else 15 * int((air[year.grid.day == day] > upper).sum())
        passed = minutes > limits[day].temperature_minutes or (
            upper is not None and higher > limits[day].temperature_upper_minutes
        )
        assert one.heat.too_hot[day] == passed


def test_a_tent_is_hotter_than_its_house_and_vents_by_hand_count_as_opened(answer):
    year = answer.answer.year
    house = year.house("block").heat
    seed = bench(answer, "seed").heat
    assert seed.peak_c.max() > day_peaks(house.air_c, year.grid).max() + 10
    wall = year.house("wall")
    assert wall.house.vents_by == "hand"
    shut = house_heat(
        wall.heat.ready.body,
        outdoor_c=year.sky.temp_air_c,
        sun_w_m2=wall.heat.ready.sun_w_m2,
        vents=replace(wall.heat.ready.vents, most=0.0),
    )
    assert shut.max() > wall.heat.air_c.max() + 2  # its door alone moves little air


def test_heating_is_the_loss_that_sun_and_lamps_leave(answer):
    """A night's heat by hand: no sun, air held, loss per kelvin times what is missing outdoors."""
    year = answer.answer.year
    heat = year.house("frame").heat
    body = heat.ready.body
    night = (heat.ready.sun_w_m2 == 0) & (heat.ready.outdoor_c < body.heat_to_c - 1)
    per_k = body.loss_w_m2k + body.air_w_m2k * body.changes_closed
    least = (per_k * (body.heat_to_c - heat.ready.outdoor_c))[night].sum() * STEP_S / 3.6e6 * body.floor_m2
    assert 0 < heat.heating_kwh.sum() == pytest.approx(least, rel=0.25)


def test_shade_cools_and_the_fixed_one_keeps_the_target(answer):
    year = answer.answer.year
    block = year.house("block")
    assert shaded_house(block.heat, 0.5).max() < block.heat.air_c.max()
    shade = next(one for one in answer.answer.dates.shades if one.house_id == "block")
    share = sum(shade.cover.transmittance) / 2
    assert shade.left < shade.passed_days
    for one in year.benches:
        if one.bench.house != "block" or one.bench.tent is not None:
            continue
        for week in np.flatnonzero(shade.weeks):
            days = year.weeks[week].days
            asked = [n.target for n in one.needs[days] if n is not None and n.target is not None]
            light = share * one.light.inside_mol[days].mean()
            assert light >= sum(asked) / len(one.needs[days]) - 1e-9


def test_a_year_without_limits_needs_no_shade_and_no_covers(answer):
    year = answer.answer.year
    free = []
    for one in year.benches:
        heat = bench_heat_year(
            year.site,
            one.bench,
            one.sun,
            year.sky,
            grid=year.grid,
            air_c=year.house(one.bench.house).heat.air_c,
            lit=None,
            limits=(None,) * len(year.grid.dates),
        )
        assert not heat.remedy.any()
        free.append(replace(one, heat=heat))
    dates = season_dates(replace(year, benches=tuple(free)))
    assert dates.shades == ()
    assert dates.covers.first is None is dates.tents.first


def test_winter_lamps_begin_in_autumn_and_end_in_spring(answer):
    lamps = answer.answer.dates.lamps
    assert lamps.first.month in (9, 10) and lamps.last.month in (2, 3, 4)
    assert lamps.first > lamps.last
    seed = next(one for one in answer.answer.dates.benches if one.bench_id == "seed")
    assert seed.lamps.first is None and seed.seed_lamps.weeks.any()
