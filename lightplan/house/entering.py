"""How much light each face of a house lets in from a direction: what losses of single faces are weighed by.

Faces are the panes of the section and then the two ends, each above bench height alone.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lightplan.house.optics import stack_optics
from lightplan.house.shape import Section
from lightplan.site.models import Glazing

Array = NDArray[np.float64]

SKY_ZENITHS, SKY_AZIMUTHS = 18, 72  # directions that stand for an even sky; twice as many: under 0.0015
COSINES = np.linspace(0.0, 1.0, 1025)


@dataclass(frozen=True)
class Entering:
    """Arrays (faces, …directions).

    light : let in, for each metre of ridge and unit of light square to its way. cosine : of the angle of
    incidence, 0 from behind. sideways : part of the direction in the face, square to its slope.
    """

    light: Array
    cosine: Array
    sideways: Array


def towards(zenith_deg: ArrayLike, from_ridge_deg: ArrayLike) -> Array:
    """(3, …) unit vectors to the sun: across, along the ridge, up."""
    zenith, turn = np.radians(zenith_deg), np.radians(from_ridge_deg)
    out = np.sin(zenith)
    return np.stack(np.broadcast_arrays(out * np.sin(turn), out * np.cos(turn), np.cos(zenith)))


def even_sky() -> tuple[Array, Array]:
    """Directions (3, n) all over the dome and the share of it that each stands for."""
    zenith = (np.arange(SKY_ZENITHS) + 0.5) / SKY_ZENITHS * 90
    azimuth = (np.arange(SKY_AZIMUTHS) + 0.5) / SKY_AZIMUTHS * 360
    z, a = (grid.ravel() for grid in np.meshgrid(zenith, azimuth))
    share = np.sin(np.radians(z))  # a ring of the dome is as wide as its sine
    return towards(z, a), share / share.sum()


def entering(section: Section, to_sun: Array) -> Entering:
    """What every face lets in from each of the directions (3, …)."""
    across, along, up = to_sun
    outward = -section.inward
    size = (len(section.widths),) + (1,) * across.ndim
    facing = [
        outward[:, 0].reshape(size) * across + outward[:, 1].reshape(size) * up,
        -along[None],
        along[None],
    ]
    cosine = np.maximum(np.concatenate(facing), 0.0)
    sideways = np.concatenate([np.repeat(np.abs(along)[None], size[0], axis=0), *[np.abs(across)[None]] * 2])
    areas = np.concatenate([_above_bench(section), np.repeat(_end_above_bench(section), 2)])
    glazings = (*section.glazings, *section.ends)
    passed = np.stack([_passed(glazing, c) for glazing, c in zip(glazings, cosine, strict=True)])
    return Entering(areas.reshape(len(areas), *size[1:]) * cosine * passed, cosine, sideways)


def _passed(glazing: Glazing | None, cosine: Array) -> Array:
    if glazing is None:
        return np.zeros_like(cosine)
    return np.interp(cosine, COSINES, stack_optics(glazing.layers, COSINES).passed)


def _above_bench(section: Section) -> Array:
    """(panes,) width of the part of each pane above bench height [m]."""
    z = section.points[:, 1] - section.height_m
    low, high = np.minimum(z[:-1], z[1:]), np.maximum(z[:-1], z[1:])
    level = high - low < 1e-12
    rise = np.where(level, 1.0, high - low)
    share = np.where(level, low > 0, (np.maximum(high, 0) - np.maximum(low, 0)) / rise)
    return np.asarray(section.widths * share)


def _end_above_bench(section: Section) -> float:
    """Area of an end above bench height, for each metre of ridge [m]."""
    x, z = np.vstack([section.points, section.points[:1]]).T
    above = np.maximum(z - section.height_m, 0.0)
    return float(abs(((x[1:] - x[:-1]) * (above[1:] + above[:-1])).sum()) / 2 / section.length_m)
