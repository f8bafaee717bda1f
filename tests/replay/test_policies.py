"""What policies light, and what that comes to."""

from __future__ import annotations

import numpy as np
import pytest

from lightplan.replay.forecasts import Ahead, model, perfect
from lightplan.replay.lit import policy_run
from lightplan.replay.policies import advice, fixed_16h, same_day, threshold
from tests.replay.seasons import FLAT, bench, season, site_of

SUN = np.random.default_rng(6).lognormal(2.3, 0.4, 16).round(2)


def test_light_energy_cost_and_account_from_what_was_lit():
    """Two days by hand: 75 µmol for 4 h is 1.08 mol; 0.6 kW for 4 h at 0.2 is 0.48."""
    found = season(site_of(), [11.0, 7.0])
    on = np.zeros(len(found.grid), dtype=bool)
    on[[*range(16, 24), *range(30, 38)]] = True
    run = policy_run(found, "hand", (on,))
    (only,) = run.benches
    assert only.lamp_mol == pytest.approx([1.08, 0])
    assert only.account_mol == pytest.approx([0.08, -4.92])
    assert only.at_minimum == (True, False)
    assert (run.kwh, run.cost) == (pytest.approx(2.4), pytest.approx(0.48))
    assert run.days_at_minimum == 0.5
    assert run.mean_shortfall_mol == pytest.approx(0.92 / 2)  # 4 may be owed
    assert run.starts_max == 2


def test_peaks_are_paid_by_the_month():
    power = FLAT.replace("other_kw = 0", "other_kw = 0\npeak_price_per_kw = 2")
    found = season(site_of(bench("a"), bench("b"), power=power), [10.0] * 22)  # into February
    a, b = (np.zeros(len(found.grid), dtype=bool) for _ in range(2))
    a[20:24] = b[22:26] = True
    a[96 * 21 : 96 * 21 + 4] = True
    assert policy_run(found, "hand", (a, b)).cost == pytest.approx(3 * 0.6 * 0.2 + 2 * (1.2 + 0.6))


def test_sixteen_hours_in_the_middle_of_the_allowed():
    run = fixed_16h(season(site_of(), SUN))
    assert run.benches[0].lamp_mol == pytest.approx(16 * 3600 * 75 / 1e6)
    short = fixed_16h(season(site_of(bench(on="08:00", off="18:00")), SUN))
    assert short.benches[0].lamp_mol == pytest.approx(10 * 3600 * 75 / 1e6)


def test_threshold_is_off_only_under_enough_sun():
    found = season(site_of(), [2.0, 30.0])
    dull, bright = threshold(found).benches[0].lamp_mol
    assert dull == pytest.approx(18 * 3600 * 75 / 1e6)
    over = (found.benches[0].sun_ppfd[96:192] >= 400).sum()
    assert over > 0
    assert bright == pytest.approx(dull - over * found.benches[0].step_mol)


def test_each_day_by_itself_comes_to_its_target_where_it_can():
    found = season(site_of(), SUN)
    (only,) = same_day(found).benches
    wanted = np.maximum(0, 12 - SUN)
    reach = wanted <= 4.5
    assert reach.sum() > 5
    assert (only.lamp_mol[reach] >= wanted[reach] - 1e-6).all()
    assert (only.lamp_mol[reach] <= wanted[reach] + 2 * found.benches[0].step_mol).all()


def test_advice_costs_less_than_each_day_by_itself_and_keeps_accounts():
    found = season(site_of(), SUN)
    run = advice(found, perfect(found))
    assert run.cost < same_day(found).cost
    assert run.days_at_minimum == 1
    assert run.starts_max <= 2
    account = 0.0
    for dli, after in zip(run.benches[0].dli, run.benches[0].account_mol, strict=True):
        account = min(4, account + dli - 12)
        assert after == pytest.approx(account)


def test_no_sheet_is_made_and_no_forecast_asked_on_a_day_without_crew():
    site = site_of(site='[site.crew]\nmon_fri = ["06:30", "17:00"]\nsat = ["06:30", "12:00"]\nsun = []')
    found = season(site, SUN[:8])
    counted: list[int] = []
    asked: list[int] = []
    told = model(found, 1)

    def forecast(morning: int, days: int) -> Ahead:
        asked.append(morning)
        return told(morning, days)

    advice(found, forecast, counted.append)
    assert counted == list(range(1, 9))
    assert asked == [n for n in range(8) if found.dates[n].weekday() != 6]
