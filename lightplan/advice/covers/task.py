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
    r_m2k_w : their insulation. airy : 1 where air passes through them.
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
    later : steps of each later civil day before the next hands come; limits hold on them too. whole : those
    of them that are whole days, days off: the minimum holds too. end : the step at which they come; None =
    nothing may stay till then.
    start : the window's first step; what was too hot before it is past help and counts no more.
    as_laid : how the bench stands without anything new, (1, steps); None = tent closed, nothing drawn.
    sample, low : factors on the day's light, equally likely ones and the 10 % point.
    lamp_mol : light that lamps bring as planned. lamp_can_mol : what they may bring at most, step by step.
    heat_gate_c : air above which a PPFD limit alone orders a cover (vents fully open); None = always.
    climate : temperature where the limits hold. air : house air [°C], for the gate.
    seed_light : steps that are a seed's only light hours, in which no opaque cover lies.
    seed_chance : steps in which lamps or sun can give light-needing seed its light; none = no such seed.
    calm : steps without gusts too strong for what is drawn outside.
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
    lamp_can_mol: Array
    heat_gate_c: float | None
    climate: Climate
    air_c: Array
    seed_light: Mask
    seed_chance: Mask
    calm: Mask
    sd_c: float
    later: tuple[Mask, ...] = ()
    whole: tuple[Mask, ...] = ()
    end: int | None = None
    as_laid: States | None = None
    start: int = 0

    @property
    def limit_days(self) -> tuple[Mask, ...]:
        """Steps of each civil day on which limits can still be kept."""
        return (self.today & (np.arange(len(self.today)) >= self.start), *self.later)


@dataclass(frozen=True)
class Remedy:
    """One thing to do about heat and light, from the least to the most."""

    tent: Tent = Tent.CLOSED
    covers: tuple[Cover, ...] = ()
    after: Tent = Tent.CLOSED  # how the tent stands from then on until the next hands come

    @property
    def moves(self) -> int:
        """Moves by hand, on and off."""
        return 2 * ((Tent.CLOSED is not max(self.tent, self.after)) + len(self.covers))

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
    def airy(self) -> bool:
        """Whether air passes through all of it: nothing is closed in."""
        return bool(self.covers) and all(is_airy(cover) for cover in self.covers)

    @property
    def is_dark(self) -> bool:
        return any(cover.dark for cover in self.covers)


@dataclass(frozen=True)
class CoverPlan:
    """What to do on one bench; `remedy` None where nothing is needed.

    on, off : steps between which it stands; stays : until the next hands come (of a tent; its covers come
    off before, at off). odds : share of likely days on which the bench would break a limit without it.
    rule, value, limit, unit : what would be broken: "heat-kills", "heat" [°C], "light" [µmol m⁻² s⁻¹].
    cost_mol : light it keeps out, at the cover's middle. unheld : what even the best remedy leaves broken,
    in weighed minutes over what is borne; kills : part of it, over what kills. under_minimum_mol : light
    short of the minimum that the remedy costs. factor, warmer_c : the day planned on, against the forecast.
    sign_ppfd : what a meter shows at the bench at step `sign_at` on the dullest day that would break a limit.
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
    unheld: float
    under_minimum_mol: float
    kills: float = 0.0
    stays: bool = False
    factor: float = 1.0
    warmer_c: float = 0.0
    sign_at: int = 0
    sign_ppfd: float | None = None
