"""Needs and limits by crop and stage, held against the tables' rows read by hand."""

from __future__ import annotations

import math
from datetime import timedelta

import pytest

from lightplan.crops.limits import bench_limits, upper_ppfd
from lightplan.crops.needs import bench_needs, emergence_window
from lightplan.site.models import OwnNeeds, Stage
from lightplan.tables import read_table
from tests.crops.benches import START, batch_of, bench_with

MERGED = [row["crop"] for row in read_table("crops_light") if row["record"] == "merged"]
SEEDS = [row["crop"] for row in read_table("crops_germination") if row["record"] == "merged"]


def _on(crop: str, stage: Stage, day: int = 0, days: int = 30, own=None):
    bench = bench_with(batch_of(crop, stage, days))
    return bench_needs(bench, START + timedelta(days=day), own or {}).needs


@pytest.mark.parametrize("crop", MERGED)
@pytest.mark.parametrize("stage", list(Stage))
def test_every_crop_passes_through_every_stage(crop, stage):
    for day in (0, 14, 15, 29):
        needs = _on(crop, stage, day)
        assert needs is not None
        if stage is Stage.GERMINATION:
            assert (needs.minimum, needs.target, needs.dark_h) == (None, None, 0.0)
            continue
        assert 0 < needs.minimum <= needs.target
        assert math.isclose(needs.most_in_hand, needs.target - needs.minimum)
        assert needs.lamps_allowed is (stage is not Stage.HARDENING)
        assert needs.checked in {"page", "memory"}
    limits = bench_limits(bench_with(batch_of(crop, stage)), START, {})
    assert limits.temperature_c is not None
    assert (limits.ppfd_umol_m2_s is None) is (stage in {Stage.GERMINATION, Stage.HARDENING})


@pytest.mark.parametrize(
    ("crop", "stage", "day", "expected"),
    [
        ("petunia", Stage.SEEDLING, 3, (8, 10, None)),
        ("petunia", Stage.FINISHING, 3, (8, 12, None)),
        ("impatiens", Stage.SEEDLING, 3, (5, 8, 20)),
        ("tomato", Stage.GROWING_ON, 14, (8, 13, None)),  # first half: the plug's values
        ("tomato", Stage.GROWING_ON, 15, (15, 20, None)),  # second half: the finished plant's
        ("lettuce", Stage.HARDENING, 29, (10, 12, 17)),
        ("primula", Stage.FINISHING, 0, (6, 8, 15)),
    ],
)
def test_light_read_from_the_table_by_hand(crop, stage, day, expected):
    needs = _on(crop, stage, day)
    assert (needs.minimum, needs.target, needs.limit) == expected


@pytest.mark.parametrize(
    ("crop", "stage", "expected"),
    [
        ("pansy_viola", "stage_2", 498),  # its own upper limit
        ("vinca", "stage_2", 399),
        ("begonia_wax", "stage_2", 299),  # the row for stages 1 and 2
        ("begonia_wax", "stage_4", 598),  # upper PPFD of the light table
        ("begonia_wax", "stage_3", 500),  # shade group's planning value
        ("petunia", "stage_2", 500),  # sun group's planning values; recommended ranges are no limits
        ("petunia", "stage_3", 600),
        ("petunia", "stage_4", 1000),
        ("petunia", "finish", 1200),
        ("coleus", "stage_4", 500),  # shade group in stage 4: its stage 3 row
        ("impatiens", "finish", 600),
    ],
)
def test_upper_light_read_from_the_table_by_hand(crop, stage, expected):
    assert upper_ppfd(crop, stage) == expected


@pytest.mark.parametrize(
    ("day", "ppfd", "minutes", "temperature"),
    [(0, 500, 60, 32), (9, 500, 60, 32), (10, 600, 120, 35), (22, 600, 120, 35), (23, 1000, 120, 35)],
)
def test_soft_days_bulking_and_last_week(day, ppfd, minutes, temperature):
    bench = bench_with(batch_of("petunia", Stage.SEEDLING))
    limits = bench_limits(bench, START + timedelta(days=day), {})
    assert (limits.ppfd_umol_m2_s, limits.ppfd_minutes, limits.temperature_c) == (ppfd, minutes, temperature)
    assert limits.mark == "judgement"


