"""Lamps of a bench whose day is turned round: when they burn, and by when they are cold."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from lightplan.account import account_after
from lightplan.advice.inversion.schedule import cooling_min
from lightplan.advice.lamps import BenchLamps, Why
from lightplan.advice.lamps.prices import prices
from lightplan.advice.lamps.runs import intervals
from lightplan.clock import STEPS_PER_H, Grid, Window, at_local
from lightplan.crops.needs import BenchNeeds
from lightplan.lamp_tasks import AlreadySet
from lightplan.site.models import Site, Span
from lightplan.turned_benches import TurnedBench

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

SLIGHT_KW = 1e-9  # sums of draws that differ by less are equal


def lit_by_plan(turned: TurnedBench, site: Site, grid: Grid, window: Window | None = None) -> Mask:
    """(steps,) when the plan has the lamps burn, the night before the grid's first date included.

    window : on its nights a timer, which nobody sets in between, keeps to one setting.
    """
    lit = np.zeros(len(grid), dtype=bool)
    alike = {} if window is None else _one_setting(turned, window)
    for day in (grid.dates[0] - timedelta(days=1), *grid.dates):
        lamps = alike[day] if day in alike else _asked_for(turned, day)
        if lamps is not None:
            on, off = (at_local(day, minute, site.timezone) for minute in lamps)
            lit[grid.index(on) : grid.index(off)] = True
    return lit


def _asked_for(turned: TurnedBench, day: date) -> Span | None:
    asked = turned.on(day)
    return None if asked is None else asked.lamps


def _one_setting(turned: TurnedBench, window: Window) -> dict[date, Span | None]:
    """By night, in a window over days without a crew: the shortest; on the way back none if one has none."""
    days = [
        window.start.date() + timedelta(days=n) for n in range((window.end.date() - window.start.date()).days)
    ]
    if len(days) < 2 or (turned.bench.lamps is not None and turned.bench.lamps.switch == "hand"):
        return {}
    each = [_asked_for(turned, day) for day in days]
    lit = [one for one in each if one is not None]
    back = any((asked := turned.on(day)) is None or asked.back for day in days)
    shortest = min(lit, key=lambda span: span[1] - span[0], default=None)
    return dict.fromkeys(days, None if back and len(lit) < len(each) else shortest)


def set_by_plan(turned: TurnedBench, before: AlreadySet, site: Site, grid: Grid) -> AlreadySet:
    """What the lamps did before the window: as recorded, else as the plan had them."""
    if before.assumed is None or turned.on(grid.dates[0] - timedelta(days=1)) is None:
        return before
    return AlreadySet(lit_by_plan(turned, site, grid), None, before.yesterday)


def cooled(
    turned: TurnedBench, before: AlreadySet, *, site: Site, grid: Grid, window: Window | None
) -> TurnedBench:
    """With the moment at which this morning's lamps are cold: as set before the window, then as planned."""
    asked, lamps = turned.on(grid.dates[0]), turned.bench.lamps
    if asked is None or lamps is None or window is None:
        return turned
    lit = lit_by_plan(turned, site, grid, window)
    start = grid.index(window.start)
    lit[:start] = before.lit[:start]
    morning = np.flatnonzero(lit[: grid.index(at_local(grid.dates[0], asked.cover[1], site.timezone))])
    if not len(morning):
        return turned
    off = grid.moment(int(morning[-1]) + 1)
    return replace(turned, cool_by=off + timedelta(minutes=cooling_min(lamps)))


def lamps_of(
    turned: TurnedBench,
    *,
    site: Site,
    grid: Grid,
    window: Window | None,
    set_before: AlreadySet,
    needs: BenchNeeds,
    account: float,
    used_kw: Array,
) -> BenchLamps:
    """used_kw : (steps,) of turned benches before it; its own run of the window is left out where together
    they would pass what lamps may draw."""
    lamps = turned.bench.lamps
    assert lamps is not None
    start, stop = (grid.index(window.start), grid.index(window.end)) if window else (len(grid), len(grid))
    on = lit_by_plan(turned, site, grid, window)
    on[:start] = set_before.lit[:start]
    why = _why(turned, grid.dates[0])
    most = site.power.lamps_kw_at_most if site.power else None
    together = float((used_kw + on * lamps.power_kw * lamps.working)[start:stop].max(initial=0.0))
    if most is not None and on[start:stop].any() and together > most + SLIGHT_KW:
        on[start:] = False
        why = Why("capacity", together, most, "kW")
    ordered = on[start:stop]
    kwh = ordered * lamps.power_kw * lamps.working / STEPS_PER_H
    price = prices(site.power, grid)
    hours = float(ordered.sum()) / STEPS_PER_H
    mol = hours * 3600 * lamps.ppfd_now_umol_m2_s / 1e6
    before = grid.index(at_local(grid.dates[1], 0, site.timezone)) if window is None else start
    return BenchLamps(
        bench_id=turned.bench.id,
        on=on,
        intervals=intervals(on, grid, start, stop),
        earlier=intervals(on, grid, 0, before),
        hours=hours,
        mol=mol,
        kwh=float(kwh.sum()),
        cost=None if price is None else float(kwh @ price[start:stop]),
        account_mol=account_after(account, mol, needs.needs),
        sun_mol=(),
        target_mol=(),
        why=why,
    )


def _why(turned: TurnedBench, day: date) -> Why:
    asked = turned.on(day)
    if asked is None or asked.lamps is not None:
        return Why("inverted-lamps")
    return Why("inverted-back" if asked.back else "inverted-unlit")
