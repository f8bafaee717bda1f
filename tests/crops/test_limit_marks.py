"""What a limit rests on, and table rows that mutants had slipped past."""

from __future__ import annotations

from datetime import timedelta

from lightplan.crops.limits import bench_limits, seed_kill_lifted, upper_ppfd
from lightplan.crops.needs import bench_needs
from lightplan.site.models import OwnNeeds, Stage
from tests.crops.benches import START, batch_of, bench_with

PETUNIA = ("petunia", Stage.SEEDLING)


def _limits(*batches, own=None):
    return bench_limits(bench_with(*batches), START, own or {})


def test_an_own_light_limit_does_not_vouch_for_the_temperature():
    petunia = batch_of(*PETUNIA)
    assert _limits(petunia, own={PETUNIA: OwnNeeds(limit_ppfd=450)}).mark == "judgement"
    assert _limits(petunia, own={PETUNIA: OwnNeeds(limit_c=33)}).mark == "judgement"
    assert _limits(petunia, own={PETUNIA: OwnNeeds(limit_ppfd=450, limit_c=33)}).mark == "site file"


def test_a_shared_bench_is_marked_by_the_limit_that_rests_on_least():
    own = {PETUNIA: OwnNeeds(limit_ppfd=200, limit_c=45)}  # light from petunia, heat from tomato
    batches = (batch_of(*PETUNIA), batch_of("tomato", Stage.SEEDLING))
    assert _limits(*batches, own=own).mark == _limits(*batches[::-1], own=own).mark == "judgement"


def test_seed_read_on_a_page_beside_seed_from_memory():
    page, memory = batch_of("delphinium", Stage.GERMINATION), batch_of("tomato", Stage.GERMINATION)
    assert (_limits(page).mark, _limits(memory).mark) == ("page", "memory")
    assert _limits(memory, page).mark == "page"  # 21 and 32 °C: the page's rules
    celery = batch_of("celery", Stage.GERMINATION)  # 25 °C from memory, impatiens 25.6 °C on a page
    assert _limits(batch_of("impatiens", Stage.GERMINATION), celery).mark == "memory"


def test_both_steps_of_the_soft_days():
    limits = _limits(batch_of(*PETUNIA))
    assert (limits.temperature_upper_c, limits.temperature_upper_minutes) == (38, 15)


def test_a_crop_s_own_damage_threshold_goes_before_its_group():
    assert upper_ppfd("new_guinea_impatiens", "finish") == 1196  # group's planning value: 1200


def test_seed_helped_by_light_is_lit_from_sowing():
    lettuce = batch_of("lettuce", Stage.GERMINATION)  # light_beneficial, first seedlings after two days
    tray_first = batch_of("lettuce", Stage.GERMINATION, sown=START + timedelta(days=2))
    assert bench_needs(bench_with(lettuce), START, {}).needs.germination is not None
    lit = [
        bench_needs(bench_with(tray_first), START + timedelta(days=day), {}).needs.germination
        for day in (1, 2)
    ]
    assert lit[0] is None and lit[1] is not None


def test_an_own_limit_keeps_the_second_step_5_k_above_and_says_when_that_passes_what_kills_seed():
    seed = batch_of("petunia", Stage.GERMINATION)
    for own_c, second_c, told in ((32.0, 40.0, None), (35.0, 40.0, None), (38.0, 43.0, (38.0, 43.0, 40.0))):
        own = {("petunia", Stage.GERMINATION): OwnNeeds(limit_c=own_c)}
        limits = _limits(seed, own=own)
        assert (limits.temperature_c, limits.temperature_upper_c) == (own_c, second_c)
        assert seed_kill_lifted(bench_with(seed), START, own) == told
    older = {PETUNIA: OwnNeeds(limit_c=38.0)}  # a seedling's step is no seed's
    assert seed_kill_lifted(bench_with(batch_of(*PETUNIA)), START, older) is None
    assert seed_kill_lifted(bench_with(seed), START, {}) is None
