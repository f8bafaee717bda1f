"""What glazing bars take, by the sun's direction: a bar has depth, and light from the side meets its flank.

Bars run across the house, up the walls and over the roof, evenly spaced along the ridge. They are
taken as black: what a painted flank throws on is left out, so the loss is rather too high than too low.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lightplan.house.optics import stack_optics
from lightplan.house.shape import Section, section_of
from lightplan.site.models import Bars, Glazing, House

Array = NDArray[np.float64]

SKY_ZENITHS, SKY_AZIMUTHS = 18, 72  # directions that stand for an even sky; twice as many: under 0.0005


def bars_leave(house: House, zenith_deg: ArrayLike, azimuth_deg: ArrayLike) -> Array:
    """Share of the beam that bars leave, by the sun's position; 1 where a house tells of no bars.

    zenith_deg, azimuth_deg : one shape, azimuth from north. The mean over the panes that face the sun
    above bench height, weighted by the light that each lets in.
    """
    zenith, turn = np.radians(zenith_deg), np.radians(np.asarray(azimuth_deg) - house.ridge_azimuth_deg)
    if house.bars is None:
        return np.ones(np.broadcast(zenith, turn).shape)
    to_sun = np.stack(
        np.broadcast_arrays(np.sin(zenith) * np.sin(turn), np.sin(zenith) * np.cos(turn), np.cos(zenith))
    )
    entering, left = _panes(house, house.bars, to_sun)
    total = entering.sum(axis=0)
    return np.where(total > 0, (entering * left).sum(axis=0) / np.where(total > 0, total, 1.0), 1.0)


def bars_leave_of_even_sky(house: House) -> float:
    """The same for light that comes evenly from the whole sky."""
    if house.bars is None:
        return 1.0
    zenith = (np.arange(SKY_ZENITHS) + 0.5) / SKY_ZENITHS * np.pi / 2
    azimuth = (np.arange(SKY_AZIMUTHS) + 0.5) / SKY_AZIMUTHS * 2 * np.pi
    z, a = (grid.ravel() for grid in np.meshgrid(zenith, azimuth))
    entering, left = _panes(
        house, house.bars, np.stack([np.sin(z) * np.sin(a), np.sin(z) * np.cos(a), np.cos(z)])
    )
    entering = entering * np.sin(z)  # a ring of the dome is as wide as its sine
    return float((entering * left).sum() / entering.sum())


def _panes(house: House, bars: Bars, to_sun: Array) -> tuple[Array, Array]:
    """Light let in by each pane and the share its bars leave, (panes, …); to_sun is across, along, up."""
    section = section_of(house)
    widths = _above_bench(section)
    across, along, up = to_sun
    outward = -section.inward
    shape = (len(widths),) + (1,) * across.ndim
    facing = outward[:, 0].reshape(shape) * across + outward[:, 1].reshape(shape) * up
    cosine = np.maximum(facing, 0.0)
    passed = np.stack([_passed(pane, c) for pane, c in zip(section.glazings, cosine, strict=True)])
    with np.errstate(divide="ignore", invalid="ignore"):
        flank = np.where(cosine > 0, bars.depth_m * np.abs(along) / cosine, 0.0)
    left = 1 - np.minimum((bars.width_m + flank) / bars.spacing_m, 1.0)
    return widths.reshape(shape) * cosine * passed, left


def _passed(pane: Glazing | None, cosine: Array) -> Array:
    return np.zeros_like(cosine) if pane is None else stack_optics(pane.layers, cosine).passed


def _above_bench(section: Section) -> Array:
    """(panes,) width of the part of each pane above bench height [m]."""
    z = section.points[:, 1] - section.height_m
    low, high = np.minimum(z[:-1], z[1:]), np.maximum(z[:-1], z[1:])
    rise = np.where(high > low, high - low, 1.0)
    share = (
        np.where(high > low, np.clip(high, 0, None) - np.clip(low, 0, None), np.where(low > 0, rise, 0.0))
        / rise
    )
    return section.widths * share
