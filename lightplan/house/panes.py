"""What every pane of a house passes and mirrors, ready to look up by the thousand.

A direction is kept as its slope in the plane of the cross-section and its angle to the ridge (γ): a
mirror never changes γ, so one path in that plane serves all γ at once.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lightplan.house.optics import scattered_share, stack_optics
from lightplan.house.shape import Section
from lightplan.site.models import Glazing

Array = NDArray[np.float64]
Light = NDArray[np.float32]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

COSINES = 4096  # steps of the look-up by cosine; nearest is within 0.0006 where glass is steepest
RIDGE_ANGLES = 25  # γ from almost along the ridge to square to it
LEAST_RIDGE_ANGLE_DEG = 2.0


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
    gamma = np.linspace(np.radians(LEAST_RIDGE_ANGLE_DEG), np.pi / 2, count)
    weights = np.sin(gamma) ** 2
    weights[-1] /= 2  # trapezoid; the other end holds nothing
    return RidgeAngles(
        gamma_deg=np.degrees(gamma),
        across=np.sin(gamma),
        drift=np.cos(gamma) / np.sin(gamma),
        weights=weights / weights.sum(),
    )


@dataclass(frozen=True)
class Panes:
    """Look-up tables: kind of each pane (−1 = opaque), shares by kind, side and cosine."""

    kind: Ints
    passed: Light  # (kinds + 1, cosines): straight and scattered together
    mirrored: Light  # (kinds + 1, 2, cosines): from outside, from inside
    haze: Array  # (kinds + 1,) share of the passed light that is scattered
    across: Light

    def meet(self, pane: Ints, cos_in_section: Array, from_inside: Bools) -> tuple[Light, Light]:
        """Shares passed and mirrored, (rays, angles), of rays that meet panes; opaque ones give none."""
        kind = self.kind[pane] % len(self.haze)
        cosine = np.abs(cos_in_section)[:, None].astype(np.float32)
        at = (cosine * (self.across * COSINES) + 0.5).astype(np.int32)
        passed = self.passed.ravel()[kind[:, None] * (COSINES + 1) + at]
        side = 2 * kind + from_inside
        return passed, self.mirrored.ravel()[side[:, None] * (COSINES + 1) + at]

    def straight_share(self, pane: Ints) -> Array:
        """(rays,) share of the passed light that goes straight on."""
        return 1.0 - self.haze[self.kind[pane]]


def panes_of(section: Section, angles: RidgeAngles) -> Panes:
    kinds: list[Glazing] = []
    for glazing in section.glazings:
        if glazing is not None and glazing not in kinds:
            kinds.append(glazing)
    cosines = np.linspace(0, 1, COSINES + 1)
    found = [stack_optics(glazing.layers, cosines) for glazing in kinds]
    nothing = np.zeros((1, 2, COSINES + 1))  # the last row, which opaque panes' −1 finds
    passed = np.array([optics.passed for optics in found]).reshape(-1, COSINES + 1)
    mirrored = np.array([(o.mirrored_outside, o.mirrored_inside) for o in found]).reshape(-1, 2, COSINES + 1)
    return Panes(
        kind=np.array([-1 if g is None else kinds.index(g) for g in section.glazings], dtype=np.int64),
        passed=np.vstack([passed, nothing[:, 0]]).astype(np.float32),
        mirrored=np.concatenate([mirrored, nothing]).astype(np.float32),
        haze=np.array([*(scattered_share(glazing) for glazing in kinds), 0.0]),
        across=angles.across.astype(np.float32),
    )
