"""A linear-Gaussian posterior in closed form, with outliers named.

Every factor here multiplies light, so its logarithm adds: a reading's log is a sum of terms plus noise. With
Gaussian priors the posterior is exact, its width too, and one joint fit keeps apart what one reading mixes (a
house, a cover over its bench, the meter). Sources: Gelman et al., Bayesian Data Analysis, 3rd ed., ch. 14.8
(from memory); leave-one-out from the hat matrix, Cook & Weisberg 1982 (from memory).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

OUTLIER_SD = 3.5  # 1 in 2,000 of honest readings; judgement
FEWEST_TO_JUDGE = 3  # of two that differ nobody can tell which is wrong
MOST_OUT = 3  # one in so many: where more stand out, it is not the readings that are wrong; judgement
Z90 = 1.6449  # half a 90 % interval in standard deviations


@dataclass(frozen=True)
class Term:
    """One unknown: its prior mean and standard deviation."""

    name: str
    mean: float
    sd: float


@dataclass(frozen=True)
class Observed:
    """value = Σ weights × terms + noise of standard deviation sd. group : those that can vouch for it."""

    number: int
    value: float
    weights: Mapping[str, float]
    sd: float
    group: str
    day: date | None = None


@dataclass(frozen=True)
class Posterior:
    """names in the order of mean and covariance; outliers and doubted by reading number.

    doubted : readings that contradict the others, or what is thought possible, where it can't be told which
    is wrong.
    """

    names: tuple[str, ...]
    mean: Array
    covariance: Array
    kept: tuple[Observed, ...]
    outliers: tuple[Observed, ...]
    doubted: tuple[Observed, ...]

    def of(self, weights: Mapping[str, float]) -> tuple[float, float]:
        """Mean and standard deviation of a sum of terms."""
        row = self.row(weights)
        return float(row @ self.mean), max(float(row @ self.covariance @ row), 0.0) ** 0.5

    def row(self, weights: Mapping[str, float]) -> Array:
        return np.array([weights.get(name, 0.0) for name in self.names])

    def narrowed(self, target: Mapping[str, float], reading: Mapping[str, float], sd: float) -> float:
        """By how much the target's variance would shrink with one more such reading, whatever it shows."""
        aim, look = self.row(target), self.row(reading)
        shared = float(aim @ self.covariance @ look)
        return shared**2 / float(look @ self.covariance @ look + sd**2)


def posterior(prior: Sequence[Term], observed: Sequence[Observed]) -> Posterior:
    """The terms after the readings; the worst outlier is taken out first, then all is worked out again."""
    kept: list[Observed] = list(observed)
    outliers: list[Observed] = []
    total = Counter(o.group for o in observed)
    while True:
        mean, covariance = _solve(prior, kept)
        strange = _strangeness(prior, kept, mean, covariance)
        out = Counter(o.group for o in outliers)
        worst = max(
            (
                n
                for n, o in enumerate(kept)
                if total[o.group] - out[o.group] >= FEWEST_TO_JUDGE
                and out[o.group] < max(1, total[o.group] // MOST_OUT)
            ),
            key=lambda n: strange[n],
            default=None,
        )
        if worst is None or strange[worst] <= OUTLIER_SD:
            break
        outliers.append(kept.pop(worst))
    doubted = tuple(o for n, o in enumerate(kept) if strange[n] > OUTLIER_SD)
    return Posterior(tuple(t.name for t in prior), mean, covariance, tuple(kept), tuple(outliers), doubted)


def evidence(prior: Sequence[Term], observed: Sequence[Observed]) -> float:
    """Logarithm of how likely the readings are beforehand, for weighing two priors against each other."""
    design = _design(prior, observed)
    rest = np.array([o.value for o in observed]) - design @ np.array([t.mean for t in prior])
    spread = design @ np.diag([t.sd**2 for t in prior]) @ design.T + np.diag([o.sd**2 for o in observed])
    _, size = np.linalg.slogdet(spread)
    return float(-0.5 * (rest @ np.linalg.solve(spread, rest) + size))


def _design(prior: Sequence[Term], observed: Sequence[Observed]) -> Array:
    return np.array([[o.weights.get(t.name, 0.0) for t in prior] for o in observed]).reshape(-1, len(prior))


def _solve(prior: Sequence[Term], observed: Sequence[Observed]) -> tuple[Array, Array]:
    design = _design(prior, observed)
    trust = np.array([1 / o.sd**2 for o in observed])
    known = np.array([1 / t.sd**2 for t in prior])
    covariance = np.linalg.inv(np.diag(known) + design.T @ (design * trust[:, None]))
    told = known * np.array([t.mean for t in prior])
    told = told + design.T @ (trust * np.array([o.value for o in observed]))
    return np.asarray(covariance @ told), np.asarray(covariance)


def _strangeness(
    prior: Sequence[Term], observed: Sequence[Observed], mean: Array, covariance: Array
) -> Array:
    """How far each reading lies from what all others foretell, in its own standard deviations."""
    design = _design(prior, observed)
    sd = np.array([o.sd for o in observed])
    rest = np.array([o.value for o in observed]) - design @ mean
    hat = np.einsum("ij,jk,ik->i", design, covariance, design) / sd**2
    return np.asarray(np.abs(rest) / (sd * np.sqrt(np.clip(1 - hat, 1e-9, None))))
