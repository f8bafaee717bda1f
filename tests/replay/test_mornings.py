"""What each morning of a replay is given: switches, crew, what burnt before, the peak, what is usual."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

import lightplan.replay.policies as policies
from lightplan.advice.lamps import LampPlan, LampTask
from lightplan.replay.bound import least_cost_of
from lightplan.replay.forecasts import Ahead, model, perfect
from lightplan.replay.lit import PolicyRun
from lightplan.replay.policies import advice
from lightplan.replay.season import Season
from lightplan.site.models import Site
from tests.replay.seasons import FLAT, bench, season, site_of

SUN = np.random.default_rng(4).lognormal(2.1, 0.35, 8).round(2)
HOURS = [
    (lo * 60, hi * 60) for lo, hi in [(6.5, 17)] * 5 + [(6.5, 12)]
]  # of site_of(site=CREW); nobody comes on Sundays
CREW = '[site.crew]\nmon_fri = ["06:30", "17:00"]\nsat = ["06:30", "12:00"]\nsun = []'


def with_lamps(site: Site, **keys: object) -> Site:
    return replace(
        site, benches=tuple(replace(b, lamps=replace(b.lamps, **keys)) for b in site.benches if b.lamps)
    )


@pytest.fixture
def seen(monkeypatch: pytest.MonkeyPatch) -> list[tuple[list[LampTask], dict[str, object], LampPlan]]:
    """Every call for a plan and its answer."""
    calls = []
    real = policies.plan_lamps

    def plan(tasks: list[LampTask], **rest: object) -> LampPlan:
        found = real(tasks, **rest)
        calls.append((tasks, rest, found))
        return found

    monkeypatch.setattr(policies, "plan_lamps", plan)
    return calls


def lit_of(
    found: Season, monkeypatch: pytest.MonkeyPatch, sun: object = None
) -> tuple[PolicyRun, np.ndarray]:
    """The run and the first bench's lit steps."""
    kept = []
    real = policies.policy_run

    def run(of: Season, name: str, lit: tuple[np.ndarray, ...], *gaps: float) -> PolicyRun:
        kept.append(lit[0][: of.steps])
        return real(of, name, lit, *gaps)

    monkeypatch.setattr(policies, "policy_run", run)
    return advice(found, sun or perfect(found)), kept[0]


def test_lamps_by_hand_are_switched_in_crew_hours_of_every_day(monkeypatch):
    found = season(with_lamps(site_of(site=CREW), switch="hand"), SUN)
    _, lit = lit_of(found, monkeypatch)
    changed = np.flatnonzero(np.diff(lit.astype(int))) + 1
    assert len(changed) > 8
    for step in changed:
        weekday = found.dates[found.grid.day[step]].weekday()
        first, last = [*HOURS, (1, 0)][weekday]
        assert first <= found.grid.minute[step] <= last


def test_remote_lamps_burn_from_midnight_as_the_sheet_of_that_morning_sets_them(seen, monkeypatch):
    found = season(with_lamps(site_of(), switch="remote"), SUN)
    run, lit = lit_of(found, monkeypatch)
    for number, (_, rest, plan) in enumerate(seen):
        first = found.grid.index(rest["grid"].moment(0))
        today = slice(first, first + 26)  # to the crew's hour, 06:30
        assert (lit[today] == plan.benches[0].on[:26]).all(), number
    timer = advice(season(site_of(), SUN), perfect(season(site_of(), SUN)))
    assert lit[:26].any()  # before the first crew hour of all, when a timer can't have been set
    assert timer.benches[0].lamp_mol[0] < run.benches[0].lamp_mol[0] + 26 * 0.0675
    assert run.days_at_minimum == 1


def test_fixtures_that_failed_neither_shine_nor_draw():
    """Half of them, on dull days: all 18 hours, at half the light and half the power."""
    for run in (advice, lambda found, sun: least_cost_of(found)):
        whole, half = (
            run(found, perfect(found))
            for found in (season(with_lamps(site_of(), working=w), [5.0] * 4) for w in (1.0, 0.5))
        )
        a_day = 18 * 3600 * 75 / 1e6
        assert max(whole.benches[0].lamp_mol) > 0.7 * a_day
        assert half.benches[0].lamp_mol[1:] == pytest.approx([a_day / 2] * 3, rel=0.02)
        assert half.benches[0].lamp_mol.sum() / half.kwh == pytest.approx(
            whole.benches[0].lamp_mol.sum() / whole.kwh
        )


