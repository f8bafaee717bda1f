"""Lamp hours into orders: who switches what, when, why, and how sure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime

import numpy as np
from numpy.typing import NDArray

from lightplan.advice.lamps import BenchLamps
from lightplan.clock import Window
from lightplan.dayplan import Action, BenchDay, Certainty, Order, Reason
from lightplan.weather.table import Spread

# How sure an order is, by its odds (the design's own steps; judgement)
SURE, LIKELY, STAND_BY = 0.8, 0.5, 0.2


def certainty(odds: float | None) -> Certainty:
    if odds is None or odds >= SURE:
        return Certainty.SURE
    return Certainty.LIKELY if odds >= LIKELY else Certainty.STAND_BY


def orders_for(
    benches: tuple[BenchDay, ...],
    lamps: dict[str, BenchLamps],
    *,
    dates: Sequence[date],
    window: Window | None,
    spread: Spread,
) -> tuple[Order, ...]:
    """Every order of the window in clock order, numbered from 1; none where nobody comes.

    dates : the sheet's date and those after it.
    """
    if window is None:
        return ()
    found = [
        order
        for day in benches
        for order in _of_bench(day, lamps.get(day.bench.id), dates, window, spread.sample)
    ]
    found.sort(key=lambda order: (order.time, order.action in QUIET))
    return tuple(replace(order, number=n) for n, order in enumerate(found, start=1))


QUIET = {Action.LEAVE_ALONE, Action.LEAVE_OFF}


def _of_bench(
    day: BenchDay,
    lamps: BenchLamps | None,
    dates: Sequence[date],
    window: Window,
    sample: NDArray[np.float64],
) -> tuple[Order, ...]:
    why, odds = _why(day, lamps, dates, sample)
    if lamps is None or (not day.batches and not lamps.earlier):
        return (_order(day, window.start, Action.LEAVE_ALONE, why, odds),)
    assert day.bench.lamps is not None
    by_hand = day.bench.lamps.switch == "hand"
    make = _by_hand if by_hand else _by_timer
    return tuple(
        _order(day, time, action, why, odds, until, lamps.intervals if action is Action.SET_TIMER else ())
        for time, until, action in make(lamps, window)
    )


Step = tuple[datetime, datetime | None, Action]


def _by_timer(lamps: BenchLamps, window: Window) -> tuple[Step, ...]:
    """One setting for the whole window; lamps that burn on, or stay off, are left alone."""
    lit_now = bool(lamps.earlier) and lamps.earlier[-1][1] >= window.start
    if not lamps.intervals:
        if lamps.earlier:
            return ((window.start, window.end, Action.SET_TIMER),)
        return ((window.start, window.end, Action.LEAVE_OFF),)
    whole = lamps.intervals[0][0] <= window.start and lamps.intervals[0][1] >= window.end
    action = Action.LEAVE_ON if whole and lit_now else Action.SET_TIMER
    # what is switched from afar may burn before the crew comes
    return ((min(window.start, lamps.intervals[0][0]), window.end, action),)


def _by_hand(lamps: BenchLamps, window: Window) -> tuple[Step, ...]:
    """A pair of orders for each run, with what burns already taken over."""
    lit_now = bool(lamps.earlier) and lamps.earlier[-1][1] >= window.start
    steps: list[Step] = []
    if not lamps.intervals:
        action = Action.LAMPS_OFF if lit_now else Action.LEAVE_OFF
        return ((window.start, window.end if action is Action.LEAVE_OFF else None, action),)
    if lit_now and lamps.intervals[0][0] > window.start:
        steps.append((window.start, None, Action.LAMPS_OFF))
    for on, off in lamps.intervals:
        steps.append((on, off, Action.LEAVE_ON if lit_now and on == window.start else Action.LAMPS_ON))
        if off < window.end:
            steps.append((off, None, Action.LAMPS_OFF))
    return tuple(steps)


DECIDED_BY_SUN = {"dli-short", "dli-short-ahead", "enough-light", "bright-ahead"}
ENOUGH = {"enough-light", "bright-ahead"}


def _why(
    day: BenchDay, lamps: BenchLamps | None, dates: Sequence[date], sample: NDArray[np.float64]
) -> tuple[Reason, float | None]:
    """The rule that decided, and the odds that the day proves it right."""
    if not day.batches:
        return Reason("no-batch"), None
    if lamps is not None:
        other = lamps.why.day or lamps.why.bright
        named = dates[other] if other else None
        why = Reason(lamps.why.rule, lamps.why.value, lamps.why.limit, lamps.why.unit, named)
    elif day.needs is not None and day.needs.target is not None:
        rule = "dli-short" if day.dli.sun < day.needs.target else "enough-light"
        why = Reason(rule, day.dli.sun, day.needs.target, "mol")
    else:
        why = Reason("no-lamp-need")
    if why.rule in DECIDED_BY_SUN and why.value is not None and why.limit is not None:
        of_day = sample[:, lamps.why.day if lamps else 0]
        short = float(np.mean(why.value * of_day < why.limit))
        return why, 1.0 - short if why.rule in ENOUGH else short
    return why, None


def _order(
    day: BenchDay,
    time: datetime,
    action: Action,
    why: Reason,
    odds: float | None,
    until: datetime | None = None,
    intervals: tuple[tuple[datetime, datetime], ...] = (),
) -> Order:
    return Order(
        number=0,
        time=time,
        until=until,
        house=day.bench.house,
        bench=day.bench.id,
        action=action,
        why=why,
        certainty=certainty(odds),
        odds=odds,
        intervals=intervals,
    )
