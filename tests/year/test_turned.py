"""Weeks in which seed wants its day turned round: the same answer as `invert` gives for the same days."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from lightplan.clock import grid_over
from lightplan.house.kept import kept_house_light
from lightplan.inversion_plan import ahead, invert, question
from lightplan.report.houses_words import turned_words
from lightplan.site.cover_names import known_cover
from lightplan.site.models import Batch, OwnNeeds, Stage
from lightplan.weather.year import year_weather
from lightplan.year.turned import turned_seasons


@pytest.fixture(scope="module")
def year(answer):
    return answer.answer.year


def with_seed(year, *batches, **changed):
    """The year with the seed bench holding other batches, and whatever else is changed of it."""
    one = next(one for one in year.benches if one.bench.id == "seed")
    bench = replace(one.bench, batches=batches or one.bench.batches, **changed)
    return replace(year, benches=tuple(replace(one, bench=bench) if o is one else o for o in year.benches))


def batch(crop, first, last):
    return Batch(crop, Stage.GERMINATION, first, last, first, None, False)


def needed(year, monday):
    turned = next(turned_seasons(year))
    return bool(turned.need.weeks[next(n for n, week in enumerate(year.weeks) if week.first == monday)])


@pytest.mark.parametrize(
    ("crop", "monday", "hot"),
    [
        ("primula", date(2026, 7, 13), True),
        ("tomato", date(2026, 5, 4), True),
        ("geranium", date(2026, 11, 23), False),
        ("onion", date(2026, 2, 2), False),
    ],
)
def test_a_week_is_needed_where_invert_says_so(year, crop, monday, hot):
    """`invert` goes its own way: its own stretch of weather, its own house air, its own weeks."""
    site, sunday = year.site, monday + timedelta(days=6)
    board = known_cover("insulation-board")
    bench = next(b for b in site.benches if b.id == "seed")
    bench = replace(bench, covers=(*bench.covers, board))
    able = replace(site, benches=tuple(bench if b.id == "seed" else b for b in site.benches))
    first, days = ahead(monday, monday, 30)
    grid = grid_over(first, days, site.timezone)
    lights = {h.id: kept_house_light(h, site.folder / "cache") for h in site.houses}
    asked = question(able, "seed", crop, monday, monday)
    weather = year_weather(site, grid)
    week = invert(able, asked, weather, grid=grid, lights=lights, beside=False).weeks[0]
    theirs = min(week.open.days_over, week.shaded.days_over) > 0.2 * 7
    sown = with_seed(year, batch(asked.crop, monday, sunday))
    looked_into = replace(sown, benches=tuple(_always_looked_into(one) for one in sown.benches))
    assert needed(looked_into, monday) == theirs == hot


def _always_looked_into(one):
    heat = replace(one.heat, too_hot=np.ones_like(one.heat.too_hot))
    return replace(one, heat=heat) if one.bench.id == "seed" else one


def test_only_weeks_with_seed_count_and_what_is_lacking_is_told(year):
    turned = next(turned_seasons(year))
    assert set(turned.crops) == {"cosmos_bipinnatus", "primula"}
    there = {
        day
        for b in turned.bench.batches
        if b.crop in turned.crops
        for day in year.grid.dates
        if b.from_date <= day <= b.to_date
    }
    for n in np.flatnonzero(turned.need.weeks):
        assert there & set(year.grid.dates[year.weeks[n].days])
    assert (turned.lacks_lamps, turned.lacks_dark) == (False, True)
    assert turned_words(turned).endswith(
        "5 weeks: cosmos bipinnatus and primula. The bench lacks a dark cover"
    )
    dark = next(turned_seasons(with_seed(year, covers=(known_cover("foil-board"),), lamps=None)))
    assert (dark.lacks_lamps, dark.lacks_dark) == (True, False)


def test_seed_that_bears_heat_needs_no_turned_day(year):
    needs = {
        **year.site.own_needs,
        ("primula", Stage.GERMINATION): OwnNeeds(limit_c=55.0),
        ("cosmos_bipinnatus", Stage.GERMINATION): OwnNeeds(limit_c=55.0),
    }
    bears = replace(year, site=replace(year.site, own_needs=needs))
    turned = next(turned_seasons(bears))
    assert not turned.need.weeks.any() and turned.crops == ()
