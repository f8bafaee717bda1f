"""What every pane of a house passes and mirrors, ready to look up by the thousand.

A direction is kept as its slope in the plane of the cross-section and its angle to the ridge (γ): a
mirror never changes γ, so one path in that plane serves all γ at once.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lightplan.house.optics import hemispherical, stack_optics
from lightplan.house.shape import Section
from lightplan.site.models import Glazing

Array = NDArray[np.float64]
Light = NDArray[np.float32]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

COSINES = 4096  # steps of the look-up by cosine; the nearest is within 0.0006 where glass is steepest
RIDGE_ANGLES = 31  # γ from almost along the ridge to square to it
LEAST_RIDGE_ANGLE_DEG = 2.0
# So much denser near the ridge, where light through the ends changes fastest: with even steps straight light
# at 10 degrees in line with the ridge is off by 0.6 points.
CROWDED = 1.5


@dataclass(frozen=True)
class RidgeAngles:
    """The angles γ between light and ridge that are traced together.

    across : (angles,) share of a unit direction that lies in the cross-section, sin γ.
    drift : (angles,) metres along the ridge for each metre in the cross-section, cot γ.
    weights : (angles,) share of evenly spread light, seen by a flat receiver along the ridge, near each γ.
    """

    gamma_deg: Array
    across: Array
    drift: Array
    weights: Array


def ridge_angles(count: int = RIDGE_ANGLES) -> RidgeAngles:
    least = np.radians(LEAST_RIDGE_ANGLE_DEG)
    gamma = least + (np.pi / 2 - least) * np.linspace(0, 1, count) ** CROWDED
    weights = np.sin(gamma) ** 2 * np.gradient(gamma)
    weights[-1] /= 2  # trapezoid; the other end holds nothing
    return RidgeAngles(
        gamma_deg=np.degrees(gamma),
        across=np.sin(gamma),
        drift=np.cos(gamma) / np.sin(gamma),
        weights=weights / weights.sum(),
    )


@dataclass(frozen=True)
class Panes:
    """Look-up tables by kind of pane, the last kind being opaque, and cosine of the angle of incidence.

    kind : (panes,). passed : (kinds, cosines) what goes straight on, the same out of the house and into it.
    mirrored : (kinds, 2, cosines) from outside and from inside. scatters : (kinds,) share of even light
    that is passed and scattered. scattering : (kinds, cosines) how strongly by direction, 1 on average:
    the same way in and out, so that no light is made or lost between rooms equally bright.
    """

    kind: Ints
    passed: Light
    mirrored: Light
    scatters: Array
    scattering: Light
    across: Light

    @property
    def is_opaque(self) -> Bools:
        """(panes,)"""
        return np.asarray(self.kind == len(self.scatters) - 1)

    @property
    def is_hazy(self) -> Bools:
        """(panes,)"""
        return np.asarray(self.scatters[self.kind] > 0)

    def meet(self, pane: Ints, cos_in_section: Array, *, from_inside: Bools) -> tuple[Light, Light]:
        """Shares passed straight and mirrored, (rays, angles), of rays that meet panes."""
        kind, at = self.kind[pane][:, None], self._step(cos_in_section)
        passed = self.passed.ravel()[kind * (COSINES + 1) + at]
        return passed, self.mirrored.ravel()[(2 * kind + from_inside[:, None]) * (COSINES + 1) + at]

    def scatter(self, pane: Ints, cos_in_section: Array) -> Light:
        """How strongly each pane scatters in these directions, (rays, angles)."""
        step = self._step(cos_in_section)
        return np.asarray(self.scattering.ravel()[self.kind[pane][:, None] * (COSINES + 1) + step])

    def _step(self, cos_in_section: Array) -> NDArray[np.int32]:
        cosine = np.abs(cos_in_section)[:, None].astype(np.float32)
        return np.asarray(cosine * (self.across * COSINES) + 0.5, dtype=np.int32)


def panes_of(section: Section, angles: RidgeAngles) -> Panes:
    kinds: list[Glazing | None] = []
    for glazing in section.glazings:
        if glazing is not None and glazing not in kinds:
            kinds.append(glazing)
    kinds.append(None)
    rows = [_rows(glazing) for glazing in kinds]
    return Panes(
        kind=np.array([kinds.index(glazing) for glazing in section.glazings], dtype=np.int64),
        passed=np.array([passed for passed, *_ in rows], dtype=np.float32),
        mirrored=np.array([mirrored for _, mirrored, *_ in rows], dtype=np.float32),
        scatters=np.array([scatters for *_, scatters, _ in rows]),
        scattering=np.array([scattering for *_, scattering in rows], dtype=np.float32),
        across=angles.across.astype(np.float32),
    )


def _rows(glazing: Glazing | None) -> tuple[Array, Array, float, Array]:
    cosines = np.linspace(0, 1, COSINES + 1)
    if glazing is None:
        return np.zeros_like(cosines), np.zeros((2, len(cosines))), 0.0, np.zeros_like(cosines)
    optics, (of_even, _, _) = stack_optics(glazing.layers, cosines), hemispherical(glazing.layers)
    mirrored = np.stack([optics.mirrored_outside, optics.mirrored_inside])
    straight = optics.passed * (1 - glazing.haze)
    return straight, mirrored, glazing.haze * of_even, optics.passed / of_even