@pytest.mark.parametrize("crop", SEEDS)
def test_every_seed_has_light_and_heat(crop):
    bench = bench_with(batch_of(crop, Stage.GERMINATION))
    needs = bench_needs(bench, START + timedelta(days=29), {}).needs
    assert needs.germination.ppfd_umol_m2_s == 20
    assert (needs.minimum, needs.target, needs.dark_h) == (None, None, 0)
    limits = bench_limits(bench, START, {})
    assert 13 <= limits.temperature_c <= 40 and limits.ppfd_umol_m2_s is None
    assert limits.mark in {"page", "memory"}


def test_crops_of_which_only_the_germination_is_known_need_the_growers_own_light():
    only_seed = set(SEEDS) - set(MERGED)
    assert only_seed == {"cyclamen", "larkspur", "penstemon", "new_guinea_impatiens"}
    own = {("cyclamen", Stage.SEEDLING): OwnNeeds(minimum=4, target=7)}
    assert _on("cyclamen", Stage.SEEDLING) is None
    needs = _on("cyclamen", Stage.SEEDLING, own=own)
    assert (needs.minimum, needs.target, needs.limit) == (4, 7, None)
    assert needs.sources[0] == "site file"


@pytest.mark.parametrize(
    ("crop", "stage", "dark_h"),
    [
        ("tomato", Stage.SEEDLING, 7),  # Demers & Gosselin 2002: 7 h of unbroken dark with a 17 h day
        ("tomato", Stage.FINISHING, 7),
        ("pepper", Stage.SEEDLING, 6),  # 4 h would do; a shorter night is the grower's to choose
        ("petunia", Stage.GROWING_ON, 6),
        ("tomato", Stage.GERMINATION, 0),
    ],
)
def test_unbroken_dark(crop, stage, dark_h):
    assert _on(crop, stage, day=10).dark_h == dark_h


def test_soft_days_are_counted_from_the_first_seedlings():
    """Vinca sown a day before it came here shows from its fourth day (table): soft up to day 13 of sowing."""
    bench = bench_with(batch_of("vinca", Stage.SEEDLING, sown=START - timedelta(days=1)))
    assert bench_limits(bench, START + timedelta(days=12), {}).temperature_c == 32
    assert bench_limits(bench, START + timedelta(days=13), {}).temperature_c == 35


def test_soft_days_win_over_the_last_week():
    bench = bench_with(batch_of("petunia", Stage.SEEDLING, days=9))
    assert bench_limits(bench, START + timedelta(days=8), {}).temperature_c == 32


def test_seed_bears_its_species_temperature():
    limits = bench_limits(bench_with(batch_of("celery", Stage.GERMINATION)), START, {})
    assert (limits.temperature_c, limits.temperature_minutes) == (25, 60)
    assert (limits.temperature_upper_c, limits.temperature_upper_minutes) == (40, 0)
    assert limits.ppfd_umol_m2_s is None


def test_own_values_override_and_keep_the_steps_apart():
    own = {
        ("petunia", Stage.SEEDLING): OwnNeeds(
            minimum=6, target=14, limit=20, limit_ppfd=450, limit_c=36, dark_h=8
        )
    }
    needs = _on("petunia", Stage.SEEDLING, own=own)
    assert (needs.minimum, needs.target, needs.limit, needs.dark_h) == (6, 14, 20, 8)
    assert needs.checked == "site file"
    limits = bench_limits(bench_with(batch_of("petunia", Stage.SEEDLING)), START, own)
    assert (limits.ppfd_umol_m2_s, limits.temperature_c, limits.temperature_upper_c) == (450, 36, 41)
    assert limits.mark == "site file"


def test_an_own_target_below_the_tables_minimum_takes_it_down():
    needs = _on("petunia", Stage.SEEDLING, own={("petunia", Stage.SEEDLING): OwnNeeds(target=5)})
    assert (needs.minimum, needs.target) == (5, 5)


