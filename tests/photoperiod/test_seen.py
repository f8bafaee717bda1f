"""The day that plants see, held against a minute-by-minute count and the trade's definitions."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lightplan.advice.photoperiod.seen import (
    joined,
    longest_dark,
    photoperiod_h,
    seen_dark,
    share_dark,
    spans_of,
    without,
)

H = 3600.0
NOON, NEXT = 0.0, 24 * H
NIGHT = ((7 * H, 17 * H),)  # ten hours: dusk at 19:00, dawn at 05:00

minutes = st.integers(0, 1440)
stretches = st.lists(st.tuples(minutes, minutes).map(sorted), max_size=4)


def seconds(pairs):
    return tuple((60.0 * a, 60.0 * b) for a, b in pairs)


def counted(night, covered, lit, under):
    """Minutes of a day, one by one."""

    def mask(pairs):
        found = np.zeros(1440, dtype=bool)
        for a, b in pairs:
            found[a:b] = True
        return found

    dark = ((mask(night) & ~mask(lit)) | mask(covered)) & ~mask(under)
    best = run = 0
    for one in dark:
        run = run + 1 if one else 0
        best = max(best, run)
    return 24 - best / 60


@given(stretches, stretches, stretches, stretches)
def test_the_same_as_counting_minutes(night, covered, lit, under):
    dark = seen_dark(
        seconds(night), covered=seconds(covered), lit=seconds(lit), lit_under_cover=seconds(under)
    )
    assert photoperiod_h(dark, NOON, NEXT) == pytest.approx(counted(night, covered, lit, under), abs=1e-9)


@given(stretches, stretches)
def test_light_never_makes_the_day_shorter_nor_a_cover_longer(night, more):
    bare = photoperiod_h(seen_dark(seconds(night), covered=(), lit=()), NOON, NEXT)
    assert photoperiod_h(seen_dark(seconds(night), covered=(), lit=seconds(more)), NOON, NEXT) >= bare
    assert photoperiod_h(seen_dark(seconds(night), covered=seconds(more), lit=()), NOON, NEXT) <= bare


@given(stretches, stretches)
def test_parts_make_the_whole(some, taken):
    left, gone = without(seconds(some), seconds(taken)), joined(seconds(taken))
    whole = joined((*seconds(some), *seconds(taken)))
    assert joined((*left, *gone)) == whole


def test_a_broken_night_is_a_long_day():
    """A night of 10 h broken for 4 h in its middle leaves 3 h of dark at most: 21 h of day by the design's
    definition. A night shorter than 10 h is a long day for many crops (Lopez & Currey 2014, page).
    """
    middle = ((10 * H, 14 * H),)
    assert photoperiod_h(seen_dark(NIGHT, covered=(), lit=middle), NOON, NEXT) == 21.0
    assert photoperiod_h(NIGHT, NOON, NEXT) == 14.0


def test_lamps_of_the_evening_lengthen_the_day_and_a_cover_shuts_them_out():
    evening = ((6 * H, 10 * H),)
    assert photoperiod_h(seen_dark(NIGHT, covered=(), lit=evening), NOON, NEXT) == 17.0
    cover = ((5 * H, 20 * H),)  # 17:00 to 08:00: 15 h of dark (MSU hanging-basket trials 1997, page)
    assert photoperiod_h(seen_dark(NIGHT, covered=cover, lit=evening), NOON, NEXT) == 9.0
    under = seen_dark(NIGHT, covered=cover, lit=(), lit_under_cover=evening)
    assert photoperiod_h(under, NOON, NEXT) == 14.0  # lamps inside a covered tent: dark from 22:00 to 08:00


def test_yard_light_all_night_leaves_no_dark():
    assert photoperiod_h(seen_dark(NIGHT, covered=(), lit=((-H, 30 * H),)), NOON, NEXT) == 24.0


def test_dark_counts_within_its_noons_only():
    assert longest_dark(((-30 * H, 2 * H), (20 * H, 60 * H)), NOON, NEXT) == (20 * H, 24 * H)
    assert photoperiod_h((), NOON, NEXT) == 24.0


@given(st.lists(st.booleans(), min_size=1, max_size=96))
def test_masks_and_stretches_tell_the_same(lit):
    mask = np.array(lit)
    spans = spans_of(mask, 1000.0, 900.0)
    assert share_dark(spans, 1000.0, 900.0, len(mask)) == pytest.approx(mask.astype(float))


def test_share_of_a_step_is_exact():
    assert share_dark(((450.0, 1500.0),), 0.0, 900.0, 3) == pytest.approx([0.5, 2 / 3, 0.0])
