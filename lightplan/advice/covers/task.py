"""What cover planning is given and what it gives back. Numbers only; words are made in `report`."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from lightplan.crops.limits import Limits
from lightplan.heat.bench_air import Tent
from lightplan.heat.covers import absorbed, is_airy
from lightplan.site.models import Cover

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]


@dataclass(frozen=True)
class States:
    """Ways to run a bench through the steps, arrays (ways, steps).

    tent : a `Tent` each. passed, absorbed : shares of light that covers let through and turn into heat.
    r_m2k_w : their insulation. airy : 1 where air goes through them.
    """

    tent: NDArray[np.int64]
    passed: Array
    absorbed: Array
    r_m2k_w: Array
    airy: Array


__all__ = ["Climate", "CoverPlan", "CoverTask", "Remedy", "States", "Tent"]


class Climate(Protocol):
    """Where the limits hold: sun and lamps in, temperature out."""

    def __call__(self, states: States, sun_factor: Array) -> Array:
        """(ways, steps) temperature [°C]; sun_factor : (ways,) on the forecast's light."""
        ...


@dataclass(frozen=True)
class CoverTask:
    """One bench with something to open or to lay on. Arrays (steps,) from the sheet's midnight on.

    sun_ppfd : by tent state, nothing drawn, the forecast's middle [µmol m⁻² s⁻¹].
    today : the civil day's steps. crew : steps at whose start hands are there, inside the window.
    sample, low : factors on the day's light, equally likely ones and the 10 % point.
    lamp_mol, lamp_most_mol : light that lamps bring as planned, and the most they could bring that day.
    heat_gate_c : air above which a PPFD limit alone orders a cover (vents fully open); None = always.
    climate : temperature where the limits hold. air : house air [°C], for the gate.
    seed_light : steps that are a seed's only light hours, in which no opaque cover lies.
    sd_c : how far the temperature may be off, one standard deviation.
    """

    bench_id: str
    has_tent: bool
    tent_opens: bool
    covers: tuple[Cover, ...]
    sun_ppfd: tuple[Array, Array, Array]
    today: Mask
    crew: Mask
    limits: Limits
    minimum_mol: float | None
    target_mol: float | None
    sample: Array
    low: float
    lamp_mol: float
    lamp_most_mol: float
    heat_gate_c: float | None
    climate: Climate
    air_c: Array
    seed_light: Mask
    sd_c: float


@dataclass(frozen=True)
class Remedy:
    """One thing to do about heat and light, from the least to the most."""

    tent: Tent = Tent.CLOSED
    covers: tuple[Cover, ...] = ()

    @property
    def moves(self) -> int:
        """Moves by hand, on and off."""
        return 2 * ((self.tent is not Tent.CLOSED) + len(self.covers))

    @property
    def absorbed(self) -> float:
        """Share of the sun that covers at their bright end turn into heat; the outermost is named first."""
        found, left = 0.0, 1.0
        for cover in self.covers:
            found += left * absorbed(cover, cover.transmittance[1])
            left *= cover.transmittance[1]
        return found

    @property
    def dark_end(self) -> float:
        return float(np.prod([cover.transmittance[0] for cover in self.covers]))

    @property
    def bright_end(self) -> float:
        return float(np.prod([cover.transmittance[1] for cover in self.covers]))

    @property
    def middle(self) -> float:
        return float(np.prod([sum(cover.transmittance) / 2 for cover in self.covers]))

    @property
    def r_m2k_w(self) -> float:
        return float(sum(cover.r_m2k_w for cover in self.covers))

    @property
    def airy(self) -> float:
        return float(all(is_airy(cover) for cover in self.covers))

    @property
    def is_dark(self) -> bool:
        return any(cover.dark for cover in self.covers)


@dataclass(frozen=True)
class CoverPlan:
    """What to do on one bench; `remedy` None where nothing is needed.

    on, off : steps between which it stands. odds : share of likely days on which the bench would break
    a limit without it. rule, value, limit, unit : what would be broken: "heat-kills", "heat" [°C],
    "light" [µmol m⁻² s⁻¹]. cost_mol : light it keeps out, at the cover's middle.
    unheld : what even the best remedy leaves broken, in minutes over what is borne. under_minimum_mol :
    light short of the minimum that the remedy costs.
    """

    bench_id: str
    remedy: Remedy | None
    on: int
    off: int
    odds: float
    rule: str | None
    value: float | None
    limit: float | None
    unit: str | None
    cost_mol: float
    unheld_minutes: float
    under_minimum_mol: float
