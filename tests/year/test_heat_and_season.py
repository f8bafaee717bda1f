"""Heat, lamps and the dates of the season of a sample's year."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from types import SimpleNamespace

import numpy as np
import pytest

from lightplan.clock import STEP_S, STEPS_PER_H
from lightplan.heat.house_air import house_heat
from lightplan.light import daily_light_integral
from lightplan.site.models import Stage
from lightplan.year.beside import what_if
from lightplan.year.heat import bench_heat_year, day_limits, day_peaks, house_heat_year, shaded_house
from lightplan.year.light import house_sun
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


def passes(year, one, air_c, light_ppfd, limits):
    """Heat of a bench in air and light of our own, its limits the same every day."""
    steps = len(year.grid)
    even = np.full(steps, light_ppfd)
    return bench_heat_year(
        year.site,
        one.bench,
        SimpleNamespace(open=even, untented=even),
        year.sky,
        grid=year.grid,
        air_c=air_c,
        lit=None,
        limits=(limits,) * len(year.grid.dates),
    )


def test_minutes_borne_are_borne(answer):
    """An hour over a limit that is borne for an hour is no day too hot; a quarter more is."""
    year, one = answer.answer.year, bench(answer, "plugs")
    limits = replace(
        day_limits(year.site, one.bench, year.grid)[20], temperature_c=30.0, temperature_minutes=60
    )
    limits = replace(limits, temperature_upper_c=None, temperature_upper_minutes=None)
    for minutes, too_hot in ((60, False), (75, True)):
        air = np.where((year.grid.minute >= 720) & (year.grid.minute < 720 + minutes), 31.0, 20.0)
        assert passes(year, one, air, 0.0, limits).too_hot.all() == too_hot
        assert passes(year, one, air, 0.0, limits).too_hot.any() == too_hot


def test_light_hurts_older_plants_only_in_air_that_vents_no_longer_cool(answer):
    """Petunia growing on: 5 K over the venting temperature its light limit counts, 3 K over it does not."""
    year, one = answer.answer.year, bench(answer, "middle")
    april = year.grid.dates.index(date(2026, 4, 10))
    limits = replace(
        day_limits(year.site, one.bench, year.grid)[april], ppfd_umol_m2_s=500.0, ppfd_minutes=60
    )
    vent = year.house("block").house.vent_at_c
    for over_k, bright in ((3.0, False), (5.0, True)):
        air = np.full(len(year.grid), vent + over_k)
        assert passes(year, one, air, 600.0, limits).too_bright[april] == bright
        assert not passes(year, one, air, 400.0, limits).too_bright[april]


def test_a_floor_full_of_plants_is_cooler_than_one_of_trays(answer):
    """More of the sun's heat goes into water: the block in May, its floor full, then with seedlings alone."""
    year = answer.answer.year
    house, may = year.house("block").house, year.grid.dates.index(date(2026, 5, 15))
    big = [replace(b, area_m2=b.area_m2 * 9) for b in year.site.benches if b.house == "block"]
    trays = [replace(b, batches=tuple(replace(x, stage=Stage.SEEDLING) for x in b.batches)) for b in big]
    sun = house_sun(
        house, SimpleNamespace(beam=lambda z, a: 0.7 + 0 * z, diffuse=lambda: 0.7), year.sky, year.grid
    )
    peaks = []
    for benches in (big, trays):
        site = replace(year.site, benches=tuple(benches))
        air = house_heat_year(site, house, sun, year.sky, grid=year.grid, lit={}).air_c
        peaks.append(air[year.grid.day == may].max())
    assert peaks[0] < peaks[1] - 0.5


def test_lamps_burn_in_the_dullest_allowed_steps_of_a_day(answer):
    year, one = answer.answer.year, bench(answer, "plugs")
    lit, minute = one.lamps.lit, year.grid.minute
    allowed = np.any([(minute >= a) & (minute < b) for a, b in one.bench.lamp_hours], axis=0)
    assert not lit[~allowed].any() and not allowed.all()
    days = np.flatnonzero((one.lamps.hours > 1) & (one.lamps.hours < 10))
    assert len(days) > 20
    for day in days:
        here = (year.grid.day == day) & allowed
        assert one.sun.open[here & (lit > 0)].max() <= one.sun.open[here & (lit == 0)].min() + 1e-9


def test_all_power_of_lit_lamps_warms_the_house(answer):
    year = answer.answer.year
    heat = year.house("block").heat
    watts = sum(
        one.lamps.lit * one.bench.lamps.power_kw * 1000 * one.bench.lamps.working
        for one in year.benches
        if one.bench.house == "block" and one.lamps is not None
    )
    assert heat.ready.dry_w_m2 == pytest.approx(watts / heat.ready.body.floor_m2)
    assert heat.ready.dry_w_m2.max() > 5


def test_no_house_takes_more_heat_than_its_heater_gives(answer):
    year = answer.answer.year
    house = replace(year.house("block").house, can_heat_kw=30.0)
    sun = house_sun(
        house, SimpleNamespace(beam=lambda z, a: 0.7 + 0 * z, diffuse=lambda: 0.7), year.sky, year.grid
    )
    kwh = house_heat_year(year.site, house, sun, year.sky, grid=year.grid, lit={}).heating_kwh
    assert 0.9 * 30 * 24 < kwh.max() <= 30 * 24 + 1e-6 < year.house("block").heat.heating_kwh.max()


def test_a_bench_is_dull_in_the_weeks_whose_sun_is_under_its_minimum(answer):
    year, one = answer.answer.year, bench(answer, "plugs")
    season = next(found for found in answer.answer.dates.benches if found.bench_id == "plugs")
    for number, week in enumerate(year.weeks):
        least = [0.0 if n is None or n.minimum is None else n.minimum for n in one.needs[week.days]]
        assert season.dull.weeks[number] == (one.light.inside_mol[week.days].mean() < np.mean(least))
    assert season.dull.first.month in (9, 10, 11) and season.dull.last.month in (1, 2, 3)


def test_days_that_need_a_hand_are_hot_or_bright_ones_on_any_bench(answer):
    year = answer.answer.year
    days = sum(int((one.heat.too_hot | one.heat.too_bright).sum()) for one in year.benches)
    assert what_if((), year, year).remedy_days == (days, days)
    assert days > sum(int(one.heat.too_hot.sum()) for one in year.benches)


def test_a_fixed_shade_takes_its_share_while_it_is_up(answer):
    year = answer.answer.year
    shade = next(one for one in answer.answer.dates.shades if one.house_id == "block")
    days = np.concatenate([np.arange(365)[year.weeks[n].days] for n in np.flatnonzero(shade.weeks)])
    low, high = shade.cover.transmittance
    taken = (1 - (low + high) / 2) * year.house("block").light.inside_mol[days].mean()
    assert shade.lost_mol == pytest.approx(taken)