def test_yesterdays_lamp_times_are_told_by_the_clock(seen, monkeypatch):
    found = season(site_of(), SUN)
    _, lit = lit_of(found, monkeypatch)
    assert seen[0][0][0].yesterday == ()
    for tasks, rest, _ in seen[1:]:
        begin = found.grid.index(rest["window"].start)
        on = np.zeros(1440, dtype=bool)
        for first, last in tasks[0].yesterday:
            on[first:last] = True
        burnt = {int(found.grid.minute[k]) for k in range(begin - 96, begin) if lit[k]}
        assert {m for m in range(0, 1440, 15) if on[m]} == burnt
    assert any(tasks[0].yesterday for tasks, _, _ in seen)


PEAK = FLAT.replace("other_kw = 0", "other_kw = 0\npeak_price_per_kw = 3").replace(
    "price = 0.2 }]", 'price = 0.2 }, { from = "19:00", to = "06:00", price = 0.05 }]'
)


def test_each_morning_knows_the_months_peak(seen, monkeypatch):
    monkeypatch.setattr(policies, "LIMIT_S", 1.0)
    found = season(site_of(bench("b", 90, 0.8, "00:00", "24:00"), power=PEAK), SUN[:5])
    _, lit = lit_of(found, monkeypatch)
    told = [rest["peak_so_far_kw"] for _, rest, _ in seen]
    assert told == [0.8 * lit[: 96 * n].any() for n in range(5)]
    assert told[0] == 0 < told[-1]


def test_the_peak_so_far_is_this_months():
    found = season(site_of(bench("a"), bench("b"), power=PEAK), [10.0] * 24)  # from 12 January
    a, b = (np.zeros(len(found.grid), dtype=bool) for _ in range(2))
    a[96:100] = b[98:102] = True
    a[96 * 21 : 96 * 21 + 4] = True  # 2 February
    peaks = [policies._peak_so_far_kw(found, (a, b), number) for number in (0, 1, 2, 19, 20, 21, 22)]
    assert peaks == pytest.approx([0, 0, 1.2, 1.2, 0, 0, 0.6])
    assert found.dates[20] == date(2026, 2, 1)


def usual_of(clearness: float, days: int) -> tuple[tuple[float, ...], ...]:
    return (tuple(clearness * np.exp(0.2 * np.sin(np.arange(30)))),) * days


def test_what_is_usual_decides_how_much_light_is_kept_in_hand():
    """11 mol every day, forecasts in doubt: in a bright season more is owed, in a dull one more held."""
    found = season(site_of(), [11.0] * 10)
    days = len(found.grid.dates)
    mol = {
        clearness: advice(replace(found, clearness=usual_of(clearness, days)), model(found, 3))
        .benches[0]
        .lamp_mol[:5]
        .sum()
        for clearness in (0.15, 1.3)
    }
    assert mol[0.15] > mol[1.3] + 1


def test_what_is_usual_looks_at_no_day_to_come():
    """Two seasons that part on the sixth day: until then a bench gets the same of the light outdoors."""
    one, other = season(site_of(), SUN), season(site_of(), [*SUN[:5], 30.0, 2.0, 30.0])
    other = replace(
        other, outdoor_mol=other.outdoor_mol * np.where(np.arange(len(other.outdoor_mol)) < 5, 1, 2)
    )
    for number in range(1, 6):
        was, now = (
            policies._usual(
                replace(found, clearness=usual_of(0.5, len(found.grid.dates))), found.benches[0], number
            )
            for found in (one, other)
        )
        assert was == now
    first_days = [
        policies._usual(replace(f, clearness=usual_of(0.5, 30)), f.benches[0], 8) for f in (one, other)
    ]
    assert first_days[0] != first_days[1]


def test_a_morning_asks_for_all_days_that_its_window_spans():
    """Fridays to Mondays, and a week of days off."""
    found = season(site_of(site=CREW), [10.0] * 14)  # from a Monday
    asked: dict[int, int] = {}

    def forecast(morning: int, days: int) -> Ahead:
        asked[morning] = days
        return perfect(found)(morning, days)

    advice(found, forecast)
    assert asked == {n: found.looked_ahead(n) for n in range(14) if found.looked_ahead(n)}
    assert [found.looked_ahead(n) for n in range(7)] == [3, 3, 3, 3, 3, 3, 0]
    off = "days_off = [" + ", ".join(f"2026-01-{n}" for n in range(13, 18)) + "]"
    long = season(site_of(site=off), [10.0] * 9)
    assert [long.looked_ahead(n) for n in range(8)] == [7, 0, 0, 0, 0, 0, 3, 3]
