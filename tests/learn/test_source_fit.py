"""What scored days teach of a weather source, against closed forms, and how it reaches the band."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from scipy.stats import invgamma

from lightplan.learn.score import DayScore, score_json, score_of
from lightplan.learn.source_fit import (
    CLOUD_DAY_SD,
    CLOUD_LIGHT_SD,
    PRIOR_DAYS,
    cloud_factor,
    errors_of,
    learned,
    sources_found,
    spread_factor,
)
from lightplan.weather.bands import squeezed, stretched

CLEAR = 40.0


def score(
    n: int, came: float, *, told: float = 20.0, source: str = "open-meteo", by: str = "service", **more
):
    middle = stretched(np.array([told / CLEAR]))
    low, high = (float(CLEAR * squeezed(middle + z * 0.6)[0]) for z in (-1.2816, 1.2816))
    values = {"kind": "forecast", "raw_mol": told, "benches": (), "orders": (), "air": ()} | more
    day = date(2026, 3, 1) + timedelta(days=n)
    return DayScore(
        day=day,
        source=source,
        observed_by=by,
        forecast_mol=told,
        low_mol=low,
        high_mol=high,
        came_mol=came,
        clear_mol=CLEAR,
        **values,
    )


def off(sds: float) -> float:
    """Light [mol] of a day that lies so many of the band's standard deviations off."""
    return float(CLEAR * squeezed(stretched(np.array([0.5])) + 0.6 * sds)[0])


def test_scale_of_a_normal_with_known_mean():
    """Gelman et al., Bayesian Data Analysis, 3rd ed., ch. 2.6 (from memory): scaled inverse chi-square, the
    same as an inverse gamma with shape ν/2 and scale Σ/2, which scipy knows."""
    errors = [0.5, -1.5, 2.0, -0.3, 1.1] * 4
    factor = spread_factor(errors, 20)
    nu, squares = PRIOR_DAYS + 20, PRIOR_DAYS + sum(e * e for e in errors)
    known = invgamma(nu / 2, scale=squares / 2)
    assert (factor.low**2, factor.high**2) == pytest.approx((known.ppf(0.05), known.ppf(0.95)))
    assert factor.middle == pytest.approx(math.sqrt(squares / nu))


def test_a_sources_errors_are_measured_on_its_own_band():
    scores = [score(n, off(sds)) for n, sds in enumerate((1.0, -1.0, 0.5, -2.0))]
    assert errors_of(scores)["open-meteo"] == pytest.approx((1.0, -1.0, 0.5, -2.0), abs=1e-6)


def test_a_source_that_errs_twice_as_much_gets_a_band_twice_as_wide():
    chance = np.random.default_rng(4)
    scores = [score(n, off(float(np.clip(2 * chance.standard_normal(), -3, 3)))) for n in range(60)]
    spread = learned(scores, (), ("open-meteo", "nws"))
    assert 1.5 < spread["open-meteo"].spread < 2.2
    assert spread["nws"].spread == 1.0
    assert learned(scores[:9], (), ("open-meteo",))["open-meteo"].spread == 1.0  # ten are the least


def test_only_what_was_measured_makes_a_band_narrower():
    """A service's past is its own model again: twenty days of it that lie near say little."""
    near = [score(n, off(0.2 * (-1) ** n)) for n in range(20)]
    assert learned(near, (), ("open-meteo",))["open-meteo"].spread == 1.0
    (found,) = sources_found(near)
    assert not found.spread.used
    assert "by its own word only" in str(found.spread.why_not)
    by_logger = [replace(s, observed_by="logger") if n >= 10 else s for n, s in enumerate(near)]
    assert learned(by_logger, (), ("open-meteo",))["open-meteo"].spread < 0.8
    nine = [replace(s, observed_by="logger") if n >= 11 else s for n, s in enumerate(near)]
    assert learned(nine, (), ("open-meteo",))["open-meteo"].spread == 1.0


def test_the_factor_does_not_feed_on_itself():
    """A band stretched by what was learned already: the error comes out as if it had not been."""
    middle = stretched(np.array([0.5]))
    low, high = (float(CLEAR * squeezed(middle + z * 1.2816 * 0.6 * 1.7)[0]) for z in (-1, 1))
    wide = replace(score(11, off(2.0)), low_mol=low, high_mol=high, stretch=1.7)
    assert errors_of([wide])["open-meteo"] == pytest.approx((2.0,), abs=1e-6)


def test_light_of_cloud_by_a_logger_only():
    """The mean of a normal with known spread: Gelman et al. eq. 2.12 (from memory)."""
    days = [score(n, 16.0, source="met-norway", by="logger") for n in range(12)]
    factor = cloud_factor(days, "met-norway")
    trust = 1 / CLOUD_LIGHT_SD**2 + 12 / CLOUD_DAY_SD**2
    assert math.log(factor.middle) == pytest.approx(12 * math.log(0.8) / CLOUD_DAY_SD**2 / trust)
    assert factor.used
    of_itself = [score(n, 16.0, source="met-norway", by="service") for n in range(12)]
    assert cloud_factor(of_itself, "met-norway").readings == 0
    assert cloud_factor(days, "open-meteo").why_not == "it gives light itself"
    found = sources_found(days)
    assert learned(days, found, ("met-norway",))["met-norway"].cloud_light == factor.middle


def test_scores_survive_the_records():
    kept = score(1, 12.0)
    again = score_of(score_json(kept))
    assert (again.day, again.benches, again.in_range) == (kept.day, (), kept.in_range)
    assert again.came_mol == pytest.approx(kept.came_mol, abs=1e-4)
