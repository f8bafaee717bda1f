"""When hands open and shut the vents of a house."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lightplan.clock import STEPS_PER_H, Grid
from lightplan.crops.limits import SEED_KILL
from lightplan.heat.house_air import Vents
from lightplan.heat.runs import HouseHeat
from lightplan.heat_day import FROST_MARGIN_K, MUCH_K
from lightplan.site.models import House

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

# Vents stay open over night where shut ones leave a house hot for so long after the last hands, if the night
# is mild; and where the air would reach what kills, if heating can hold the house against them. Judgement.
STILL_HOT_H, MILD_K, MILD_C = 2.0, 10.0, 2.0  # outside no further under heat_to_c, and never under
KILLS_C, _ = SEED_KILL


@dataclass(frozen=True)
class VentTime:
    """Vents to be opened and shut by hand. on, off : steps. shut_c : what the air would reach otherwise.

    overnight : they stay open until the next hands come.
    """

    on: int
    off: int
    shut_c: float
    overnight: bool = False


def vents_by_hand(
    house: House, ready: HouseHeat, hands: Mask, *, grid: Grid, end: int | None
) -> VentTime | None:
    """From when the air passes the venting temperature until it no longer would, while hands are there.

    end : step at which the next hands come. Where the air would still be hot after the last hands are
    gone, vents stay open until then.
    """
    steps = len(ready.outdoor_c)
    today = (grid.day == 0)[:steps]
    at_hand = np.flatnonzero(hands & today)
    if house.vents_by == "automatic" or house.venting == "none" or len(at_hand) < 2:
        return None
    air = ready.air_c()
    hot = np.flatnonzero((air > house.vent_at_c) & today)
    if not len(hot) or air[hot].max() <= house.vent_at_c + MUCH_K:
        return None
    on = int(at_hand[np.searchsorted(at_hand, hot[0]).clip(max=len(at_hand) - 1)])
    shutting = at_hand[at_hand > on]
    if not len(shutting):
        return None
    step = np.arange(steps)[:, None]
    opened = ((step >= on) & (step < shutting)).astype(float)
    tried = ready.air_c(vents=Vents(0.0, opened))
    after = np.where((step >= shutting) & today[:, None], tried, -np.inf).max(axis=0)
    cool = np.flatnonzero(after <= house.vent_at_c)
    shut_c = float(air[hot].max())
    if len(cool):
        return VentTime(on, int(shutting[cool[0]]), shut_c)
    last = int(shutting[-1])
    times = VentTime(on, last, shut_c)
    left_open = VentTime(on, end or last, shut_c, overnight=True)
    hot_h = float((tried[last:, -1] > house.vent_at_c + MUCH_K).sum()) / STEPS_PER_H
    if end is None or end <= last or hot_h < STILL_HOT_H:
        return times
    mild = ready.outdoor_c[last:end].min() >= max(house.heat_to_c - MILD_K, MILD_C)
    held = opened_so(ready, left_open, last).air_c()[last:end].min() >= house.heat_to_c - FROST_MARGIN_K
    return left_open if mild or (held and after[-1] > KILLS_C) else times


def opened_so(ready: HouseHeat, times: VentTime | None, last: int | None = None) -> HouseHeat:
    """The house with its vents worked as ordered: opened as far as needed while somebody is there.

    last : step at which the last hands are gone; from then on vents that stay open are fully open.
    """
    if times is None:
        return ready
    step = np.arange(len(ready.outdoor_c))
    between = ((step >= times.on) & (step < times.off)).astype(float)
    least = between * (step >= last) if times.overnight and last is not None else 0.0
    return replace(ready, vents=Vents(least, between))