def test_an_own_minimum_above_the_tables_target_takes_it_up():
    needs = _on("petunia", Stage.SEEDLING, own={("petunia", Stage.SEEDLING): OwnNeeds(minimum=14)})
    assert (needs.minimum, needs.target) == (14, 14)


def test_an_own_limit_for_seed_of_unknown_heat_keeps_what_kills():
    own = {("new_guinea_impatiens", Stage.GERMINATION): OwnNeeds(limit_c=27)}
    limits = bench_limits(bench_with(batch_of("new_guinea_impatiens", Stage.GERMINATION)), START, own)
    assert (limits.temperature_c, limits.temperature_minutes) == (27, 60)
    assert (limits.temperature_upper_c, limits.temperature_upper_minutes) == (40, 0)


def test_of_equal_limits_the_one_borne_for_less_time_holds():
    older, younger = batch_of("petunia", Stage.FINISHING), batch_of("petunia", Stage.SEEDLING)
    for order in ((older, younger), (younger, older)):
        limits = bench_limits(bench_with(*order), START + timedelta(days=12), {})
        assert (limits.temperature_c, limits.temperature_minutes) == (35, 60)
        assert (limits.temperature_upper_c, limits.temperature_upper_minutes) == (40, 15)


def test_what_may_be_carried_lies_between_the_shared_minimum_and_target():
    impatiens, petunia = batch_of("impatiens", Stage.SEEDLING), batch_of("petunia", Stage.FINISHING)
    bench = bench_with(impatiens, petunia)  # 5 to 8 and 8 to 12
    shared = bench_needs(bench, START, {}).needs
    assert (shared.most_in_hand, shared.most_owed) == (4, 4)
    own = {("impatiens", Stage.SEEDLING): OwnNeeds(minimum=10, most_owed=1)}  # its target goes with it
    shared = bench_needs(bench, START, own).needs
    assert (shared.minimum, shared.target, shared.most_in_hand, shared.most_owed) == (10, 12, 2, 1)


def test_two_batches_take_the_highest_need_and_the_strictest_limit():
    petunia = batch_of("petunia", Stage.SEEDLING)
    impatiens = batch_of("impatiens", Stage.SEEDLING)
    bench = bench_with(impatiens, petunia)
    found = bench_needs(bench, START + timedelta(days=12), {})
    assert (found.needs.minimum, found.needs.target, found.needs.limit) == (8, 10, 20)
    assert found.governs is petunia
    assert ("batches-share", {"crops": ("impatiens", "petunia")}) in found.notes
    assert bench_limits(bench, START + timedelta(days=12), {}).ppfd_umol_m2_s == 500


def test_seed_beside_an_older_batch_gets_its_dark():
    bench = bench_with(batch_of("petunia", Stage.GERMINATION), batch_of("tomato", Stage.SEEDLING))
    needs = bench_needs(bench, START, {}).needs
    assert needs.dark_h == 7.0  # tomato's
    assert needs.germination is not None


def test_light_from_sowing_or_from_the_first_seedlings():
    sown = START - timedelta(days=1)
    petunia = bench_with(batch_of("petunia", Stage.GERMINATION, sown=sown))
    tomato = bench_with(batch_of("tomato", Stage.GERMINATION, sown=sown))  # indifferent, from day 5
    assert bench_needs(petunia, START, {}).needs.germination.requirement == "light_needed"
    assert bench_needs(tomato, START + timedelta(days=3), {}).needs.germination is None
    assert bench_needs(tomato, START + timedelta(days=4), {}).needs.germination is not None
    assert emergence_window(tomato.batches[0]) == (sown + timedelta(days=5), sown + timedelta(days=8))


def test_nothing_there_and_nothing_known():
    assert bench_needs(bench_with(), START, {}).batches == ()
    assert bench_limits(bench_with(), START, {}) is None
    found = bench_needs(bench_with(batch_of("cyclamen", Stage.SEEDLING)), START, {})
    assert found.needs is None
    assert found.notes == (("no-needs", {"crop": "cyclamen"}),)
