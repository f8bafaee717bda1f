"""When what lies on a bench already, by an earlier sheet, is to come off."""

from __future__ import annotations

import numpy as np

from lightplan.advice.covers.choose import forbidden
from lightplan.advice.covers.judge import judge
from lightplan.advice.covers.task import CoverTask, Remedy
from lightplan.clock import STEPS_PER_H

HALF_HOUR = STEPS_PER_H // 2


def comes_off(task: CoverTask, lying: Remedy, since: int, dry_at: int | None = None) -> int:
    """Step at which hands take off what lies there since a step; `task.end` = it stays on.

    dry_at : step at which its life ends; it comes off at the last half hour before, or at once.
    """
    hands = np.flatnonzero(task.crew & task.today)
    hours = np.union1d(hands[::HALF_HOUR], hands[-1:])
    if dry_at is not None:
        in_time = hours[hours <= dry_at]
        hours = in_time if len(in_time) else hours[:1]
    elif task.end is not None and all(cover.night for cover in lying.covers):
        hours = np.append(hours, task.end)
    on = np.full(len(hours), since, dtype=np.int64)
    allowed = ~forbidden(task, lying, np.full(len(hours), hands[0]), hours)
    allowed[0] = True  # at once is always allowed
    on, hours = on[allowed], hours[allowed]
    found = judge(task, lying, on, hours)
    order = np.lexsort((hours, found.weight, found.over_limits, found.short_of_minimum, found.kills))
    return int(hours[order[0]])
