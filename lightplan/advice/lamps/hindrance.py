"""What stands in the way of a need, named as a grower would name it."""

from __future__ import annotations

import numpy as np

from lightplan.advice.lamps.horizon import Horizon, most_steps
from lightplan.advice.lamps.nights import within_reach


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
        ("lamp-hours", within_reach(horizon, day, dark=False)),
        ("dark", within_reach(horizon, day, dark=True)),
    )
    found = next((name for name, bound in bounds if bound < wanted - 1e-6), None)
    return found or ("switching" if horizon.task.lamps.switch == "hand" else "starts")
