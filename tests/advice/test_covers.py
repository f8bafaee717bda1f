"""Covers: the least that holds, by trying everything; and what must never be ordered, on invented days."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from lightplan.advice.covers import CoverTask, Remedy, Tent, plan_cover
from lightplan.advice.covers.judge import broken, judge
from lightplan.advice.covers.remedies import remedies, spans
from lightplan.crops.limits import Limits
from lightplan.site.cover_names import known_cover

STEPS = 96
MINUTE = np.arange(STEPS) * 15
TODAY = np.ones(STEPS, dtype=bool)
CREW = (MINUTE >= 6 * 60 + 30) & (MINUTE <= 18 * 60)
SUN_SHAPE = np.clip(np.sin((MINUTE - 360) / 720 * np.pi), 0, None)
COVERS = tuple(known_cover(name) for name in ("fleece", "shade-cloth-50", "white-tarp", "insulation-board"))
LIMITS = Limits(600.0, 60, 32.0, 60, 38.0, 15, "judgement")


def climate_of(sun, *, warm=0.022, base=18.0):
    """A made-up bench: kelvin for each µmol under a closed tent, half of it propped, a fifth rolled back."""

    def climate(states, factor):
        share = np.array([1.0, 0.5, 0.2])[states.tent]
        return base + warm * share * sun * states.passed * factor[:, None]

    return climate


def task(peak=1200.0, **changes) -> CoverTask:
    sun = peak * SUN_SHAPE
    values = {
        "bench_id": "b",
        "has_tent": True,
        "tent_opens": True,
        "covers": COVERS,
        "sun_ppfd": (sun, sun, sun / 0.85),
        "today": TODAY,
        "crew": CREW,
        "limits": LIMITS,
        "minimum_mol": 6.0,
        "target_mol": 10.0,
        "sample": np.array([0.7, 0.85, 1.0, 1.1, 1.2]),
        "low": 0.75,
        "lamp_mol": 0.0,
        "lamp_can_mol": np.zeros(STEPS),
        "heat_gate_c": None,
        "climate": climate_of(sun),
        "air_c": np.full(STEPS, 25.0),
        "seed_light": np.zeros(STEPS, dtype=bool),
        "seed_chance": np.zeros(STEPS, dtype=bool),
        "calm": np.ones(STEPS, dtype=bool),
        "sd_c": 3.0,
    }
    return CoverTask(**(values | changes))


def all_tried(of: CoverTask) -> list[tuple]:
    """Every remedy between every pair of quarter hours, judged one at a time."""
    found = []
    for rank, remedy in enumerate((Remedy(), *remedies(of))):
        on, off = (np.zeros(1, int), np.zeros(1, int)) if rank == 0 else spans(of, remedy)
        for a, b in zip(on, off, strict=True):
            v = judge(of, remedy, np.array([a]), np.array([b]))
            aims = (round(v.kills[0], 1), round(v.short_of_minimum[0], 3), round(v.over_limits[0], 1))
            key = (*aims, rank, round(v.weight[0], 3))
            found.append((key, remedy, a, b))
    return found


def test_a_mild_day_needs_nothing():
    plan = plan_cover(task(peak=300.0))
    assert plan.remedy is None
    assert plan.odds < 0.2


@pytest.mark.parametrize("peak", [800.0, 1200.0, 1600.0])
def test_the_best_of_all_that_can_be_done(peak):
    few = task(peak, covers=COVERS[1:3], crew=CREW & (MINUTE % 30 == 0))
    plan = plan_cover(few)
    tried = all_tried(few)
    half = (tried[0][0][0] + tried[0][0][2]) / 2
    best = min((t for n, t in enumerate(tried) if n == 0 or t[0][0] + t[0][2] <= half), key=lambda t: t[0])
    assert plan.remedy == best[1]
    chosen = judge(few, plan.remedy, np.array([plan.on]), np.array([plan.off]))
    assert round(float(chosen.weight[0]), 3) == best[0][4]
    assert plan.unheld == pytest.approx(best[0][0] + best[0][2], abs=0.2)


def test_heat_alone_opens_the_tent_before_anything_is_laid_on():
    hot = task(1000.0, limits=dataclasses.replace(LIMITS, ppfd_umol_m2_s=None))
    plan = plan_cover(hot)
    assert plan.remedy == Remedy(Tent.PROPPED)
    assert plan.rule in ("heat", "heat-kills")
    assert CREW[plan.on]
    assert CREW[plan.off]


def test_heat_over_a_limit_counts_by_how_far_it_is_over():
    """Two hours at 42 and at 62 °C over a limit of 32 borne for one: 60 beyond, 120 more each 5 K."""
    hours = (MINUTE >= 600) & (MINUTE < 720)
    felt = np.array([np.where(hours, 42.0, 20.0), np.where(hours, 62.0, 20.0), np.where(hours, 32.0, 20.0)])
    limits = dataclasses.replace(LIMITS, ppfd_umol_m2_s=None, temperature_upper_c=None)
    kills, over = broken(task(limits=limits), np.zeros((3, STEPS)), felt)
    assert kills.tolist() == [0, 0, 0]
    assert over == pytest.approx([60 + 120 * 10 / 5, 60 + 120 * 30 / 5, 0])


def test_light_alone_takes_the_lightest_cloth_that_holds():
    bright = task(1100.0, has_tent=False, climate=climate_of(SUN_SHAPE, warm=0.0))
    plan = plan_cover(bright)
    assert [cover.name for cover in plan.remedy.covers] == ["shade-cloth-50"]
    assert plan.rule == "light"
    assert plan.cost_mol > 0


def test_minimum_goes_before_the_light_limit_and_after_what_kills():
    poor = task(
        700.0, has_tent=False, minimum_mol=16.0, covers=COVERS[3:], climate=climate_of(SUN_SHAPE, warm=0.0)
    )
    assert plan_cover(poor).remedy is None
    killing = dataclasses.replace(poor, climate=climate_of(700.0 * SUN_SHAPE, warm=0.04))
    plan = plan_cover(killing)
    assert plan.remedy is not None
    assert plan.under_minimum_mol > 0


def test_what_holds_back_less_than_half_is_not_worth_a_walk():
    late = CREW & (MINUTE >= 16 * 60 + 30)
    assert plan_cover(task(1300.0, has_tent=False, crew=late)).remedy is None


def test_a_ppfd_limit_alone_waits_for_hot_air():
    cool = task(1100.0, has_tent=False, climate=climate_of(SUN_SHAPE, warm=0.0), heat_gate_c=28.0)
    assert plan_cover(cool).remedy is None
    assert plan_cover(dataclasses.replace(cool, air_c=np.full(STEPS, 29.0))).remedy is not None


def test_wet_paper_lies_no_longer_than_it_stays_wet():
    paper = task(850.0, has_tent=False, covers=(known_cover("wet-paper"),))
    plan = plan_cover(paper)
    assert plan.remedy is not None
    assert (plan.off - plan.on) * 15 <= 3 * 60


def test_no_opaque_cover_in_the_only_light_hours_of_a_seed():
    board = task(1300.0, has_tent=False, covers=COVERS[3:], seed_light=(MINUTE >= 600) & (MINUTE < 900))
    plan = plan_cover(board)
    assert plan.remedy is None or plan.off <= 40 or plan.on >= 60


def test_a_cover_on_a_likely_day_is_told_with_its_odds():
    maybe = task(
        560.0, has_tent=False, climate=climate_of(SUN_SHAPE, warm=0.0), sample=np.linspace(0.5, 1.5, 40)
    )
    plan = plan_cover(maybe)
    assert 0.2 <= plan.odds < 0.8
    assert plan.remedy is not None


def test_the_sign_is_that_of_the_dullest_day_that_breaks_a_limit():
    sample = np.linspace(0.5, 1.5, 41)
    maybe = task(
        560.0, has_tent=False, climate=climate_of(SUN_SHAPE, warm=0.0), sample=sample, covers=COVERS[1:2]
    )
    plan = plan_cover(maybe)
    sun = maybe.sun_ppfd[0]
    breaks = [f for f in sample if ((sun * f > 600).sum() * 15) > 60]
    assert plan.odds == pytest.approx(len(breaks) / len(sample))
    assert plan.sign_ppfd == pytest.approx(sun[plan.sign_at] * min(breaks))
    assert plan.on <= plan.sign_at < plan.off
    assert sun[plan.sign_at] >= sun.max() / 2


def random_days(count):
    rng = np.random.default_rng(26)
    for _ in range(count):
        peak = rng.uniform(50, 2000)
        sun = peak * SUN_SHAPE * (1 - 0.5 * (rng.random(STEPS) < rng.random() * 0.6))
        yield task(
            has_tent=bool(rng.random() < 0.5),
            covers=tuple(c for c in COVERS if rng.random() < 0.6),
            sun_ppfd=(sun, sun, sun / 0.85),
            climate=climate_of(sun, warm=rng.uniform(0, 0.035), base=rng.uniform(5, 30)),
            crew=CREW & (MINUTE % 60 == 30),
            minimum_mol=rng.uniform(2, 14),
            target_mol=rng.uniform(6, 20),
            low=rng.uniform(0.4, 0.9),
            heat_gate_c=None if rng.random() < 0.5 else 27.0,
        )


def day_of_fixed_cover(of: CoverTask) -> float:
    """Minutes over limits and mol lost together when the same cover lies every day from 10 to 15."""
    return min(_price(of, Remedy(covers=(cover,)), np.array([40]), np.array([60])) for cover in of.covers)


def _price(of, remedy, on, off):
    v = judge(of, remedy, on, off)
    return float(v.kills[0] + v.over_limits[0]) / 60 + float(v.weight[0] + v.short_of_minimum[0])


def test_random_days_keep_what_must_be_kept():
    """The issue asks for 10,000; the suite runs 300, `python -m tests.advice.test_covers` all of them."""
    held = _hold(random_days(300))
    assert held > 60


def _hold(days) -> int:
    ordered = 0
    for of in days:
        plan = plan_cover(of)
        none = np.zeros(1, dtype=int)
        open_day = judge(of, Remedy(), none, none)
        if plan.remedy is None:
            continue
        ordered += 1
        assert of.crew[plan.on]
        assert of.crew[plan.off]
        assert plan.odds >= 0.2
        got = judge(of, plan.remedy, np.array([plan.on]), np.array([plan.off]))
        if open_day.is_broken[0]:
            aims = [(v.kills[0], v.short_of_minimum[0], v.over_limits[0]) for v in (got, open_day)]
            assert aims[0] < aims[1]
        if not plan.unheld and open_day.is_broken[0]:
            for lesser in remedies(of):
                if lesser == plan.remedy:
                    break
                if lesser.is_dark and of.target_mol is not None:
                    continue  # told by its own test
                on, off = spans(of, lesser)
                tried = judge(of, lesser, on, off)
                good = ~tried.is_broken & (tried.short_of_minimum <= got.short_of_minimum[0] + 1e-9)
                assert not good.any()
    return ordered


BOARD = (known_cover("insulation-board"),)


@pytest.mark.parametrize(
    ("changes", "laid"),
    [
        ({"climate": lambda states, f: np.full((len(f), STEPS), 25.0)}, False),  # too bright, no more
        ({}, True),  # its heat kills, and there is nothing else
        ({"climate": lambda states, f: 25 + 9.0 * states.passed * f[:, None]}, False),  # too warm, no more
        (
            {
                "climate": lambda states, f: 25 + 9.0 * states.passed * f[:, None],
                "target_mol": None,
                "minimum_mol": None,
            },
            True,  # seed wants no light
        ),
    ],
)
def test_no_night_is_made_at_noon_but_against_heat_that_kills(changes, laid):
    plan = plan_cover(task(**({"has_tent": False, "minimum_mol": 0.0, "covers": BOARD} | changes)))
    assert (plan.remedy is not None) is laid
    assert plan.odds > 0.5


def test_a_darker_cover_never_lets_more_light_through():
    on, off = np.array([40]), np.array([60])
    of = task()
    lights = []
    for cover in sorted(COVERS, key=lambda c: sum(c.transmittance)):
        v = judge(of, Remedy(covers=(cover,)), on, off)
        lights.append(float(v.short_of_minimum[0]))
    assert lights == sorted(lights, reverse=True)


if __name__ == "__main__":
    print(_hold(random_days(10_000)), "of 10,000 days had an order; every one held")
