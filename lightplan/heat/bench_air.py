"""Air and wet medium of a bench through the day, under its tent and covers.

The medium is the slow node; the air of a tent (0.5 kJ m⁻² K⁻¹) follows within a minute and is taken as
settled at every moment. So a bench is one linear balance whose coefficients are known beforehand, and
each step is its exact solution.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lightplan.clock import STEP_S
from lightplan.heat.bench_body import BenchBody
from lightplan.heat.parameters import (
    SOL_AIR_W_M2K,
    SURFACES_M2K_W,
    UNCALIBRATED,
    HeatParameters,
)
from lightplan.heat.side_by_side import as_given, side_by_side

Array = NDArray[np.float64]

OPEN_W_M2K = 1e6  # air over an open bench is the house's
UNHEATED_C = -1e9


class Tent(IntEnum):
    """How a tent stands at a step."""

    CLOSED = 0
    PROPPED = 1
    ROLLED_BACK = 2


@dataclass(frozen=True)
class Drawn:
    """What lies over a bench, arrays that broadcast to (steps, …).

    passes, absorbs : shares of the sun on it. r_m2k_w : the heat resistance that it adds. airy : whether air
    goes through it, which counts over a bench without a tent.
    """

    passes: ArrayLike = 1.0
    absorbs: ArrayLike = 0.0
    r_m2k_w: ArrayLike = 0.0
    airy: ArrayLike = 0.0


NOTHING = Drawn()


@dataclass(frozen=True)
class BenchAir:
    """Means over each step [°C]: air at the plants, wet medium."""

    air_c: Array
    medium_c: Array


def bench_heat(
    body: BenchBody,
    *,
    house_c: ArrayLike,
    sun_w_m2: ArrayLike,
    tent_passes: ArrayLike = 1.0,
    lamps: ArrayLike = 0.0,
    tent: ArrayLike = Tent.CLOSED,
    drawn: Drawn = NOTHING,
    parameters: HeatParameters = UNCALIBRATED,
    start_c: ArrayLike | None = None,
) -> BenchAir:
    """Air and medium of a bench at each step, (steps,) or with the inputs' further axes.

    Every input is one figure, (steps,) or (steps, …); more axes are members or candidates side by side.
    house_c : `house_heat`. sun_w_m2 : at the bench above tent and covers. tent_passes : share of it that the
    closed or propped tent passes. lamps : share of the step they are lit. tent : of `Tent`; without a tent
    any. start_c : medium as the first step begins; None = settled in that step.
    """
    over = (drawn.passes, drawn.absorbs, drawn.r_m2k_w, drawn.airy)
    given = (house_c, sun_w_m2, tent_passes, lamps, tent, *over)
    house, sun, film_passes, lit, state, passes, absorbs, r_cover, airy = side_by_side(*given)
    bare = state == Tent.ROLLED_BACK if body.film_w_m2k is not None else np.ones(state.shape, dtype=bool)
    covered = (passes < 1) | (r_cover > 0)
    above_c = house + np.where(covered, parameters.sun * absorbs * sun / SOL_AIR_W_M2K, 0.0)
    up, across = _ways_out(
        body, state, bare=bare, covered=covered, r_cover=r_cover, airy=airy, parameters=parameters
    )
    below = body.below_w_m2k * parameters.loss
    to_air = body.lamp_to_air_w_m2 * lit
    to_medium = (1 - body.evaporated) * parameters.sun * sun * passes * np.where(bare, 1.0, film_passes)
    to_medium = to_medium + body.lamp_to_tray_w_m2 * lit * (1.0 if body.lamps_in_tent else passes)

    out = up + across
    carried = up * above_c + across * house + to_air  # W/m² into the air from all but the medium
    ease = parameters.medium_w_m2k / (parameters.medium_w_m2k + out)
    per_k = ease * out + below
    settled = (to_medium + ease * carried + below * house) / per_k
    held, held_per_k = _held(body, house, to_medium, bare=bare, below=below, parameters=parameters)
    kept, held_kept = (np.exp(-k * STEP_S / parameters.medium_j_m2k) for k in (per_k, held_per_k))

    start = np.maximum(settled[0], held[0]) if start_c is None else np.asarray(start_c, dtype=float)
    run = _run_one if settled[0].size == 1 else _run
    edges = run(start, settled * (1 - kept), kept, held * (1 - held_kept), held_kept)
    mean = (edges[:-1] + edges[1:]) / 2
    air = (parameters.medium_w_m2k * mean + carried) / (parameters.medium_w_m2k + out)
    if body.heat_to_c is not None and not body.heats_medium:
        air = np.where(bare, air, np.maximum(air, body.heat_to_c))
    return BenchAir(as_given(air, *given), as_given(mean, *given))


def _run(start: Array, towards: Array, kept: Array, held_towards: Array, held_kept: Array) -> Array:
    """Medium at every step's edge: what is kept of it and what it goes towards, by itself or heated."""
    edges = np.empty((len(kept) + 1, *kept.shape[1:]))
    edges[0] = start
    for step in range(len(kept)):
        now = edges[step]
        edges[step + 1] = np.maximum(
            towards[step] + kept[step] * now, held_towards[step] + held_kept[step] * now
        )
    return edges


def _run_one(start: Array, *each: Array) -> Array:
    """The same for a single run, in plain floats: many times as quick as arrays of one."""
    now = float(start.flat[0])
    edges = [now]
    for towards, kept, held_towards, held_kept in zip(*(one.ravel().tolist() for one in each), strict=True):
        now = max(towards + kept * now, held_towards + held_kept * now)
        edges.append(now)
    return np.array(edges).reshape(len(edges), *each[0].shape[1:])


def _ways_out(
    body: BenchBody,
    state: Array,
    *,
    bare: NDArray[np.bool_],
    covered: NDArray[np.bool_],
    r_cover: Array,
    airy: Array,
    parameters: HeatParameters,
) -> tuple[Array, Array]:
    """What 1 K drives out of the bench's air [W m⁻² K⁻¹]: up, and across to the house.

    Under a cover without a tent the house's air comes in from the sides, and through a cover that is airy.
    """
    film = parameters.loss * (body.film_w_m2k or 0.0)
    changes = np.where(state == Tent.PROPPED, parameters.tent_propped_per_h, parameters.tent_closed_per_h)
    exchange = body.air_w_m2k * parameters.air * changes
    lid = parameters.loss / (SURFACES_M2K_W + r_cover)
    up = np.where(bare, np.where(covered, lid, OPEN_W_M2K), film / (1 + film * r_cover))
    beneath = parameters.air * np.where(airy > 0, parameters.under_cloth_w_m2k, parameters.under_sheet_w_m2k)
    across = np.where(bare, np.where(covered, beneath, 0.0), parameters.loss * body.sides_w_m2k + exchange)
    return up, across


def _held(
    body: BenchBody,
    house: Array,
    to_medium: Array,
    *,
    bare: NDArray[np.bool_],
    below: float,
    parameters: HeatParameters,
) -> tuple[Array, Array]:
    """Where heating holds the medium, and how fast it gets there [W m⁻² K⁻¹]."""
    if body.heat_to_c is None:
        return np.full(house.shape, UNHEATED_C), np.full(house.shape, np.inf)
    if body.heats_medium:
        return np.full(house.shape, body.heat_to_c), np.full(house.shape, np.inf)
    per_k = parameters.medium_w_m2k + below
    through_air = (to_medium + parameters.medium_w_m2k * body.heat_to_c + below * house) / per_k
    return np.where(bare, UNHEATED_C, through_air), np.where(bare, np.inf, per_k)
