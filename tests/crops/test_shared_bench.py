"""Two batches on one bench: what rules, what is said of it, and where the numbers come from."""

from __future__ import annotations

from datetime import timedelta

import pytest

from lightplan.crops.limits import bench_limits
from lightplan.crops.needs import bench_needs, emergence_window
from lightplan.site.models import OwnNeeds, Stage
from tests.crops.benches import START, batch_of, bench_with


def _needs(*batches, own=None):
    return bench_needs(bench_with(*batches), START, own or {}).needs


def _notes(*batches, day=0, own=None):
    return dict(bench_needs(bench_with(*batches), START + timedelta(days=day), own or {}).notes)


def test_the_lower_of_two_limits_holds_whichever_comes_first():
    lettuce, impatiens = batch_of("lettuce", Stage.SEEDLING), batch_of("impatiens", Stage.SEEDLING)
    for batches in ((lettuce, impatiens), (impatiens, lettuce)):
        assert _needs(*batches).limit == 17  # 17 and 20 in the table


def test_a_short_day_crop_rules_the_class_of_a_shared_bench():
    zinnia, petunia = batch_of("zinnia", Stage.SEEDLING), batch_of("petunia", Stage.SEEDLING)
    for batches in ((zinnia, petunia), (petunia, zinnia)):
        assert _needs(*batches).photoperiod_class == "facultative_short_day"
    assert _needs(petunia, batch_of("tomato", Stage.SEEDLING)).photoperiod_class == "facultative_long_day"


def test_hardening_beside_seedlings_leaves_them_their_lamps():
    hardening, seedling = batch_of("petunia", Stage.HARDENING), batch_of("petunia", Stage.SEEDLING)
    assert _needs(hardening, seedling).lamps_allowed
    assert not _needs(hardening, hardening).lamps_allowed


def test_a_target_past_the_others_limit_is_a_conflict():
    tomato, lettuce = batch_of("tomato", Stage.FINISHING), batch_of("lettuce", Stage.SEEDLING)  # 20 and 17
    told = _notes(lettuce, tomato)["batches-conflict"]
    assert told == {"crop": "tomato", "other": "lettuce", "target": 20, "limit": 17}
    at_the_limit = {("tomato", Stage.FINISHING): OwnNeeds(minimum=10, target=17)}
    assert "batches-conflict" not in _notes(lettuce, tomato, own=at_the_limit)
    own = {("tomato", Stage.FINISHING): OwnNeeds(limit=19)}  # its own limit is no conflict of two batches
    assert "batches-conflict" not in _notes(tomato, own=own)
    assert "batches-share" not in _notes(tomato)


def test_what_is_said_of_seed():
    assert _notes(batch_of("petunia", Stage.GERMINATION)) == {"lit-chamber": {"ppfd": 15}}  # its own row
    assert _notes(batch_of("tomato", Stage.GERMINATION)) == {"lit-chamber": {"ppfd": 100}}  # any plug's
    assert _notes(batch_of("zinnia", Stage.GERMINATION)) == {"lit-chamber": {"ppfd": 100}}  # 70 % is no PPFD
    assert _notes(batch_of("petunia", Stage.SEEDLING)) == {}
    vinca = batch_of("vinca", Stage.GERMINATION)  # dark until its fourth day
    assert _notes(vinca, day=3) == {"seed-wants-dark": {"crop": "vinca"}}
    assert "lit-chamber" in _notes(vinca, day=4)


def test_seed_of_unknown_days_has_no_window_and_is_lit_from_sowing():
    larkspur = batch_of("larkspur", Stage.GERMINATION, sown=START)
    assert emergence_window(larkspur) is None
    assert _needs(larkspur).germination is not None
    assert "lit-chamber" in _notes(larkspur)


def test_where_the_numbers_come_from():
    table = _needs(batch_of("petunia", Stage.SEEDLING))
    assert "faust_dli_chart" in table.sources and "site file" not in table.sources
    assert "memory_general" in table.sources  # the dark
    target = {("petunia", Stage.SEEDLING): OwnNeeds(target=11)}
    some = _needs(batch_of("petunia", Stage.SEEDLING), own=target)
    assert some.sources[0] == "site file" and "faust_dli_chart" in some.sources and some.checked == "memory"
    both = {("petunia", Stage.SEEDLING): OwnNeeds(minimum=7, target=11, dark_h=5)}
    own = _needs(batch_of("petunia", Stage.SEEDLING), own=both)
    assert (own.sources, own.checked) == (("site file",), "site file")
    seed = _needs(batch_of("snapdragon", Stage.GERMINATION))
    assert seed.checked == "page" and "memory_general" not in seed.sources


@pytest.mark.parametrize("order", [0, 1])
def test_a_value_from_memory_marks_the_shared_need(order):
    petunia, pansy = batch_of("petunia", Stage.SEEDLING), batch_of("pansy_viola", Stage.SEEDLING)
    given = {("pansy_viola", Stage.SEEDLING): OwnNeeds(minimum=9, target=15)}
    batches = (petunia, pansy)[:: -1 if order else 1]
    assert _needs(*batches, own=given).checked == "memory"
    given[("petunia", Stage.SEEDLING)] = OwnNeeds(minimum=9, target=15)
    assert _needs(*batches, own=given).checked == "site file"


def test_own_room_for_carrying_over():
    own = {("petunia", Stage.SEEDLING): OwnNeeds(most_in_hand=3, most_owed=1)}
    needs = _needs(batch_of("petunia", Stage.SEEDLING), own=own)
    assert (needs.most_in_hand, needs.most_owed) == (3, 1)
    plain = _needs(batch_of("petunia", Stage.SEEDLING))
    assert (plain.most_in_hand, plain.most_owed) == (2, 2)
    seed = _needs(batch_of("petunia", Stage.GERMINATION))
    assert (seed.most_in_hand, seed.most_owed) == (0, 0)


def test_minutes_and_marks_of_grown_plants():
    limits = bench_limits(bench_with(batch_of("petunia", Stage.FINISHING)), START, {})
    assert (limits.ppfd_umol_m2_s, limits.ppfd_minutes) == (1200, 120)
    assert (limits.temperature_c, limits.temperature_minutes, limits.temperature_upper_c) == (35, 120, None)
    hardening = bench_limits(bench_with(batch_of("petunia", Stage.HARDENING)), START, {})
    assert (hardening.ppfd_umol_m2_s, hardening.ppfd_minutes) == (None, None)
    own = {("petunia", Stage.HARDENING): OwnNeeds(limit_c=30)}
    assert bench_limits(bench_with(batch_of("petunia", Stage.HARDENING)), START, own).mark == "site file"
