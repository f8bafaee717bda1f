"""A house and a bench made ready to be run many times: other sun, other vents, tent and covers."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lightplan.heat.bench_air import Drawn, Tent, bench_heat
from lightplan.heat.bench_body import BenchBody
from lightplan.heat.house_air import Vents, house_heat
from lightplan.heat.house_body import HouseBody
from lightplan.heat.parameters import UNCALIBRATED, HeatParameters

Array = NDArray[np.float64]


@dataclass(frozen=True)
class HouseHeat:
    """Arrays (steps,) per m² of floor; vents : as they are run."""

    body: HouseBody
    outdoor_c: Array
    sun_w_m2: Array
    dry_w_m2: Array
    evaporated: float
    vents: Vents
    parameters: HeatParameters = UNCALIBRATED

    def air_c(self, sun_factor: Array | None = None, *, vents: Vents | None = None) -> Array:
        """House air (steps,), or (steps, factors) with the sun so many times as strong."""
        way = self.vents if vents is None else vents
        outdoor, sun, dry = self.outdoor_c, self.sun_w_m2, self.dry_w_m2
        if sun_factor is not None:
            outdoor, sun, dry = outdoor[:, None], sun[:, None] * sun_factor, dry[:, None]
            way = Vents(*(v if np.ndim(v) == 0 else np.asarray(v)[:, None] for v in (way.least, way.most)))
        return house_heat(
            self.body,
            outdoor_c=outdoor,
            sun_w_m2=sun,
            dry_w_m2=dry,
            vents=way,
            evaporated=self.evaporated,
            parameters=self.parameters,
        )


@dataclass(frozen=True)
class BenchHeat:
    """where : "medium" | "leaf" | "air". Arrays (steps,): sun above the tent as heat and as PPFD, the share
    of it that a closed tent passes. lamp_ppfd : of the lamps when lit."""

    where: str
    body: BenchBody
    sun_w_m2: Array
    sun_ppfd: Array
    tent_passes: Array
    lamp_ppfd: float

    def felt_c(
        self,
        house_c: Array,
        *,
        lit: NDArray[np.bool_] | Array,
        tent: NDArray[np.int64] | int = Tent.CLOSED,
        passes: Array | float = 1.0,
        absorbs: Array | float = 0.0,
        r_m2k_w: Array | float = 0.0,
        airy: Array | float = 0.0,
        sun_factor: Array | float = 1.0,
    ) -> Array:
        """Temperature where the plants feel it, (steps,) or (steps, ways) as `house_c` is.

        lit : (steps,) whether, or for which share of a step, the lamps burn.
        """
        wide = np.ndim(house_c) == 2
        sun, ppfd, film, burning = (
            values[:, None] if wide else values
            for values in (self.sun_w_m2, self.sun_ppfd, self.tent_passes, lit.astype(float))
        )
        found = bench_heat(
            self.body,
            house_c=house_c,
            sun_w_m2=sun * sun_factor,
            tent_passes=film,
            lamps=burning,
            tent=tent,
            drawn=Drawn(passes, absorbs, r_m2k_w, airy),
        )
        if self.where == "medium":
            return found.medium_c
        if self.where == "air":
            return found.air_c
        under = ppfd * sun_factor * passes * np.where(np.asarray(tent) == Tent.ROLLED_BACK, 1.0, film)
        light = under + burning * self.lamp_ppfd
        return np.asarray(found.air_c + UNCALIBRATED.leaf_k_per_1000_umol * light / 1000)
