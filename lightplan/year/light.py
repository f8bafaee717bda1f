"""A year of light day by day: outdoors, over a house's floor, at a bench; and the share that is beam."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lightplan.clock import Grid
from lightplan.house.losses import Losses, losses_of
from lightplan.house.transmission import HouseLight
from lightplan.light import BenchLight, bench_light, daily_light_integral, outdoors_of
from lightplan.site.models import House, Site
from lightplan.sky import Sky

Array = NDArray[np.float64]


@dataclass(frozen=True)
class LightYear:
    """Light of each day [mol m⁻² d⁻¹], arrays (days,): in the open, inside, and what of that is beam."""

    outdoor_mol: Array
    inside_mol: Array
    beam_mol: Array


@dataclass(frozen=True)
class HouseSun:
    """A house under a year's sky, arrays (steps,): beam share through clean glazing, and its losses."""

    light: HouseLight
    beam_share: Array
    losses: Losses

    def ppfd(self, sky: Sky) -> tuple[Array, Array]:
        """Beam and diffuse PPFD over the whole clear floor, all losses counted."""
        return (
            sky.beam_ppfd_umol_m2_s * self.beam_share * self.losses.beam,
            sky.diffuse_ppfd_umol_m2_s * self.light.diffuse() * self.losses.diffuse,
        )

    def sun_w_m2(self, sky: Sky) -> Array:
        """Sun on the floor as heat; glazing passes all of the sun as it passes PAR."""
        beam = sky.beam_w_m2 * self.beam_share * self.losses.beam
        return beam + sky.diffuse_w_m2 * self.light.diffuse() * self.losses.diffuse


def house_sun(house: House, light: HouseLight, sky: Sky, grid: Grid) -> HouseSun:
    """Looked up only where there is beam: half a year is night."""
    share = np.zeros(len(grid))
    bright = sky.beam_ppfd_umol_m2_s > 0
    share[bright] = light.beam(sky.zenith_deg[bright], sky.azimuth_deg[bright])
    return HouseSun(light, share, losses_of(house, outdoors_of(sky), grid))


def house_light_year(sun: HouseSun, sky: Sky, grid: Grid) -> LightYear:
    """The whole clear floor as it stands, nothing drawn over benches."""
    beam, diffuse = sun.ppfd(sky)
    beam_mol = daily_light_integral(beam, grid)
    return LightYear(
        outdoor_mol=daily_light_integral(sky.ppfd_umol_m2_s, grid),
        inside_mol=beam_mol + daily_light_integral(diffuse, grid),
        beam_mol=beam_mol,
    )


def benches_sun(site: Site, suns: Mapping[str, HouseSun], sky: Sky, grid: Grid) -> dict[str, BenchLight]:
    """Every bench by its id. suns : every house with a bench, by its id."""
    return {
        bench.id: bench_light(
            bench,
            sky,
            grid=grid,
            house_light=suns[bench.house].light,
            losses=suns[bench.house].losses,
        )
        for bench in site.benches
    }


def bench_light_year(light: BenchLight, outdoor_mol: Array, grid: Grid) -> LightYear:
    """A bench's tray, its tent closed."""
    beam_mol = daily_light_integral(light.open_beam, grid)
    return LightYear(outdoor_mol, beam_mol + daily_light_integral(light.open_diffuse, grid), beam_mol)
