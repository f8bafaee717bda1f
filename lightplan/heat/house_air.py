"""House air through the day: sun and heating against glazing and vents.

One node. C dT/dt = (1 − E) sun + dry heat + heating − (U·A + 0.33 N V)(T − outdoors), per m² of floor,
with N growing from closed to open over the vent band: the balance of ASABE EP406 (from memory), in time.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lightplan.clock import STEP_S
from lightplan.heat.house_body import HouseBody
from lightplan.heat.parameters import UNCALIBRATED, HeatParameters
from lightplan.heat.side_by_side import as_given, side_by_side

Array = NDArray[np.float64]

NEARLY_NONE = 1.1e-13  # keeps 0 / 0 out where nothing draws the air either way
PARTS = 2  # of a working step; in one go a fan house in broken cloud peaks 1 K off


@dataclass(frozen=True)
class Vents:
    """How far vents stand open, 0 to 1, arrays that broadcast to (steps, …).

    Between the two they follow the air by themselves: (0, 1) is automatic, (0, 0) shut, (1, 1) put open.
    """

    least: ArrayLike = 0.0
    most: ArrayLike = 0.0


AUTOMATIC, SHUT, PUT_OPEN = Vents(0.0, 1.0), Vents(0.0, 0.0), Vents(1.0, 1.0)


def house_heat(
    body: HouseBody,
    *,
    outdoor_c: Array,
    sun_w_m2: ArrayLike,
    dry_w_m2: ArrayLike = 0.0,
    vents: Vents = AUTOMATIC,
    evaporated: float | None = None,
    parameters: HeatParameters = UNCALIBRATED,
    start_c: ArrayLike | None = None,
) -> Array:
    """Mean air temperature of each step [°C], of the shape that the inputs broadcast to.

    outdoor_c : (steps, …); more axes are members or candidates run side by side.
    sun_w_m2 : sun on the floor per m² of it, after all losses and covers. dry_w_m2 : heat that evaporates
    nothing: lamps, sun caught by covers drawn inside. evaporated : E; None = trays.
    start_c : air as the first step begins; None = settled in that step's weather, no sun.
    """
    e = parameters.evaporated_trays if evaporated is None else evaporated
    warm = (1 - e) * parameters.sun * np.asarray(sun_w_m2, dtype=float)
    warm = warm + np.asarray(dry_w_m2, dtype=float)
    given = (outdoor_c, warm, vents.least, vents.most)
    out, gain, least, most = side_by_side(*given)
    shut, opened = conductance(body, parameters)
    # in units of the vent band: 0 where vents begin to open, 1 where they are fully open. What drives the
    # air is per K of it: `base` whatever the vents do, `reach` with vents that follow the air
    band, seconds = parameters.vent_band_k, STEP_S / PARTS
    per_w = seconds / parameters.house_j_m2k
    base, reach = (shut + opened * least) * per_w, opened * (most - least) * per_w
    weather = Weather(base, reach, gain * per_w / band, (out - body.vent_at_c) / band)
    heat_to = (body.heat_to_c - body.vent_at_c) / band
    cap = np.inf if body.can_heat_w_m2 is None else body.can_heat_w_m2 * per_w / band
    if start_c is None:
        air = _settled(weather.out[0], base[0], heat_to, cap)
    else:
        air = np.broadcast_to((np.asarray(start_c, dtype=float) - body.vent_at_c) / band, base[0].shape)
    march = _march_one if air.size == 1 else _march
    found = body.vent_at_c + band * march(weather, air, heat_to, cap)
    return as_given(found, *given)


def conductance(body: HouseBody, parameters: HeatParameters) -> tuple[float, float]:
    """Heat that 1 K drives out with vents shut, and what fully open ones add [W per m² of floor and K]."""
    carried = body.air_w_m2k * parameters.air
    shut = body.loss_w_m2k * parameters.loss + carried * body.changes_closed
    return shut, carried * (body.changes_open - body.changes_closed)


class Weather(NamedTuple):
    """What drives the air in each step, arrays (steps, …) in units of the vent band and of a part step."""

    base: Array
    reach: Array
    gain: Array
    out: Array


def _march(weather: Weather, air: Array, heat_to: float, cap: float) -> Array:
    """Mean air of each step, by Simpson's rule over its two halves.

    Exponential Euler on the line through the present (Hochbruck & Ostermann 2010, Acta Numerica 19, eq.
    2.18): exact where vents rest, stable whatever the step.
    """
    found = np.empty(weather.out.shape)
    for step, (base, reach, gain, out) in enumerate(zip(*weather, strict=True)):
        passed = [air]
        for _ in range(PARTS):
            open_share = np.minimum(np.maximum(air, 0.0), 1.0)
            per_k = base + reach * open_share
            away = out - air
            exponent = (open_share == air) * reach * away - per_k + NEARLY_NONE
            eased = np.expm1(exponent) / exponent
            air = air + (gain + per_k * away) * eased
            air = air + np.minimum(np.maximum(heat_to - air, 0.0), cap * eased)
            passed.append(air)
        found[step] = (passed[0] + 4 * passed[1] + passed[2]) / 6
    return found


def _march_one(weather: Weather, start: Array, heat_to: float, cap: float) -> Array:
    """The same for a single run, in plain floats: twenty times as quick as arrays of one."""
    air, found = float(start.flat[0]), []
    for base, reach, gain, out in zip(*(values.ravel().tolist() for values in weather), strict=True):
        passed = [air]
        for _ in range(PARTS):
            open_share = 0.0 if air < 0.0 else air if air < 1.0 else 1.0
            per_k = base + reach * open_share
            away = out - air
            exponent = NEARLY_NONE - per_k
            if open_share == air:
                exponent += reach * away
            eased = math.expm1(exponent) / exponent
            air += (gain + per_k * away) * eased
            if air < heat_to:
                air += min(heat_to - air, cap * eased)
            passed.append(air)
        found.append((passed[0] + 4 * passed[1] + passed[2]) / 6)
    return np.array(found).reshape(weather.out.shape)


def _settled(out: Array, base: Array, heat_to: float, cap: float) -> Array:
    """Air that heating alone holds against the outside."""
    return np.asarray(np.where(out < heat_to, np.minimum(heat_to, out + cap / base), out))
