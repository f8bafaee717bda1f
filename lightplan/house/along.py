"""Light and the two ends: what becomes of a path that drifts along the ridge as it crosses the house.

A path of length D in the cross-section drifts D·cot γ along the ridge. Between two parallel ends it
meets an end each time that drift passes another house length; it passes or is mirrored there, and
what happens in the cross-section does not change by it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from lightplan.house.optics import hemispherical, stack_optics
from lightplan.house.panes import RidgeAngles
from lightplan.house.shape import Section
from lightplan.site.models import Glazing

Array = NDArray[np.float64]
Light = NDArray[np.float32]
Ints = NDArray[np.int64]

CELLS_ALONG = 21
POINTS_A_CELL = 6
FIRST_STEP_M, STEPS_TO_DOUBLE, STEPS = 0.15, 8.0, 80  # path lengths told apart: 0.15 m, growing to 130 m
NEVER = 1e-9


@dataclass(frozen=True)
class Ends:
    """What each end does, (2, angles), end-a first: passes straight, mirrors inside, and how strongly it
    scatters by direction (1 on average; all 1 where it is solid). scatters : (2,) as for `Panes`."""

    passed: Array
    mirrored: Array
    scattering: Array
    scatters: Array


def ends_of(section: Section, angles: RidgeAngles) -> Ends:
    cosines = np.cos(np.radians(angles.gamma_deg))
    rows = [_end(glazing, cosines) for glazing in section.ends]
    return Ends(*(np.array(found) for found in zip(*rows, strict=True)))


def _end(glazing: Glazing | None, cosines: Array) -> tuple[Array, Array, Array, float]:
    if glazing is None:
        return np.zeros_like(cosines), np.zeros_like(cosines), np.ones_like(cosines), 0.0
    optics, (of_even, _, _) = stack_optics(glazing.layers, cosines), hemispherical(glazing.layers)
    passed = optics.passed * (1 - glazing.haze)
    return passed, optics.mirrored_inside, optics.passed / of_even, glazing.haze * of_even


@dataclass(frozen=True)
class Fates:
    """By path length before a cell along the ridge, for light from end-a's side (0) and end-b's (1).

    kept : (2, angles, lengths, cells) share left when it entered through a pane that far back.
    entered : the same for light that entered through the end: summed over entries up to that length,
    before what the end's glazing takes.
    left : share of paths that have passed an end plane once, for paths outside the house.
    """

    kept: Light
    entered: Light
    left: Light

    def mean(self) -> Fates:
        """Averaged over the house's length, (2, angles, lengths, 1)."""
        return Fates(*(a.mean(axis=3, keepdims=True) for a in (self.kept, self.entered, self.left)))


def path_lengths() -> Array:
    """(STEPS,) the lengths [m] that are told apart, fine where paths are short."""
    step = np.arange(STEPS)
    return np.asarray(FIRST_STEP_M * (step + step**2 / STEPS_TO_DOUBLE))


def fates(ends: Ends, angles: RidgeAngles, section: Section) -> Fates:
    """What the ends make of every path length, for each cell along the house."""
    count = CELLS_ALONG * POINTS_A_CELL
    first, last = section.clear_along_m
    y = (first + (np.arange(count) + 0.5) / count * (last - first)) / section.length_m
    drift = angles.drift[:, None, None] * path_lengths()[None, :, None] / section.length_m
    ahead, behind = np.floor(drift - y + 1), np.floor(drift - (1 - y) + 1)
    from_a = _one_side(ahead, behind, ends.mirrored[0], ends.mirrored[1])
    from_b = _one_side(behind, ahead, ends.mirrored[1], ends.mirrored[0])
    both = [np.stack([a, b]) for a, b in zip(from_a, from_b, strict=True)]
    shape = (*both[0].shape[:3], CELLS_ALONG, POINTS_A_CELL)
    return Fates(*(found.reshape(shape).mean(axis=4).astype(np.float32) for found in both))


def _one_side(near: Array, far: Array, mirrors_near: Array, mirrors_far: Array) -> tuple[Array, Array, Array]:
    """Light from the near end's side. near, far : end planes passed by the time it arrives
    travelling away from the near end, or back towards it (after an odd number of mirrorings)."""
    near_r, far_r = mirrors_near[:, None, None], mirrors_far[:, None, None]
    both = np.minimum(near_r * far_r, 1 - NEVER)
    there = np.where(near % 2 == 0, both ** (near // 2), 0.0)
    back = np.where(far % 2 == 1, both ** (far // 2) * far_r, 0.0)
    entered_there = (1 - both ** np.ceil(near / 2)) / (1 - both)
    entered_back = far_r * (1 - both ** (far // 2)) / (1 - both)
    left = np.broadcast_to(near > 0, there.shape).astype(np.float64)
    return there + back, np.asarray(entered_there + entered_back), left


class Tally:
    """Light gathered by place and path length, to be settled by what the ends make of each length."""

    def __init__(self, places: int, angles: int) -> None:
        self.places, self.angles = places, angles
        self._found: dict[str, list[tuple[Ints, Array, Light]]] = {"kept": [], "entered": [], "left": []}

    def add(self, fate: str, place: Ints, length_m: Array, light: Light) -> None:
        """fate : which of `Fates` this light meets. light : (rays, angles), may be negative."""
        if len(place):
            self._found[fate].append((place, length_m, light))

    def settle(self, fates: Fates, entrance: Array) -> Light:
        """(2 sides, angles, places, cells) of what arrives. entrance : (2, angles) what the ends pass."""
        cells = fates.kept.shape[3]
        total = np.zeros((2, self.angles, self.places, cells), dtype=np.float32)
        for fate, found in self._found.items():
            if not found:
                continue
            place, lengths, light = (np.concatenate([row[n] for row in found]) for n in range(3))
            poured = pour(place, lengths, light, self.places)
            for side in (0, 1):
                by_length = getattr(fates, fate)[side]
                if fate == "entered":
                    by_length = by_length * entrance[side].astype(np.float32)[:, None, None]
                total[side] += poured @ by_length
        return total


def pour(place: Ints, lengths: Array, light: Light, places: int) -> Light:
    """Light (rays, angles) summed by place and path length: (angles, places, lengths).

    A length between two of `path_lengths` is shared between them.
    """
    step = np.sqrt(np.maximum(lengths, 0) / FIRST_STEP_M * STEPS_TO_DOUBLE + STEPS_TO_DOUBLE**2 / 4)
    lower = np.clip(step - STEPS_TO_DOUBLE / 2, 0, STEPS - 1.001).astype(np.int64)
    nodes = path_lengths()
    share = np.clip((lengths - nodes[lower]) / (nodes[lower + 1] - nodes[lower]), 0, 1)
    row = place * STEPS + lower
    rays = np.arange(len(place))
    onto = sparse.csr_matrix(
        (
            np.concatenate([1 - share, share]).astype(np.float32),
            (np.concatenate([row, row + 1]), np.concatenate([rays, rays])),
        ),
        shape=(places * STEPS, len(place)),
    )
    return np.asarray(onto @ light).reshape(places, STEPS, -1).transpose(2, 0, 1)
