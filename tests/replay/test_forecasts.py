"""What a morning knows: the error model's own figures, and nothing of the days that have not come."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from lightplan.replay import forecasts
from lightplan.replay.forecasts import draw_errors, model, model_factors, model_low, perfect, persistence
from lightplan.replay.policies import advice
from tests.replay.seasons import season, site_of

# The error model: daily light = truth × exp(e), sd of day 0, 1, 2, mean −sd²/2, correlation 0.7.
SD = np.array([0.15, 0.21, 0.28])
CORRELATION = 0.7
MORNINGS, SEEDS = 400, 50
SUN = np.random.default_rng(5).lognormal(2.3, 0.4, 24).round(2)


def wrong_figures(errors: np.ndarray) -> list[str]:
    """Which of the model's figures a drawn sample (n, 3) contradicts, at four standard errors."""
    n = len(errors)
    found = []
    factor_se = np.sqrt(np.exp(SD**2) - 1) / np.sqrt(n)
    if (abs(np.exp(errors).mean(axis=0) - 1) > 4 * factor_se).any():
        found.append("mean")
    if (abs(errors.std(axis=0) / SD - 1) > 4 / np.sqrt(2 * n)).any():
        found.append("sd")
    drawn = np.corrcoef(errors.T)
    for a, b, meant in ((0, 1, CORRELATION), (1, 2, CORRELATION), (0, 2, CORRELATION**2)):
        if abs(drawn[a, b] - meant) > 4 * (1 - meant**2) / np.sqrt(n):
            found.append(f"correlation {a} {b}")
    return found


def drawn() -> np.ndarray:
    return np.concatenate([draw_errors(MORNINGS, seed)[:, :3] for seed in range(SEEDS)])


def test_the_error_model_has_its_figures():
    assert wrong_figures(drawn()) == []


@pytest.mark.parametrize(
    ("name", "value"),
    [("DAY_TO_DAY", 0.6), ("ERROR_SD", (0.15, 0.21, 0.26)), ("ERROR_SD", (0.16, 0.21, 0.28))],
)
def test_a_wrong_model_is_caught(monkeypatch, name, value):
    monkeypatch.setattr(forecasts, name, value)
    assert wrong_figures(drawn())


def test_a_model_without_its_shift_of_the_mean_is_caught():
    assert wrong_figures(drawn() + SD**2 / 2) == ["mean"]


def test_a_seed_is_a_run_and_the_end_of_a_season_changes_no_morning_before():
    assert (draw_errors(30, 3) == draw_errors(30, 3)).all()
    assert (draw_errors(30, 3) != draw_errors(30, 4)).all()
    assert (draw_errors(90, 3)[:30] == draw_errors(30, 3)).all()


def test_no_forecast_is_brighter_than_a_clear_sky_by_a_twentieth():
    found = season(site_of(), SUN, clear_mol=18.0)
    light = model_factors(found, 0)[:, :3] * np.stack(
        [found.outdoor_mol[k : k + 24] for k in range(3)], axis=1
    )
    assert light.max() == pytest.approx(18.0 * 1.05)
    assert (light < 18.0).any()


def test_one_factor_holds_for_all_steps_of_a_day_and_for_every_bench():
    found = season(site_of(), SUN)
    ahead = model(found, 7)(5, 3)
    factor = model_factors(found, 7)[5, :3]
    truth = perfect(found)(5, 3).sun_ppfd[0]
    lit = truth > 0
    day = found.grid.day[found.grid.day < 3]
    assert ahead.sun_ppfd[0][lit] / truth[lit] == pytest.approx(factor[day][lit])


def test_the_low_point_is_passed_in_nine_of_ten_days():
    errors = drawn()
    assert (np.exp(-errors) >= model_low(3)).mean(axis=0) == pytest.approx([0.9] * 3, abs=0.01)


def test_persistence_is_yesterday_at_the_same_hours():
    found = season(site_of(), SUN)
    ahead = persistence(found)(6, 3)
    yesterday = perfect(found)(5, 1).sun_ppfd[0]
    for part in ahead.sun_ppfd[0].reshape(3, 96):
        assert (part == yesterday).all()
    assert (ahead.low <= 1).all()


@pytest.mark.parametrize("of", [persistence, lambda s: model(s, 2), perfect])
def test_no_morning_sees_further_than_its_forecast(of):
    """Another sun from day 5 on leaves all that was lit before a forecast of that day was made."""
    sun = SUN[:7]
    one, other = (season(site_of(), light) for light in (sun, np.concatenate([sun[:5], sun[5:] * 0.3])))
    told = 3 if of is not persistence else 6  # the first morning whose forecast tells of day 5
    a, b = (advice(found, of(found)).benches[0].lamp_mol for found in (one, other))
    assert (a[:told] == b[:told]).all()
    assert (a[told:] != b[told:]).any()


def test_what_the_first_morning_expects_owes_nothing_to_its_own_sun():
    found = season(site_of(), SUN)
    brighter = replace(found, outdoor_mol=found.outdoor_mol * 2)
    ahead = persistence(found)(0, 1).sun_ppfd[0]
    twice = persistence(
        replace(
            brighter,
            benches=tuple(
                replace(b, sun_ppfd=b.sun_ppfd * 2, sun_mol=b.sun_mol * 2) for b in brighter.benches
            ),
        )
    )(0, 1).sun_ppfd[0]
    assert ahead == pytest.approx(twice)
