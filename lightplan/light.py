"""Sky × house × tent × covers → sun PPFD at each bench and step.

Each factor is kept apart in the result, so that every number on paper can be traced.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from lightplan.clock import STEP_S, Grid
from lightplan.house.losses import Losses, Outdoors, losses_of
from lightplan.house.transmission import HouseLight, tent_transmittance
from lightplan.site.models import Bench, Site
from lightplan.sky import Sky

Array = NDArray[np.float64]


def daily_light_integral(ppfd_umol_m2_s: Array, grid: Grid) -> Array:
    """Daily light integral [mol m⁻² d⁻¹] of every civil day of the grid (days of 23, 24 or 25 h).

    ppfd_umol_m2_s : array (steps,), mean over each step.
    Returns array (days,). Raises ValueError on nan or negative light.
    Quantity and unit: ANSI/ASABE S640.
    """
    if not (ppfd_umol_m2_s >= 0).all():
        raise ValueError("PPFD holds nan or negative values; clean them where the source is read")
    return np.bincount(grid.day, weights=ppfd_umol_m2_s, minlength=len(grid.dates)) * STEP_S / 1e6


@dataclass(frozen=True)
class BenchLight:
    """Sun at one bench, arrays (steps,).

    beam, diffuse : PPFD at the bench through clean glazing, before losses and tent.
    losses : what the house loses beside that, cause by cause.
    tent_beam, tent_diffuse : share that the bench's own tent passes (ones without a tent).
    """

    beam_ppfd_umol_m2_s: Array
    diffuse_ppfd_umol_m2_s: Array
    losses: Losses
    tent_beam: Array
    tent_diffuse: float

    @cached_property
    def untented(self) -> Array:
        """PPFD above the tent, nothing drawn: what the bench gets with its tent rolled back."""
        beam = self.beam_ppfd_umol_m2_s * self.losses.beam
        return beam + self.diffuse_ppfd_umol_m2_s * self.losses.diffuse

    @cached_property
    def open(self) -> Array:
        """PPFD with the tent closed and nothing drawn."""
        return self.open_beam + self.open_diffuse

    @property
    def open_beam(self) -> Array:
        return self.beam_ppfd_umol_m2_s * self.losses.beam * self.tent_beam

    @property
    def open_diffuse(self) -> Array:
        return self.diffuse_ppfd_umol_m2_s * self.losses.diffuse * self.tent_diffuse


def outdoors_of(sky: Sky) -> Outdoors:
    """What of the sky a house's losses depend on."""
    return Outdoors(
        zenith_deg=sky.zenith_deg,
        azimuth_deg=sky.azimuth_deg,
        temp_air_c=sky.temp_air_c,
        sun_w_m2=sky.beam_w_m2 + sky.diffuse_w_m2,
        snow_m=sky.snow_m,
    )


def bench_light(bench: Bench, sky: Sky, *, grid: Grid, house_light: HouseLight, losses: Losses) -> BenchLight:
    """Sun at a bench: by direction through its house, then the house's losses and the bench's tent."""
    beam_share = house_light.beam(sky.zenith_deg, sky.azimuth_deg, bench.place)
    diffuse_share = house_light.diffuse(bench.place)
    tent_beam, tent_diffuse = (
        (np.ones(len(grid)), 1.0) if bench.tent is None else tent_transmittance(bench.tent, sky.zenith_deg)
    )
    return BenchLight(
        beam_ppfd_umol_m2_s=sky.beam_ppfd_umol_m2_s * beam_share,
        diffuse_ppfd_umol_m2_s=sky.diffuse_ppfd_umol_m2_s * diffuse_share,
        losses=losses,
        tent_beam=tent_beam,
        tent_diffuse=tent_diffuse,
    )


def benches_light(
    site: Site, benches: Iterable[Bench], sky: Sky, *, grid: Grid, lights: Mapping[str, HouseLight]
) -> dict[str, BenchLight]:
    """Sun at each bench by its id, a house's losses worked out once. lights : of their houses, by id."""
    benches = tuple(benches)
    losses = {h: losses_of(site.house(h), outdoors_of(sky), grid) for h in {b.house for b in benches}}
    return {
        b.id: bench_light(b, sky, grid=grid, house_light=lights[b.house], losses=losses[b.house])
        for b in benches
    }
