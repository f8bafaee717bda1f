"""Lamp hours into orders: who switches what, when, why, and how sure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from lightplan.advice.lamps import BenchLamps
from lightplan.clock import STEP_MIN, Grid, Window, at_local
from lightplan.dayplan import Action, BenchDay, Order, Reason
from lightplan.lamp_tasks import AlreadySet
from lightplan.new_order import at_bench, new_order
from lightplan.remedy_orders import remedy_orders
from lightplan.routine_orders import routine_orders
from lightplan.site.models import Site, Span
from lightplan.standing import Standing
from lightplan.turned_benches import TurnedBench
from lightplan.turned_orders import turned_orders
from lightplan.weather.table import Spread


def orders_for(
    site: Site,
    benches: tuple[BenchDay, ...],
    lamps: dict[str, BenchLamps],
    *,
    set_before: Mapping[str, AlreadySet],
    standing: Mapping[str, Standing],
    of_houses: Sequence[Order],
    grid: Grid,
    window: Window | None,
    spread: Spread,
    turned: Mapping[str, TurnedBench] | None = None,
) -> tuple[Order, ...]:
    """Every order of the window in clock order, numbered from 1; none where nobody comes.

    set_before, standing, turned : by bench. of_houses : what is ordered for whole houses.
    """
    if window is None:
        return ()
    day_one = grid.dates[0]
    crew = site.crew_on(day_one)
    crew_end = None if crew is None else at_local(day_one, crew[1], site.timezone)
    found = list(of_houses)
    for day in benches:
        upside_down = (turned or {}).get(day.bench.id)
        hands = (
            remedy_orders(day, standing[day.bench.id], window)
            if upside_down is None
            else turned_orders(day, upside_down, site=site, dates=grid.dates, window=window)
        )
        of_lamps = _of_bench(
            day,
            lamps.get(day.bench.id),
            dates=grid.dates,
            window=window,
            sample=spread.sample,
            yesterday=set_before[day.bench.id].yesterday,
            crew_end=crew_end,
        )
        over = [order for order in of_houses if order.house == day.bench.house]
        touched = hands or any(order.action is Action.COVER for order in over)
        found += [o for o in of_lamps if not (touched and o.action is Action.LEAVE_ALONE)]
        found += hands
        found += routine_orders(day, [*hands, *over], site, window) if upside_down is None else []
    found.sort(key=lambda order: (order.time, order.action in QUIET))
    return tuple(replace(order, number=n) for n, order in enumerate(found, start=1))


QUIET = {Action.LEAVE_ALONE, Action.LEAVE_OFF}


def _of_bench(
    day: BenchDay,
    lamps: BenchLamps | None,
    *,
    dates: Sequence[date],
    window: Window,
    sample: NDArray[np.float64],
    yesterday: tuple[Span, ...],
    crew_end: datetime | None,
) -> tuple[Order, ...]:
    why, odds = _why(day, lamps, dates, sample)
    if lamps is None or (not day.batches and not lamps.earlier):
        return (new_order(at_bench(day), window.start, Action.LEAVE_ALONE, why, odds=odds),)
    assert day.bench.lamps is not None
    lit_now = bool(lamps.earlier) and lamps.earlier[-1][1] >= window.start
    if day.bench.lamps.switch == "hand":
        return tuple(
            new_order(at_bench(day), time, action, reason, until=until, odds=chance)
            for time, until, action in _by_hand(lamps, window, lit_now)
            for reason, chance in (_why_of_step(time, action, (why, odds), lamps, crew_end),)
        )
    ((time, until, action),) = _by_timer(lamps, window, lit_now)
    order = new_order(at_bench(day), time, action, why, until=until, odds=odds)
    if action is not Action.SET_TIMER:
        return (order,)
    as_set = _same_times(lamps.intervals, yesterday, window)
    return (replace(order, intervals=lamps.intervals, lit_now=lit_now, as_set=as_set),)


def _why_of_step(
    time: datetime,
    action: Action,
    planned: tuple[Reason, float | None],
    lamps: BenchLamps,
    crew_end: datetime | None,
) -> tuple[Reason, float | None]:
    """The bench's reason; what ends a run has its own: enough light, or nobody there later."""
    begun = [on for on, _ in lamps.intervals if on < time]
    if action is not Action.LAMPS_OFF or not begun:
        return planned
    if time == crew_end:
        return Reason("nobody-later"), None
    if lamps.why.rule == "seed-light":
        return Reason("sun-takes-over"), None
    lit = [(on, min(off, time)) for on, off in lamps.intervals if on < time]
    share = _seconds(lit) / _seconds(lamps.intervals)
    return Reason("lamps-enough", share * lamps.mol, lamps.mol, "mol"), None


def _seconds(intervals: Sequence[tuple[datetime, datetime]]) -> float:
    return sum(off.timestamp() - on.timestamp() for on, off in intervals)


def _same_times(
    intervals: Sequence[tuple[datetime, datetime]], yesterday: Sequence[Span], window: Window
) -> bool:
    """Whether the clock times of the window are those that ran the day before; no record is no."""
    if not yesterday:
        return False
    moment = window.start
    while moment.timestamp() < window.end.timestamp():
        minute = moment.hour * 60 + moment.minute
        was = any(a <= minute < b for a, b in yesterday)
        if was != any(on.timestamp() <= moment.timestamp() < off.timestamp() for on, off in intervals):
            return False
        moment = (moment.astimezone(UTC) + timedelta(minutes=STEP_MIN)).astimezone(window.start.tzinfo)
    return True


Step = tuple[datetime, datetime | None, Action]


def _by_timer(lamps: BenchLamps, window: Window, lit_now: bool) -> tuple[Step, ...]:
    """One setting for the whole window; lamps that burn on, or stay off, are left alone."""
    if not lamps.intervals:
        if lamps.earlier:
            return ((window.start, window.end, Action.SET_TIMER),)
        return ((window.start, window.end, Action.LEAVE_OFF),)
    whole = lamps.intervals[0][0] <= window.start and lamps.intervals[0][1] >= window.end
    action = Action.LEAVE_ON if whole and lit_now else Action.SET_TIMER
    # what is switched from afar may burn before the crew comes
    return ((min(window.start, lamps.intervals[0][0]), window.end, action),)


def _by_hand(lamps: BenchLamps, window: Window, lit_now: bool) -> tuple[Step, ...]:
    """A pair of orders for each run, with what burns already taken over."""
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
