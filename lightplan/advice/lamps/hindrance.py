"""What stands in the way of a need, named as a grower would name it."""

from __future__ import annotations

import numpy as np

from lightplan.advice.lamps.demand import most_steps
from lightplan.advice.lamps.horizon import Horizon
from lightplan.advice.lamps.nights import darkness_h, daylight_steps, nights_of, one_stretch_days


def in_the_way(horizon: Horizon, day: int, wanted: float, *, shared: bool) -> str:
    """The first bound, from the lamps' strength down to how they are switched, that leaves too few steps.

    wanted : lit steps the day would need. shared : the bench could do better with the power to itself.
    """
    if shared:
        return "capacity"
    today = horizon.day == day
    settable = np.arange(len(horizon)) >= horizon.start
    dim = horizon.task.sun_ppfd[: len(horizon)] < horizon.task.lamps.sun_enough_ppfd_umol_m2_s
    allowed = horizon.task.allowed[: len(horizon)]
    most = most_steps(horizon)[day]
    bounds = (
        ("lamp-light", int(today.sum())),
        ("sun-enough", int((today & dim).sum())),
        ("lamp-hours", int((today & (horizon.past | (dim & allowed))).sum())),
        ("window", int((today & (horizon.past | (dim & allowed & settable))).sum())),
        ("dli-limit", len(today) if most is None else most),
        ("lamp-hours", _within_reach(horizon, day, dark=False)),
        ("dark", _within_reach(horizon, day, dark=True)),
    )
    found = next((name for name, bound in bounds if bound < wanted - 1e-6), None)
    return found or ("switching" if horizon.task.lamps.switch == "hand" else "starts")


def _within_reach(horizon: Horizon, day: int, *, dark: bool) -> int:
    """Steps of a day that one stretch with the daylight can reach, at most as many as the dark leaves."""
    today = (horizon.day == day) & horizon.may
    free = daylight_steps(horizon) | ~one_stretch_days(horizon)[horizon.day]
    count = int((today & free).sum() + (horizon.past & (horizon.day == day)).sum())
    darkness = darkness_h(horizon)
    for night in nights_of(horizon):
        reached = np.zeros(len(horizon), dtype=bool)
        reached[[*night.evening, *night.morning]] = True
        steps = np.flatnonzero(reached & today & ~free)
        if dark and night.spare_h is not None and len(steps):
            taken = np.cumsum(np.sort(darkness[steps]))
            count += int((taken <= night.spare_h + 1e-9).sum())
        else:
            count += len(steps)
    return count
