"""A house's heat loss and air changes found again from its lowest and highest temperatures."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date, timedelta

import numpy as np

from lightplan.heat.house_air import AUTOMATIC
from lightplan.heat.house_body import house_body
from lightplan.heat.parameters import UNCALIBRATED, heat_parameters
from lightplan.heat.runs import HouseHeat
from lightplan.learn.heat_fit import MAX_SD_K, MIN_SD_K, PRIOR, HeatDay, fit_heat
from lightplan.site.models import House, MeasuredHeat
from tests.learn.invented import invented_site

FIRST = date(2026, 3, 1)
HOURS = np.arange(96) / 4


def house() -> House:
    """A cold one: what it loses shows at night."""
    return replace(invented_site().house("hoop"), heat_to_c=2.0)


def days(truth: dict[str, float], seed: int, count: int = 12) -> list[HeatDay]:
    """Invented March days from dull to bright, read by a thermometer that errs as it is said to."""
    chance, body = np.random.default_rng(seed), house_body(house())
    found = []
    for n in range(count):
        sun = float(chance.uniform(100, 700)) * np.clip(np.sin((HOURS - 6.5) / 11.5 * np.pi), 0, None) * 0.6
        outdoors = float(chance.uniform(2, 14)) + 5 * np.cos((HOURS - 15) / 12 * np.pi)
        ready = HouseHeat(body, outdoors, sun, np.zeros(96), 0.3, AUTOMATIC)

        def run(loss: float, air: float, ready: HouseHeat = ready) -> tuple[float, float]:
            air_c = replace(ready, parameters=replace(UNCALIBRATED, loss=loss, air=air)).air_c()
            return float(air_c.min()), float(air_c.max())

        low, high = run(math.exp(truth["loss"]), math.exp(truth["air"]))
        low += MIN_SD_K * chance.standard_normal()
        high += MAX_SD_K * chance.standard_normal()
        found.append(HeatDay(n, FIRST + timedelta(days=n), low, high, run))
    return found


def case(seed: int) -> tuple[dict[str, bool], bool]:
    chance = np.random.default_rng(1000 + seed)
    truth = {t.name: t.sd * float(chance.standard_normal()) for t in PRIOR}
    found, _ = fit_heat("hoop", days(truth, seed))
    of = {"loss": found.loss, "air": found.air}
    return {n: f.low <= math.exp(truth[n]) <= f.high for n, f in of.items()}, found.air.used


def test_known_factors_lie_in_their_intervals():
    hits = [hit for seed in range(12) for hit in case(seed)[0].values()]
    assert sum(hits) >= 19  # of 24 at 90 %: fewer than 19 come by chance once in 140


def test_readings_narrow_what_is_foretold_of_a_peak():
    found, out = fit_heat("hoop", days({"loss": 0.1, "air": 0.6}, seed=5, count=25))
    assert out == ()
    assert found.air.used
    assert 1.5 <= found.uncertainty_k < UNCALIBRATED.uncertainty_k
    measured = MeasuredHeat(found.loss.middle, found.air.middle, found.uncertainty_k)
    parameters = heat_parameters(replace(house(), measured_heat=measured))
    assert (parameters.air, parameters.uncertainty_k) == (found.air.middle, found.uncertainty_k)
    assert found.air.middle > 1.2


def test_peaks_that_the_model_meets_narrow_what_is_foretold_of_one():
    """25 days read to the half degree: five days' worth of the assumed ±2.5 K give way to them."""
    found = []
    for n, day in enumerate(days({"loss": 0.1, "air": 0.6}, seed=5, count=25)):
        low, high = day.run(math.exp(0.1), math.exp(0.6))
        found.append(replace(day, min_c=low, max_c=high + 0.5 * (-1) ** n))
    assert fit_heat("hoop", found)[0].uncertainty_k < 2.0


def test_too_few_days_are_not_concluded_from():
    found, _ = fit_heat("hoop", days({"loss": 0.1, "air": 0.6}, seed=5, count=3))
    assert not found.air.used
    assert found.air.why_not == "3 days read, 5 are the least"
    assert found.uncertainty_k == UNCALIBRATED.uncertainty_k


def test_a_thermometer_in_the_sun_is_not_believed():
    wrong = [replace(d, max_c=(d.max_c or 0) + 25) for d in days({"loss": 0.0, "air": 0.0}, seed=2)]
    found, _ = fit_heat("hoop", wrong)
    assert not found.air.used
    assert "look at the thermometer" in str(found.air.why_not)
