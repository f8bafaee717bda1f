"""Every on/off pattern of a few slots, judged by rules written anew from the design, and the best of them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from lightplan.advice.lamps.task import LampTask
from lightplan.clock import Grid

Patterns = NDArray[np.bool_]  # (patterns, steps)
SLOTS = 16


@dataclass(frozen=True)
class Setting:
    """What all benches of a case share."""

    grid: Grid
    start: int
    stop: int
    days: int
    price: NDArray[np.float64]
    most_kw: float | None = None
    peak_price: float = 0.0
    peak_so_far_kw: float = 0.0
    can_switch: NDArray[np.bool_] | None = None  # by hand: steps at whose beginning somebody is there


def patterns(task: LampTask, setting: Setting) -> Patterns:
    """All patterns over the steps that may be lit, what is already set included."""
    steps = len(setting.grid)
    free = np.flatnonzero(may_be_lit(task, setting))
    assert len(free) <= SLOTS, f"{len(free)} slots are too many to try them all"
    tried = np.array(list(product((False, True), repeat=len(free))), dtype=bool)
    found = np.zeros((len(tried), steps), dtype=bool)
    found[:, free] = tried
    found[:, : setting.start] = task.already[: setting.start]
    return found


def may_be_lit(task: LampTask, setting: Setting) -> NDArray[np.bool_]:
    day, steps = setting.grid.day, np.arange(len(setting.grid))
    wanted = np.array([n is not None and n.lamps_allowed for n in task.needs])
    dim = task.sun_ppfd < task.lamps.sun_enough_ppfd_umol_m2_s
    return task.allowed & dim & wanted[day] & (steps >= setting.start) & (day < setting.days)


def runs_of(on: NDArray[np.bool_]) -> list[tuple[int, int]]:
    edges = np.flatnonzero(np.diff(on.astype(int), prepend=0, append=0))
    return [(int(a), int(b)) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def is_allowed(on: NDArray[np.bool_], task: LampTask, setting: Setting) -> bool:
    return all(rule(on, task, setting) for rule in RULES)


def one_stretch(on: NDArray[np.bool_], task: LampTask, setting: Setting) -> bool:
    """Lit steps of a night are joined to daylight by lit steps; a run from before the window reaches
    dawn, or ends where the window begins and that day is not lit again.
    """
    light = task.daylight >= 1
    joined = on | light
    for first, end in runs_of(joined):
        ordered = on[max(first, setting.start) : end].any()
        if ordered and not light[first:end].any():
            return False
    burning = on[setting.start - 1] and not joined[: setting.start].all()
    if not burning or light[np.flatnonzero(~joined[setting.start :])[0] + setting.start - 1]:
        return True
    begun = next(first for first, end in runs_of(on) if first < setting.start <= end)
    ends = max(setting.start, begun + max(1, -(-task.lamps.least_run_min // 15)))
    again = on & (setting.grid.day == 0)
    return bool(not on[ends] and not again[ends:].any())


def dark_enough(on: NDArray[np.bool_], task: LampTask, setting: Setting) -> bool:
    """The dark of every night that lamps take from leaves the hours that the crop needs."""
    for first, end in runs_of(task.daylight < 1):
        dark = 1 - task.daylight[first:end]
        beyond = _dark_beyond(first, end, task)
        natural = dark.sum() / 4 + beyond
        left = (dark * ~on[first:end]).sum() / 4 + beyond
        asked = max((n.dark_h for n in task.needs if n is not None), default=0.0)
        ordered = on[first:end].copy()
        ordered[: max(0, setting.start - first)] = False
        if (ordered * dark).sum() > 0 and left < min(asked, natural) - 1e-9:
            return False
    return True


def _dark_beyond(first: int, end: int, task: LampTask) -> float:
    """Hours of the same night outside the grid, as long as they are inside it on the other side."""
    steps = len(task.daylight)
    if first == 0:
        return float((1 - task.daylight[48:96]).sum() / 4)
    return float((1 - task.daylight[steps - 96 : steps - 48]).sum() / 4) if end == steps else 0.0


def runs_long_enough(on: NDArray[np.bool_], task: LampTask, setting: Setting) -> bool:
    least = max(1, -(-task.lamps.least_run_min // 15))
    for first, end in runs_of(on):
        if end > setting.start and end - first < least and end < len(on):
            return False
        if setting.start <= first < setting.stop < first + least:  # seen whole within the window
            return False
    return True


def few_starts(on: NDArray[np.bool_], task: LampTask, setting: Setting) -> bool:
    begun = [setting.grid.day[first] for first, _ in runs_of(on) if first > 0]
    late = [
        d for d, (first, _) in zip(begun, runs_of(on)[-len(begun) :], strict=True) if first >= setting.start
    ]
    return all(begun.count(d) <= task.lamps.starts for d in set(late))


def few_pairs(on: NDArray[np.bool_], task: LampTask, setting: Setting) -> bool:
    """On a dial that comes round every 24 h; the window is that dial, or part of it, again and again."""
    if task.lamps.switch == "hand":
        return True
    dial = on[setting.start : min(setting.stop, setting.start + 96)]
    count = len(runs_of(dial))
    if len(dial) == 96 and count > 1 and dial[0] and dial[-1]:
        count -= 1
    later = on[setting.start + 96 : setting.stop]
    same = (later == on[setting.start : setting.stop - 96][: len(later)]).all() if len(later) else True
    return bool(count <= task.lamps.pairs and same)


def somebody_there(on: NDArray[np.bool_], task: LampTask, setting: Setting) -> bool:
    if task.lamps.switch != "hand" or setting.can_switch is None:
        return True
    changed = np.flatnonzero(on[1:] != on[:-1]) + 1
    return all(setting.can_switch[step] for step in changed if step > setting.start)


def under_limit(on: NDArray[np.bool_], task: LampTask, setting: Setting) -> bool:
    for day in range(setting.days):
        needs = task.needs[day]
        today = setting.grid.day == day
        ordered = on[today & (np.arange(len(on)) >= setting.start)].any()
        if needs is not None and needs.limit is not None and ordered:
            sun = task.sun_ppfd[today].sum() * 900e-6
            if sun + on[today].sum() * task.step_mol > needs.limit + 1e-6:
                return False
    return True


# those that rule out most patterns first
RULES = (runs_long_enough, few_pairs, few_starts, one_stretch, dark_enough, somebody_there, under_limit)


def lacks(on: NDArray[np.bool_], task: LampTask, setting: Setting) -> tuple[float, float, float]:
    """Seed light [steps], minimum and account [mol] that a pattern leaves missing."""
    seed = minimum = account_lack = 0.0
    account = task.account_mol
    for day in range(setting.days):
        needs, today = task.needs[day], setting.grid.day == day
        if needs is None:
            continue
        lamp = float(on[today].sum()) * task.step_mol
        if needs.germination is not None:
            wanted = may_be_lit(task, setting) & today
            wanted &= task.sun_ppfd_low < needs.germination.ppfd_umol_m2_s
            seed += float((wanted & ~on).sum())
        if needs.minimum is not None:
            low = float(task.sun_ppfd_low[today].sum()) * 900e-6
            minimum += max(0.0, needs.minimum - low - lamp)
        if needs.target is not None:
            sun = float(task.sun_ppfd[today].sum()) * 900e-6
            account = min(needs.most_in_hand, account + sun + lamp - needs.target)
            floor = 0.0 if day == setting.days - 1 else -needs.most_owed
            account_lack += max(0.0, floor - account)
    return seed, minimum, account_lack


def cost(on: NDArray[np.bool_], task: LampTask, setting: Setting) -> float:
    ordered = on.copy()
    ordered[: setting.start] = False
    return float(setting.price @ ordered) * task.draw_kw / 4


def best(tasks: Sequence[LampTask], setting: Setting) -> tuple[float, float, float, float]:
    """Of all patterns: least lack of seed light, then of minimum, then of account, then least cost."""
    return min(_figures(tasks, setting), key=lambda f: (round(f[0], 6), round(f[1], 6), round(f[2], 6), f[3]))


def _figures(tasks: Sequence[LampTask], setting: Setting) -> Iterator[tuple[float, float, float, float]]:
    each = [
        [
            (on, lacks(on, t, setting), cost(on, t, setting))
            for on in patterns(t, setting)
            if is_allowed(on, t, setting)
        ]
        for t in tasks
    ]
    for chosen in product(*each):
        draw = sum(
            (on * t.draw_kw for (on, _, _), t in zip(chosen, tasks, strict=True)), np.zeros(len(setting.grid))
        )
        draw[: setting.start] = 0
        if setting.most_kw is not None and draw.max() > setting.most_kw + 1e-9:
            continue
        peak = setting.peak_price * max(0.0, draw.max() - setting.peak_so_far_kw)
        seed, minimum, account = (sum(lack[k] for _, lack, _ in chosen) for k in range(3))
        yield seed, minimum, account, sum(c for _, _, c in chosen) + peak
