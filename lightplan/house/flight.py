"""Light on its way through the cross-section, mirrored and passed on at every pane it meets.

Rays come in flocks and fly one leg at a time; at a pane each splits into the part that goes on and
the part that is mirrored, until little is left.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lightplan.house.rays import next_meeting
from lightplan.house.shape import Section
from lightplan.house.traced import TracedHouse

Array = NDArray[np.float64]
Light = NDArray[np.float32]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

MOST_LEGS = 40
LEVEL = 1e-9  # a ray flatter than this stays at its height
LEAST_LIGHT = 1e-3  # a ray with less in all its angles is let go; 1e-4 changes a house by under 0.02 points


@dataclass(frozen=True)
class Rays:
    """A flock; arrays over rays, light also over ridge angles.

    owner : what the ray was sent from. leaving : the pane it starts on, negative for none.
    light : share that it carries of light that is even along the house where it entered (or started).
    open : the same for light that comes in through an end on the ray's sunlit legs.
    run_m : how far it has come since it entered. lead_m : how much of that was sunlit: straight from the
    sun, before any mirror. sunlit : still so.
    """

    owner: Ints
    at: Array
    way: Array
    leaving: Ints
    inside: Bools
    sunlit: Bools
    run_m: Array
    lead_m: Array
    light: Light
    open: Light

    def __len__(self) -> int:
        return len(self.owner)

    def where(self, chosen: Ints | Bools) -> Rays:
        return Rays(*(getattr(self, name)[chosen] for name in self.__dataclass_fields__))


@dataclass(frozen=True)
class Legs:
    """One leg of each ray: what it meets (a pane, SKY or GROUND) and how far off [m]."""

    rays: Rays
    target: Ints
    length_m: Array

    def where(self, chosen: Ints | Bools) -> Legs:
        return Legs(self.rays.where(chosen), self.target[chosen], self.length_m[chosen])


def joined(flocks: list[Rays]) -> Rays:
    return Rays(*(np.concatenate([getattr(f, name) for f in flocks]) for name in Rays.__dataclass_fields__))


def rays_from(house: TracedHouse, at: Array, way: Array, *, leaving: Ints, inside: Bools) -> Rays:
    """A flock of full rays, each its own owner."""
    count = len(at)
    return Rays(
        owner=np.arange(count),
        at=at,
        way=way,
        leaving=leaving,
        inside=inside,
        sunlit=np.zeros(count, dtype=np.bool_),
        run_m=np.zeros(count),
        lead_m=np.zeros(count),
        light=np.ones((count, len(house.angles.across)), dtype=np.float32),
        open=np.zeros((count, len(house.angles.across)), dtype=np.float32),
    )


def end_bands(section: Section, legs: Legs) -> list[tuple[Array, Array]]:
    """For each band of height of the ends, from where to where [m] each leg lies in it."""
    foot, slope = legs.rays.at[:, 1], legs.rays.way[:, 1]
    steep = np.where(np.abs(slope) < LEVEL, LEVEL, slope)
    cuts = [np.clip((edge - foot) / steep, 0, legs.length_m) for edge in section.band_edges_m]
    return [(np.minimum(low, high), np.maximum(low, high)) for low, high in itertools.pairwise(cuts)]


def legs_of(
    house: TracedHouse, rays: Rays, *, most: int = MOST_LEGS, least: float = LEAST_LIGHT
) -> Iterator[Legs]:
    """Every leg of a flock and of what it splits into, one generation after the other."""
    for _ in range(most):
        enough = (np.maximum(rays.light, rays.open).max(axis=1, initial=0) > least) | rays.sunlit
        rays = rays.where(enough)
        if not len(rays):
            return
        met = next_meeting(house.section, rays.at, rays.way, rays.leaving)
        legs = Legs(rays, met.target, met.distance_m)
        yield legs
        glazed = house.panes.kind[met.target] >= 0
        on = (met.target >= 0) & (
            glazed | (rays.sunlit & ~rays.inside)
        )  # sun enters behind a solid wall by the ends
        rays = joined(_after(house, legs.where(on)))


def _after(house: TracedHouse, legs: Legs) -> list[Rays]:
    """The mirrored and the passed part of rays that have met a glazed pane."""
    rays, pane = legs.rays, legs.target
    normal = house.section.inward[pane]
    facing = (rays.way * normal).sum(axis=1)
    passes, mirrors = house.panes.meet(pane, facing, rays.inside)
    at = rays.at + rays.way * legs.length_m[:, None]
    gone = rays.run_m + legs.length_m
    convex = house.section.is_convex
    bounced = Rays(
        owner=rays.owner,
        at=at,
        way=rays.way - 2 * facing[:, None] * normal,
        leaving=pane,
        inside=rays.inside,
        sunlit=np.zeros_like(rays.sunlit),
        run_m=np.where(rays.inside, gone, 0.0),
        lead_m=np.where(rays.sunlit, gone, rays.lead_m) * rays.inside,
        light=np.where(rays.inside[:, None], rays.light, _even(house, legs)) * mirrors,
        open=np.where(
            rays.inside[:, None], np.where(rays.sunlit[:, None], np.float32(1), rays.open) * mirrors, 0
        ),
    )
    through = Rays(
        owner=rays.owner,
        at=at,
        way=rays.way,
        leaving=pane,
        inside=~rays.inside,
        sunlit=rays.sunlit,
        run_m=np.zeros_like(gone),
        lead_m=np.zeros_like(gone),
        light=_even(house, legs) * passes,
        open=np.zeros_like(rays.open),
    )
    if convex:  # what is outside never meets the house again
        return [bounced.where(rays.inside), through.where(~rays.inside)]
    return [bounced, through]


def _even(house: TracedHouse, legs: Legs) -> Light:
    """Light that reaches the legs' far ends, averaged over the house's length.

    Between spans it is taken as even along the house anew; within a span paths are followed exactly.
    """
    rays = legs.rays
    drift = house.angles.drift / house.section.length_m
    mirrored, passed = house.ends.mirrored.mean(axis=0), house.ends.passed.mean(axis=0)
    gone = np.where(rays.inside, rays.run_m, 0.0) + legs.length_m
    by_ends = np.where(np.isfinite(gone), gone, 1e9)[:, None] * drift
    lead = np.where(rays.sunlit, gone, rays.lead_m)
    before = np.where(np.isfinite(gone), gone - lead, 0.0)[:, None] * drift
    kept, entered = mean_fate(by_ends, mirrored)
    _, entered_before = mean_fate(before, mirrored)
    sunlit_open = np.where(rays.sunlit[:, None], np.float32(1), rays.open)
    indoors = rays.light * kept + sunlit_open * passed * (entered - entered_before)
    left = np.minimum(by_ends, 1.0)
    outdoors = rays.light * (1 - left) + rays.sunlit[:, None] * left
    return np.asarray(np.where(rays.inside[:, None], indoors, outdoors), dtype=np.float32)


def mean_fate(house_lengths: Array, mirrored: Array) -> tuple[Array, Array]:
    """Shares kept and entered after a drift of so many house lengths, averaged along the house."""
    whole = np.floor(house_lengths)
    part = house_lengths - whole
    mirrored = np.minimum(mirrored, 1 - 1e-9)
    power = mirrored**whole
    return power * (1 - part * (1 - mirrored)), (1 - power) / (1 - mirrored) + power * part
