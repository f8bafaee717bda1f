"""Light on its way through the cross-section, mirrored and passed on at every pane it meets.

Rays come in flocks and fly one leg at a time; at a pane each splits into the part that goes on and
the part that is mirrored, until little is left.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass, replace

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
LEAST_LIGHT = 1e-3  # a ray with less at all its angles is let go; 1e-4 changes a house by under 0.02 points
LEVEL = 1e-9  # a ray flatter than this stays at its height


@dataclass(frozen=True)
class Rays:
    """A flock; arrays over rays, light also over ridge angles.

    owner : what the ray was sent from. leaving : the pane it starts on, negative for none.
    light : share that it carries of light that is even along the house where it entered (or started).
    open : the same for light that comes in through an end anywhere on the ray's sunlit way.
    run_m : how far it has come since it entered. lead_m : how much of that was sunlit: straight from
    the sun, before any mirror. sunlit : still so.
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


def rays_from(
    house: TracedHouse, at: Array, way: Array, *, leaving: Ints, inside: Bools, sunlit: bool
) -> Rays:
    """A flock of full rays, each its own owner."""
    count, angles = len(at), len(house.angles.across)
    return Rays(
        owner=np.arange(count),
        at=at,
        way=way,
        leaving=leaving,
        inside=inside,
        sunlit=np.full(count, sunlit),
        run_m=np.zeros(count),
        lead_m=np.zeros(count),
        light=np.ones((count, angles), dtype=np.float32),
        open=np.full((count, angles), sunlit, dtype=np.float32),
    )


def end_bands(section: Section, legs: Legs) -> list[tuple[Array, Array]]:
    """For each band of height of the ends, from where to where [m] each leg lies in it."""
    foot, slope = legs.rays.at[:, 1], legs.rays.way[:, 1]
    steep = np.where(np.abs(slope) < LEVEL, LEVEL, slope)
    cuts = [np.clip((edge - foot) / steep, 0, legs.length_m) for edge in section.band_edges_m]
    return [(np.minimum(low, high), np.maximum(low, high)) for low, high in itertools.pairwise(cuts)]


def legs_of(house: TracedHouse, rays: Rays) -> Iterator[Legs]:
    """Every leg of a flock and of what it splits into, one generation after the other."""
    for _ in range(MOST_LEGS):
        carries = np.maximum(rays.light, rays.open).max(axis=1, initial=0) > LEAST_LIGHT
        rays = rays.where(carries | rays.sunlit)
        if not len(rays):
            return
        met = next_meeting(house.section, rays.at, rays.way, rays.leaving)
        legs = Legs(rays, met.target, met.distance_m)
        yield legs
        glazed = ~house.panes.is_opaque[met.target]
        # behind a solid wall, too, the sun comes in through the ends
        on = (met.target >= 0) & (glazed | (rays.sunlit & ~rays.inside))
        rays = _after(house, legs.where(on))


def _after(house: TracedHouse, legs: Legs) -> Rays:
    """The mirrored and the passed part of rays that have met a pane."""
    rays, normal = legs.rays, house.section.inward[legs.target]
    facing = (rays.way * normal).sum(axis=1)
    passes, mirrors = house.panes.meet(legs.target, facing, from_inside=rays.inside)
    gone = rays.run_m + legs.length_m
    moved = replace(
        rays,
        at=rays.at + rays.way * legs.length_m[:, None],
        leaving=legs.target,
        run_m=np.where(rays.inside, gone, 0.0),
        lead_m=np.where(rays.sunlit, gone, rays.lead_m) * rays.inside,
    )
    bounced = replace(
        moved,
        way=rays.way - 2 * facing[:, None] * normal,
        sunlit=np.zeros_like(rays.sunlit),
        light=rays.light * mirrors,
        open=rays.open * mirrors * rays.inside[:, None],
    )
    if house.section.is_convex:  # what is outside never meets the house again
        inside, outside = np.flatnonzero(rays.inside), np.flatnonzero(~rays.inside)
        return _joined(bounced.where(inside), _through(moved.where(outside), passes[outside]))
    even = _even(house, legs)
    bounced = replace(bounced, light=np.where(rays.inside[:, None], rays.light, even) * mirrors)
    return _joined(bounced, _through(replace(moved, light=even), passes))


def _through(moved: Rays, passes: Light) -> Rays:
    """Rays that have gone on through a pane; their way since they entered starts anew."""
    nothing = np.zeros(len(moved))
    sunlit = np.broadcast_to(moved.sunlit[:, None], passes.shape).astype(np.float32)
    light = moved.light * passes
    return replace(moved, inside=~moved.inside, run_m=nothing, lead_m=nothing, light=light, open=sunlit)


def _joined(first: Rays, second: Rays) -> Rays:
    names = Rays.__dataclass_fields__
    return Rays(*(np.concatenate([getattr(first, name), getattr(second, name)]) for name in names))


def _even(house: TracedHouse, legs: Legs) -> Light:
    """Light that reaches the legs' far ends, averaged over the house's length.

    Between spans it is taken as even along the house anew; within a span paths are followed exactly.
    """
    rays = legs.rays
    drift = house.angles.drift / house.section.length_m
    mirrored, passed = house.ends.mirrored.mean(axis=0), house.ends.passed.mean(axis=0)
    gone = rays.run_m + legs.length_m
    lead = np.where(rays.sunlit, gone, rays.lead_m)
    kept, entered = _mean_fate(gone[:, None] * drift, mirrored)
    _, entered_before = _mean_fate((gone - lead)[:, None] * drift, mirrored)
    indoors = rays.light * kept + rays.open * passed * (entered - entered_before)
    left = np.minimum(gone[:, None] * drift, 1.0)
    outdoors = rays.light * (1 - left) + rays.sunlit[:, None] * left
    return np.asarray(np.where(rays.inside[:, None], indoors, outdoors), dtype=np.float32)


def _mean_fate(house_lengths: Array, mirrored: Array) -> tuple[Array, Array]:
    """Shares kept and entered after a drift of so many house lengths, averaged along the house."""
    whole = np.floor(house_lengths)
    part = house_lengths - whole
    mirrored = np.minimum(mirrored, 1 - 1e-9)
    power = mirrored**whole
    return power * (1 - part * (1 - mirrored)), (1 - power) / (1 - mirrored) + power * part
