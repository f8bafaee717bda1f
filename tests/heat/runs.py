"""Houses, benches and days for the tests of heat, and stiff solvers of the same balances written anew."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
from scipy.integrate import solve_ivp

from lightplan.heat.bench_air import Tent
from lightplan.heat.bench_body import BenchBody
from lightplan.heat.house_body import HouseBody

HOURS = np.arange(96) / 4 + 0.125
SUN = 520 * np.clip(np.sin((HOURS - 6) / 12 * np.pi), 0, None)
OUTDOORS = 9 + 6 * np.sin((HOURS - 9) / 12 * np.pi)

HOUSE = HouseBody(
    floor_m2=270.0,
    loss_w_m2k=9.3,
    air_w_m2k=1.15,
    changes_closed=1.0,
    changes_open=20.0,
    vent_at_c=24.0,
    heat_to_c=-50.0,
    can_heat_w_m2=None,
)
BENCH = BenchBody(
    film_w_m2k=6.4,
    sides_w_m2k=0.8,
    below_w_m2k=0.85,
    air_w_m2k=0.15,
    heat_to_c=None,
    heats_medium=True,
    lamps_in_tent=True,
    lamp_to_tray_w_m2=29.0,
    lamp_to_air_w_m2=29.0,
    evaporated=0.3,
)


def house_by_radau(body: HouseBody, outdoor: Any, warm: Any, *, automatic: bool = True) -> np.ndarray:
    """Mean of each step from scipy's stiff solver on the design's balance; inputs held within each step.

    Heating is a very stiff thermostat here. Written without the model's own helpers.
    """

    def rate(t: float, air: np.ndarray, n: int) -> np.ndarray:
        wide = min(max((air[0] - body.vent_at_c) / 4, 0), 1) if automatic else 0.0
        changes = body.changes_closed + (body.changes_open - body.changes_closed) * wide
        heating = max(2000 * (body.heat_to_c - air[0]), 0.0)
        if body.can_heat_w_m2 is not None:
            heating = min(heating, body.can_heat_w_m2)
        out = body.loss_w_m2k + body.air_w_m2k * changes
        return np.array([(warm[n] + heating + out * (outdoor[n] - air[0])) / 60e3])

    air, means = np.array([max(outdoor[0], body.heat_to_c)]), []
    for n in range(len(outdoor)):
        run = solve_ivp(
            rate, (0, 900), air, method="Radau", args=(n,), rtol=1e-6, atol=1e-6, dense_output=True
        )
        air = run.y[:, -1]
        means.append(run.sol(np.linspace(0, 900, 61))[0].mean())
    return np.array(means)


def bench_by_bdf(body: BenchBody, house: Any, sun: Any, *, tent: Tent, tent_passes: float, lit: Any) -> Any:
    """Air and medium from scipy's stiff solver with both nodes in time; the air holds 0.45 m of air."""
    changes = 20 if tent is Tent.PROPPED else 1
    out = body.film_w_m2k + body.sides_w_m2k + body.air_w_m2k * changes
    floor = -1e3 if body.heat_to_c is None else body.heat_to_c

    def rate(t: float, now: np.ndarray, n: int) -> list[float]:
        air, medium = now
        across = 31 * (medium - air)
        into_air = across + out * (house[n] - air) + 29 * lit[n]
        bottom = max(5000 * (floor - medium), 0)
        into_medium = 0.7 * sun[n] * tent_passes - across + body.below_w_m2k * (house[n] - medium)
        return [into_air / (1200 * 0.45), (into_medium + 29 * lit[n] + bottom) / 40e3]

    now, means = np.array([house[0], max(house[0], floor)]), []
    for n in range(len(house)):
        run = solve_ivp(rate, (0, 900), now, method="BDF", args=(n,), rtol=1e-6, atol=1e-6, dense_output=True)
        now = run.y[:, -1]
        means.append(run.sol(np.linspace(0, 900, 61)).mean(axis=1))
    return np.array(means).T


def heated(body: HouseBody, to_c: float, cap: float | None = None) -> HouseBody:
    return replace(body, heat_to_c=to_c, can_heat_w_m2=cap)
