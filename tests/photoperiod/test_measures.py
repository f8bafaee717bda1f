"""Measures that make a day long or short: against published practice, and by trying all."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta
from itertools import product
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from lightplan.advice.photoperiod.blackout import BlackoutTask, blackouts, cover_for_dark, least_cost
from lightplan.advice.photoperiod.measure import (
    LongDayTask,
    Measure,
    break_span,
    cyclic_share,
    least_measure,
)
from lightplan.advice.photoperiod.season import crossed
from lightplan.advice.photoperiod.seen import DAY_SEEN_DEG, longest_dark, seen_dark
from lightplan.advice.photoperiod.spill import ppfd_at, reach_m, spill_ppfd
from lightplan.crops.day_length import DayKind, bench_aims, day_aim, day_class
from lightplan.site.cover_names import known_cover
from lightplan.site.models import Batch, OwnNeeds, Place, Stage
from lightplan.tables import read_table
from lightplan.twilight import nights
from tests.advice.lamp_cases import LAMPS
from tests.places import bare_site
from tests.report.sites import range_of

H = 3600.0
TASK = LongDayTask(
    natural_h=10.0,
    wanted_h=14.0,
    light_h=0.0,
    lamps_ppfd=80.0,
    kind="led-white",
    minutes=False,
    by_timer=True,
    night_free=True,
    perennial=False,
)


def rule(rule_id: str) -> tuple[float, float]:
    row = next(row for row in read_table("photoperiod_rules") if row["rule_id"] == rule_id)
    return float(row["value_low"]), float(row["value_high"])


@pytest.mark.parametrize(
    ("changes", "measure"),
    [
        ({}, Measure.EXTENSION),  # 4 h either way: one stretch with the day
        ({"natural_h": 14.0}, Measure.NONE),
        ({"natural_h": 13.96}, Measure.NONE),  # two minutes and a half are not worth a lamp
        ({"natural_h": 13.9}, Measure.EXTENSION),
        ({"natural_h": 9.9}, Measure.INTERRUPTION),  # 4.1 h of evening, or 4 in the night
        ({"natural_h": 8.5, "light_h": 6.0}, Measure.EXTENSION),  # lamps burn so long for light anyhow
        ({"natural_h": 7.5, "light_h": 6.0}, Measure.INTERRUPTION),
        ({"natural_h": 8.5, "by_timer": False}, Measure.EXTENSION),
        ({"natural_h": 8.5, "night_free": False}, Measure.EXTENSION),
        ({"minutes": True}, Measure.CYCLIC),  # 0.8 h of lamps
        ({"minutes": True, "natural_h": 13.5}, Measure.EXTENSION),
        ({"minutes": True, "kind": "hps", "natural_h": 9.0}, Measure.INTERRUPTION),
        ({"minutes": True, "kind": "fluorescent", "natural_h": 9.0}, Measure.INTERRUPTION),
        ({"minutes": True, "perennial": True, "natural_h": 12.8}, Measure.EXTENSION),  # 1.33 h by turns
        ({"lamps_ppfd": None}, Measure.NONE),
        ({"lamps_ppfd": 0.9}, Measure.NONE),  # under the usual 1 to 2 µmol (trade digest of 2015, page)
        ({"lamps_ppfd": 1.0}, Measure.EXTENSION),
    ],
)
def test_the_fewest_lamp_hours(changes, measure):
    assert least_measure(replace(TASK, **changes)) is measure


def test_turns_are_those_of_published_trials():
    """6 min in 30 (Blanchard & Runkle 2010), 10 for perennials; a fifth to a quarter (Runkle 2007)."""
    low, high = rule("cyclic_share")
    assert low <= cyclic_share(perennial=False) <= high
    assert cyclic_share(perennial=True) == pytest.approx(1 / 3)


@pytest.mark.parametrize("month", range(1, 13))
def test_night_is_broken_from_22_to_02_on_standard_time(month):
    """Mattson & Erwin 2005, Runkle 2007 (ni_start, ni_end; page): 22:00 to 02:00. In the middle of its zone
    the dark's middle lies within 17 min of midnight all year (equation of time), to the quarter hour: 30 min.
    """
    zone = ZoneInfo("Etc/GMT+5")
    found = nights(bare_site(42.0, -75.0, "Etc/GMT+5"), [date(2026, month, 15)], DAY_SEEN_DEG)
    on, off = (
        datetime.fromtimestamp(t, zone) for t in break_span(float(found.dark_s[0]), float(found.light_s[0]))
    )
    (start, _), (end, _) = rule("ni_start"), rule("ni_end")
    wanted_on = datetime(2026, month, 15, int(start), tzinfo=zone)
    wanted_off = datetime(2026, month, 16, int(end), tzinfo=zone)
    assert abs(on - wanted_on) <= timedelta(minutes=30)
    assert abs(off - wanted_off) <= timedelta(minutes=30)
    assert off - on == timedelta(hours=4)


NOON = 0.0
SUMMER = BlackoutTask(
    night=((9 * H, 16.5 * H),),  # 21:00 to 04:30
    lit=(),
    start=NOON,
    end=24 * H,
    wanted_dark_h=12.0,
    evening=(0.5 * H, 6 * H),  # noon till 18:00
    morning=(18.5 * H, 24 * H),  # from 06:30
)


def by_hand(task: BlackoutTask) -> dict[float, float]:
    """Every half hour against every other."""
    found: dict[float, float] = {}
    times = [[*np.arange(a, b, 0.5 * H), b] for a, b in (task.evening, task.morning)]
    for on, off in product(*times):
        a, b = longest_dark(seen_dark(task.night, covered=((on, off),), lit=task.lit), NOON, 24 * H)
        if b - a >= task.wanted_dark_h * H and off < found.get(on, 1e9):
            found[on] = off
    return found


@pytest.mark.parametrize(
    "task",
    [
        SUMMER,
        replace(SUMMER, wanted_dark_h=14.5),
        replace(SUMMER, night=((4.5 * H, 20 * H),), lit=((6 * H, 11 * H),)),  # winter, a neighbour's lamps
        replace(SUMMER, lit=((-H, 30 * H),)),  # yard light
        replace(SUMMER, evening=(0.0, 2 * H)),
        replace(SUMMER, night=((4.5 * H, 18.5 * H),), wanted_dark_h=14.5),  # dusk is before the cover
    ],
)
def test_covers_lie_while_somebody_is_there_and_only_as_long_as_needed(task):
    found = blackouts(task)
    assert {c.on: c.off for c in found} == by_hand(task)
    assert found
    for c in found:
        assert task.evening[0] <= c.on <= task.evening[1]
        assert task.morning[0] <= c.off <= task.morning[1]
        assert c.dark_h >= task.wanted_dark_h


def test_no_cover_that_nobody_can_take_off():
    assert blackouts(replace(SUMMER, morning=None)) == ()
    assert blackouts(replace(SUMMER, evening=None)) == ()


def test_of_covers_long_enough_the_coolest_then_the_brightest_then_the_shortest():
    three = blackouts(replace(SUMMER, evening=(4.5 * H, 6 * H)))[-3:]
    assert least_cost(three, np.array([30.0, 0.0, 0.0]), np.array([0.0, 1.0, 1.004])) == 2
    assert least_cost(three, np.array([0.0, 5.0, 9.0]), np.array([2.0, 1.0, 0.0])) == 0
    assert least_cost(three, np.zeros(3), np.array([0.5, 0.2, 0.6])) == 1


def test_the_darkest_cover_that_may_lie_by_night():
    names = ("white-tarp", "blackout-film", "blackout-cloth", "wet-paper")
    covers = tuple(known_cover(name) for name in names)
    assert cover_for_dark(covers).name == "blackout-cloth"
    assert cover_for_dark(covers[:1]) is None
    assert cover_for_dark((replace(known_cover("blackout-cloth"), night=False),)) is None
    assert cover_for_dark((replace(known_cover("blackout-cloth"), life_h=3.0),)) is None


def _benches():
    bench = range_of(2, date(2026, 3, 1)).benches[0]
    lit = replace(
        bench, lamps=replace(LAMPS, ppfd_umol_m2_s=100.0), area_m2=12.0, place=Place((0.0, 2.0), (0.0, 6.0))
    )
    return lit, replace(bench, lamps=None, place=Place((5.0, 7.0), (0.0, 6.0)))


def test_spilled_light_adds_up_to_the_lamps_light():
    """All that a lamp of the cosine law sends down lands somewhere: the flux through rings is its own
    (conservation; where the bench's own figure is not capped).
    """
    lit, _ = _benches()
    r = np.linspace(0, 400, 400_001)
    wide = replace(lit, area_m2=0.5)
    e = np.array([ppfd_at(wide, wide.lamps, float(each)) for each in r])
    flux = float(np.trapezoid(e * 2 * np.pi * r, r))
    assert flux == pytest.approx(100.0 * 0.5, rel=0.01)


def test_spill_falls_with_distance_and_reach_is_where_it_ends():
    lit, beside = _benches()
    near = spill_ppfd(lit, beside)
    far = spill_ppfd(lit, replace(beside, place=Place((9.0, 11.0), (0.0, 6.0))))
    assert 0 < far < near < 100
    reach = reach_m(lit, lit.lamps, 0.1)
    assert ppfd_at(lit, lit.lamps, reach) == pytest.approx(0.1)
    assert spill_ppfd(lit, replace(beside, place=None)) is None


@pytest.mark.parametrize(
    ("crop", "kind", "low", "high", "obligate"),
    [
        # Runkle et al. 1998: needs 14 h or longer (page; rudbeckia_min_day)
        ("rudbeckia_fulgida", DayKind.LONG, 13.0, 14.0, True),
        # Spall & Lopez 2022: finish at or below 12 h (page; marigold_max_day)
        ("marigold_african", DayKind.SHORT, 12.0, 13.0, False),
        # no own length: a night of 12 h is a short day, one under 10 h a long one (Lopez & Currey 2014, page)
        ("coleus", DayKind.SHORT, 12.0, 12.0, False),
        ("snapdragon", DayKind.LONG, 14.0, 14.0, False),
    ],
)
def test_critical_lengths_are_the_published_ones(crop, kind, low, high, obligate):
    found = day_class(crop)
    assert (found.kind, found.low_h, found.high_h, found.obligate) == (kind, low, high, obligate)


def test_day_neutral_crops_have_no_class():
    assert day_class("tomato") is None
    assert day_class("pepper") is None


def batch(crop: str, stage: Stage, days: int = 60) -> Batch:
    return Batch(
        crop, stage, date(2026, 3, 1), date(2026, 3, 1) + timedelta(days=days - 1), None, None, False
    )


@pytest.mark.parametrize(
    ("crop", "stage", "day", "aim"),
    [
        ("marigold_african", Stage.FINISHING, 1, (DayKind.SHORT, 12.0)),
        ("marigold_african", Stage.SEEDLING, 1, None),  # plugs grow leaves first
        ("rudbeckia_fulgida", Stage.GROWING_ON, 1, None),
        ("rudbeckia_fulgida", Stage.GROWING_ON, 31, (DayKind.LONG, 14.0)),
        ("onion_leek", Stage.FINISHING, 1, None),  # bulbs are made by long days: not wanted here
        ("tomato", Stage.FINISHING, 1, None),
        ("petunia", Stage.HARDENING, 30, None),
        ("petunia", Stage.FINISHING, 30, (DayKind.LONG, 14.0)),
    ],
)
def test_what_is_wanted_by_stage(crop, stage, day, aim):
    found = day_aim(batch(crop, stage), date(2026, 3, day), {})
    assert (None if found is None else (found.kind, found.wanted_h)) == aim


def test_the_growers_own_word_goes_first():
    plug, key = batch("marigold_african", Stage.SEEDLING), ("marigold_african", Stage.SEEDLING)
    held = day_aim(plug, date(2026, 3, 1), {key: OwnNeeds(flowering="hold-back")})
    assert (held.kind, held.wanted_h, held.flowers) == (DayKind.LONG, 13.0, False)
    own = {key: OwnNeeds(flowering="hasten", critical_day_h=11.0)}
    brought_on = day_aim(plug, date(2026, 3, 1), own)
    assert (brought_on.kind, brought_on.wanted_h, brought_on.checked) == (DayKind.SHORT, 11.0, "site file")
    late = batch("petunia", Stage.FINISHING)
    left = {("petunia", Stage.FINISHING): OwnNeeds(flowering="leave")}
    assert day_aim(late, date(2026, 3, 1), left) is None


def test_on_a_shared_bench_the_strictest_of_each_kind_rules():
    """The shorter of two short days, the longer of two long ones; a short day before any long one."""
    day = date(2026, 3, 1)
    own = {
        ("coleus", Stage.FINISHING): OwnNeeds(critical_day_h=11.0),
        ("petunia", Stage.FINISHING): OwnNeeds(critical_day_h=15.0),
    }
    marigold, coleus, petunia, rudbeckia = (
        batch(crop, Stage.FINISHING) for crop in ("marigold_african", "coleus", "petunia", "rudbeckia_hirta")
    )
    for each in ((marigold, coleus), (coleus, marigold)):
        ruling, against = bench_aims(each, day, own)
        assert (ruling.crop, ruling.wanted_h, against) == ("coleus", 11.0, ())
    for each in ((petunia, rudbeckia), (rudbeckia, petunia)):
        ruling, against = bench_aims(each, day, own)
        assert (ruling.crop, ruling.wanted_h, against) == ("petunia", 15.0, ())
    ruling, against = bench_aims((petunia, marigold), day, own)
    assert ruling.crop == "marigold_african"
    assert [aim.crop for aim in against] == ["petunia"]


YEAR = tuple(date(2026, 1, 1) + timedelta(days=n) for n in range(365))


@pytest.mark.parametrize("south", [False, True])
def test_season_of_need_runs_over_the_years_end_where_winter_does(south):
    """A sine of a day, longest on 21 June or 21 December."""
    turn = 171 + (182 if south else 0)
    day_h = 12 + 4 * np.cos(2 * np.pi * (np.arange(365) - turn) / 365)
    lamps = crossed(YEAR, day_h, kind=DayKind.LONG, critical_h=14.0)
    cover = crossed(YEAR, day_h, kind=DayKind.SHORT, critical_h=12.0)
    assert len(lamps.dates) == len(cover.dates) == 2
    assert (lamps.first > lamps.last) is not south
    assert (cover.first > cover.last) is south
    # a third of the circle round is over 14 h (cos > 1/2), a half over 12
    assert lamps.needed.sum() == pytest.approx(365 * 2 / 3, abs=1)
    assert cover.needed.sum() == pytest.approx(365 / 2, abs=1)
    for found in (lamps, cover):
        assert found.needed[YEAR.index(found.first)]
        assert not found.needed[YEAR.index(found.first) - 1]
        assert found.needed[YEAR.index(found.last)]
        assert not found.needed[(YEAR.index(found.last) + 1) % 365]


def test_a_length_never_reached_is_no_season():
    day_h = np.full(365, 12.1)
    assert crossed(YEAR, day_h, kind=DayKind.LONG, critical_h=12.0).first is None
    all_year = crossed(YEAR, day_h, kind=DayKind.LONG, critical_h=14.0)
    assert all_year.all_year
    assert (all_year.first, all_year.last, all_year.dates) == (YEAR[0], YEAR[-1], ())
