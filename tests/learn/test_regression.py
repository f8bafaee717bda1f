"""The posterior against the closed form of the conjugate normal, and outliers."""

from __future__ import annotations

import numpy as np
import pytest

from lightplan.learn.regression import Observed, Term, posterior


def seen(number: int, value: float, sd: float, **weights: float) -> Observed:
    return Observed(number, value, weights or {"level": 1.0}, sd, "house")


def test_normal_mean_with_known_variance():
    """Gelman et al., Bayesian Data Analysis, 3rd ed., eq. 2.12 (from memory): precisions add, and the mean is
    their weighted mean. Exact, so to 1e-12."""
    prior, values, sd = Term("level", -0.02, 0.12), [0.1, -0.05, 0.03, 0.08], 0.0616
    found = posterior([prior], [seen(n, v, sd) for n, v in enumerate(values)])
    precision = 1 / prior.sd**2 + len(values) / sd**2
    mean = (prior.mean / prior.sd**2 + sum(values) / sd**2) / precision
    assert found.of({"level": 1.0}) == pytest.approx((mean, precision**-0.5), rel=1e-12)


def test_two_unknowns_and_one_sum_of_them():
    """x + y read once: by hand from the joint normal, cov' = cov − cov a aᵀ cov / (aᵀ cov a + sd²)."""
    found = posterior([Term("x", 0, 0.3), Term("y", 0, 0.4)], [seen(1, 0.5, 0.1, x=1.0, y=1.0)])
    cov, a = np.diag([0.09, 0.16]), np.ones(2)
    gain = cov @ a / (a @ cov @ a + 0.01)
    assert found.mean == pytest.approx(gain * 0.5)
    assert found.covariance == pytest.approx(cov - np.outer(gain, a @ cov))


def test_what_a_reading_would_narrow_is_what_it_does():
    prior = [Term("x", 0, 0.3), Term("y", 0, 0.4)]
    before = posterior(prior, [seen(1, 0.2, 0.1, x=1.0)])
    after = posterior(prior, [seen(1, 0.2, 0.1, x=1.0), seen(2, 0.0, 0.2, x=1.0, y=0.5)])
    promised = before.narrowed({"y": 1.0}, {"x": 1.0, "y": 0.5}, 0.2)
    assert promised == pytest.approx(before.of({"y": 1.0})[1] ** 2 - after.of({"y": 1.0})[1] ** 2)
    assert promised > 0.01


def test_an_outlier_is_named_and_changes_nothing():
    good = [seen(n, v, 0.06) for n, v in enumerate([-0.1, -0.08, -0.13, -0.11])]
    clean = posterior([Term("level", 0, 0.12)], good)
    found = posterior([Term("level", 0, 0.12)], [*good, seen(9, 0.6, 0.06)])
    assert [o.number for o in found.outliers] == [9]
    assert found.of({"level": 1.0}) == pytest.approx(clean.of({"level": 1.0}))


def test_of_two_that_differ_neither_is_thrown_out():
    found = posterior([Term("level", 0, 0.12)], [seen(1, -0.4, 0.06), seen(2, 0.4, 0.06)])
    assert found.outliers == ()
    assert {o.number for o in found.doubted} == {1, 2}


def test_where_most_stand_out_it_is_not_the_readings_that_are_wrong():
    values = [1.5, 1.48, 1.52, 1.49, 1.51, 1.47]  # all far from what the prior holds possible
    found = posterior([Term("level", 0, 0.05)], [seen(n, v, 0.03) for n, v in enumerate(values)])
    assert len(found.outliers) <= len(values) // 3
    assert found.doubted
