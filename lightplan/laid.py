"""What lies on a bench already when a sheet's window begins, by the records of earlier sheets."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from lightplan.advice.covers import CoverTask, Remedy, States, Tent
from lightplan.advice.covers.judge import states_of
from lightplan.clock import STEP_S, STEPS_PER_H, Grid, Window
from lightplan.records import History
from lightplan.records_laid import Laid, laid_before
from lightplan.site.cover_names import USES, known_cover
from lightplan.site.models import Bench, Cover

TENTS = {"tent-propped": Tent.PROPPED, "tent-rolled-back": Tent.ROLLED_BACK}
TENT_WORDS = {tent: word for word, tent in TENTS.items()}


@dataclass(frozen=True)
class AlreadyLaid:
    """over : done and undone again before the window. lying : still there as it begins."""

    over: tuple[Laid, ...] = ()
    lying: tuple[Laid, ...] = ()


def already_laid(place: str, history: History, *, grid: Grid, window: Window | None) -> AlreadyLaid:
    """What earlier sheets had done at a bench that bears on this sheet's day."""
    until = window.start if window else grid.moment(int((grid.day == 0).sum()))
    times = laid_before(history.laid.get(place, ()), until)
    today = tuple(one for one in times if one.off > grid.moment(0))
    if window is None:
        return AlreadyLaid(over=today)
    return AlreadyLaid(
        over=tuple(one for one in today if one.off < until), lying=tuple(o for o in today if o.off >= until)
    )


def as_remedy(laid: Iterable[Laid], bench: Bench) -> Remedy:
    """Things that lie together as one remedy; a cover that the site file no longer knows is left out."""
    tent, covers = Tent.CLOSED, []
    for one in laid:
        if one.what in TENTS:
            tent = max(tent, TENTS[one.what])
        elif (cover := _cover(one.what, bench)) is not None:
            covers.append(cover)
    return Remedy(tent, tuple(covers))


def _cover(name: str, bench: Bench) -> Cover | None:
    own = next((cover for cover in bench.covers if cover.name == name), None)
    return known_cover(name) if own is None and name in USES else own


def dries_at(lying: Iterable[Laid], bench: Bench, grid: Grid) -> int | None:
    """Step at which the first of them no longer works; None = no end."""
    begin = grid.moment(
        0
    ).timestamp()  # what was laid on the evening before has lost some of its life by then
    ends = [
        math.floor((one.on.timestamp() - begin) / STEP_S + cover.life_h * STEPS_PER_H)
        for one in lying
        if (cover := _cover(one.what, bench)) is not None and cover.life_h is not None
    ]
    return min(ends, default=None)


def laid_states(
    task: CoverTask, groups: Iterable[tuple[Remedy, int, int]], before: States | None = None
) -> States | None:
    """The bench with each remedy from one step to another, (1, steps); None where there are none."""
    found = before
    for remedy, on, off in groups:
        with_it = replace(task, as_laid=found)
        found = states_of(with_it, remedy, np.array([on]), np.array([off]), remedy.middle)
    return found
