"""A sample's year under three hands: nothing done, covers from 10 to 15 on clear days, and the orders.

Run: python -m tests.bench.bench_covers [SAMPLE] [perfect|model] [FIRST DATE] [DAYS]

Each morning is planned by `remedies_for` on what was known then: the typical year's own day, or that day
through the replay's error model (seed 0). What comes of it is reckoned by the same heat model on the true
day. All three have the vents that were ordered. Lamps are left out: neither their heat nor their light is
counted. A day is clear where the morning expects at least CLEAR of the clear sky's light. The covers from
10 to 15 are each bench's best one over its whole year (hours over limits and mol together), known only
afterwards; `tent` is the tent rolled back at those hours instead. An order with a sign is done only if the
true meter shows it. Hours over the light limit count where light hurts: soft and shade crops, or hot air.
"""

from __future__ import annotations

import sys
import tempfile
from collections import defaultdict
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from itertools import pairwise
from pathlib import Path

import numpy as np
from scipy.stats import norm

from lightplan.advice.covers import States, Tent
from lightplan.clock import (
    LOOK_AHEAD_DAYS,
    STEP_S,
    STEPS_PER_H,
    Grid,
    Window,
    at_local,
    grid_over,
    window_for,
)
from lightplan.crops.limits import bench_limits, light_hurts_by_itself
from lightplan.crops.needs import bench_needs
from lightplan.heat.parameters import UNCALIBRATED
from lightplan.heat_day import bench_ready, house_ready, steps_wanted
from lightplan.house.kept import kept_house_light
from lightplan.laid import as_remedy
from lightplan.light import benches_light
from lightplan.records import NO_HISTORY
from lightplan.records_laid import Laid, LaidStretch
from lightplan.remedies import Morning, Remedies, remedies_for
from lightplan.remedy_orders import sign_of
from lightplan.replay.forecasts import ERROR_SD, draw_errors
from lightplan.site.models import Bench, Site
from lightplan.site.read import read_site
from lightplan.sky import Sky, make_sky
from lightplan.vents_by_hand import opened_so
from lightplan.weather.fetch import weather_for
from lightplan.weather.table import Spread, Weather

CLEAR = 0.7  # of the clear sky's light
FROM_MIN, TO_MIN, NONE, ORDERS = 10 * 60, 15 * 60, "none", "orders"
BRIGHTEST_W_M2 = 1100.0  # that a forecast may say
KNOWN_DAYS, MEMBERS = 3, 20  # of laid times that are handed on; of the morning's sample


@dataclass
class Tally:
    """Of one bench under one hand: hours over the lower step, the second, the light limit, and of each what
    lies beyond what is borne; mol short of the target."""

    over: float = 0.0
    kills: float = 0.0
    bright: float = 0.0
    beyond: float = 0.0
    short_mol: float = 0.0
    under_minimum_days: int = 0
    moves: int = 0


@dataclass
class Year:
    days: int = 0
    clear_days: int = 0
    by_hand: dict[str, Tally] = field(default_factory=lambda: defaultdict(Tally))


def main(
    sample: str = "ottermoss", known: str = "perfect", first: str = "2026-01-01", days: int = 365
) -> None:
    site = read_site(Path("sample_sites") / sample)
    cache, housed = Path(tempfile.gettempdir()) / "bench_covers", {b.house for b in site.benches}
    lights = {h.id: kept_house_light(h, cache) for h in site.houses if h.id in housed}
    show(run(site, lights, known=known, first=date.fromisoformat(first), days=days))


def run(site: Site, lights: dict, *, known: str, first: date, days: int) -> dict[str, Year]:
    years: dict[str, Year] = {b.id: Year() for b in site.benches}
    laid: dict[str, list[LaidStretch]] = {b.id: [] for b in site.benches}
    errors = np.exp(draw_errors(days, 0))
    whole = grid_over(first, days + LOOK_AHEAD_DAYS + 1, site.timezone)
    season = weather_for(site, whole, needed_until=whole.moment(len(whole)), now=_midnight(first, site))
    for number in range(days):
        day = first + timedelta(days=number)
        window = window_for(site, day, _midnight(day, site))
        grid = grid_over(day, 1 if window is None else (window.end.date() - day).days + 1, site.timezone)
        hours = (season.table.index >= grid.times[0].floor("h")) & (season.table.index <= grid.times[-1])
        true = replace(season, table=season.table[hours])
        recent = {b: tuple(found[-KNOWN_DAYS:]) for b, found in laid.items()}
        told = _morning(site, _as_known(true, grid, known, errors[number]), recent, grid, window, lights)
        came = told if known == "perfect" else _morning(site, true, recent, grid, window, lights)
        _judge_day(came, told, remedies_for(told, lights), lights, years, laid)
    return years


def _midnight(day: date, site: Site) -> datetime:
    return at_local(day, 0, site.timezone)


def _as_known(true: Weather, grid: Grid, known: str, factors: np.ndarray) -> Weather:
    """The weather that a morning expects, and how sure of it it is."""
    days = len(grid.dates)
    if known == "perfect":
        sure = np.ones(days)
        return replace(true, spread=Spread(grid.dates, sure, sure, sure[None]))
    sd = np.array([ERROR_SD[min(n, len(ERROR_SD) - 1)] for n in range(days)])
    chances = norm.ppf((np.arange(MEMBERS) + 0.5) / MEMBERS)
    sample = np.exp(sd**2 / 2 + chances[:, None] * sd)  # true over forecast light
    low, high = (np.exp(sd**2 / 2 + norm.ppf(q) * sd) for q in (0.1, 0.9))
    table = true.table.copy()
    step_of_row = np.searchsorted(grid.times, table.index).clip(max=len(grid) - 1)
    of_row = factors[np.minimum(grid.day[step_of_row], len(factors) - 1)]
    table["ghi_w_m2"] = np.minimum(table["ghi_w_m2"] * of_row, BRIGHTEST_W_M2)
    table[["dni_w_m2", "dhi_w_m2"]] = np.nan  # split anew, as from a service that gives the sum alone
    return replace(true, table=table, spread=Spread(grid.dates, low, high, sample))


def _morning(
    site: Site, weather: Weather, laid: dict, grid: Grid, window: Window | None, lights: dict
) -> Morning:
    sky = make_sky(site, weather.table, grid)
    light = benches_light(site, site.benches, sky, grid=grid, lights=lights)
    needs = {b.id: bench_needs(b, grid.dates[0], site.own_needs) for b in site.benches}
    history = replace(NO_HISTORY, laid=laid)
    return Morning(site, sky, grid, window, light, {}, needs, weather.spread, history)


def _judge_day(
    true: Morning, told: Morning, ordered: Remedies, lights: dict, years: dict, laid: dict
) -> None:
    site, grid, window = true.site, true.grid, true.window
    steps = steps_wanted(grid, window)
    clear = _clear(told.sky, grid)
    crew = site.crew_on(grid.dates[0])
    hours = None
    if crew is not None:
        on, off = max(FROM_MIN, crew[0]), min(TO_MIN, crew[1])
        moments = (at_local(grid.dates[0], minute, site.timezone) for minute in (on, off))
        hours = tuple(grid.index(m) for m in moments) if clear and off > on else None
    for house in (h for h in site.houses if h.id in ordered.houses):
        done = ordered.houses[house.id]
        assert done.cover is None, "the samples have no covers over a house"
        ready = house_ready(
            site,
            true.sky,
            house=house,
            house_light=lights[house.id],
            light=true.light,
            lit={},
            grid=grid,
            steps=steps,
        )
        at_hand = [] if crew is None else [grid.index(at_local(grid.dates[0], crew[1], site.timezone))]
        air = opened_so(ready, done.vents, at_hand[0] if at_hand else None).air_c()
        for bench in (b for b in site.benches if b.house == house.id):
            heat = bench_ready(bench, true.light[bench.id], true.sky, grid=grid, steps=steps)
            if heat is None:
                continue
            standing = ordered.standing(bench.id)
            did, moves = _carried_out(standing, true, bench, window)
            if window is not None:
                laid[bench.id].append(LaidStretch((window.start, window.end), did))
            ways: dict[str, tuple[States, int]] = {NONE: (_states(bench, (), grid, steps), 0)}
            each = [(c.name, (c.name,)) for c in bench.covers]
            each += [("tent", ("tent-rolled-back",))] if bench.tent is not None and bench.tent_opens else []
            for name, things in each:
                times = [] if hours is None else [Laid(t, *(grid.moment(n) for n in hours)) for t in things]
                ways[name] = _states(bench, times, grid, steps), 2 * len(times)
            ways[ORDERS] = _states(bench, did, grid, steps), moves
            year = years[bench.id]
            year.days, year.clear_days = year.days + 1, year.clear_days + (hours is not None)
            for name, (states, hands) in ways.items():
                _count(year.by_hand[name], true, bench, heat, air, states, hands)


def _carried_out(
    standing, true: Morning, bench: Bench, window: Window | None
) -> tuple[tuple[Laid, ...], int]:
    """What really lies there: what did before, and what is ordered where its sign is seen."""
    did, moves = [], 0
    for one in standing.lying:
        sign = sign_of(one)
        if sign is not None:
            at = true.grid.index(sign.by)
            if true.light[bench.id].open[at] < sign.ppfd_umol_m2_s:
                continue
        did.append(Laid(one.what, one.on, one.off))
        if not one.is_over and window is not None:
            moves += (one.plan is not None) + (one.off < window.end)
    return tuple(did), moves


def _states(bench: Bench, times, grid: Grid, steps: int) -> States:
    """The bench step by step with these things on it, covers at the middle of their ranges."""
    shape = (1, steps)
    tent, passed = np.zeros(shape, dtype=np.int64), np.ones(shape)
    absorbed, r, airy = np.zeros(shape), np.zeros(shape), np.zeros(shape)
    spans = [(max(grid.index(t.on), 0), grid.index(t.off), t) for t in times]
    edges = sorted({0, steps, *(min(n, steps) for a, b, _ in spans for n in (a, b))})
    for a, b in pairwise(edges):
        remedy = as_remedy([t for on, off, t in spans if on <= a and off >= b], bench)
        tent[:, a:b], passed[:, a:b] = int(remedy.tent), remedy.middle
        absorbed[:, a:b], r[:, a:b], airy[:, a:b] = remedy.absorbed, remedy.r_m2k_w, float(remedy.airy)
    return States(tent=tent, passed=passed, absorbed=absorbed, r_m2k_w=r, airy=airy)


def _count(tally: Tally, true: Morning, bench: Bench, heat, air, states: States, moves: int) -> None:
    grid, site = true.grid, true.site
    today = int((grid.day == 0).sum())
    felt = heat.felt_c(
        air,
        lit=np.zeros(len(air), dtype=bool),
        tent=states.tent[0],
        passes=states.passed[0],
        absorbs=states.absorbed[0],
        r_m2k_w=states.r_m2k_w[0],
        airy=states.airy[0],
    )[:today]
    light = true.light[bench.id]
    open_sun = np.where(
        states.tent[0] == Tent.ROLLED_BACK, light.untented[: len(air)], light.open[: len(air)]
    )
    sun = (open_sun * states.passed[0])[:today]
    limits = bench_limits(bench, grid.dates[0], site.own_needs)
    need = true.needs[bench.id].needs
    counts = np.ones(today, dtype=bool)
    if not light_hurts_by_itself(bench, grid.dates[0]):
        counts = air[:today] > site.house(bench.house).vent_at_c + UNCALIBRATED.vent_band_k
    assert limits is not None
    for value, limit, borne, name in (
        (felt, limits.temperature_c, limits.temperature_minutes, "over"),
        (felt, limits.temperature_upper_c, limits.temperature_upper_minutes, "kills"),
        (np.where(counts, sun, 0.0), limits.ppfd_umol_m2_s, limits.ppfd_minutes, "bright"),
    ):
        hours = 0.0 if limit is None else float((value > limit).sum()) / STEPS_PER_H
        setattr(tally, name, getattr(tally, name) + hours)
        tally.beyond += max(hours - (borne or 0) / 60, 0.0)
    mol = float(sun.sum() * STEP_S / 1e6)
    tally.short_mol += max((need.target if need and need.target else 0.0) - mol, 0.0)
    tally.under_minimum_days += bool(need and need.minimum and mol < need.minimum)
    tally.moves += moves


def _clear(sky: Sky, grid: Grid) -> bool:
    today = grid.day == 0
    return bool(sky.ppfd_umol_m2_s[today].sum() >= CLEAR * sky.clear_ppfd_umol_m2_s[today].sum())


def show(years: dict[str, Year]) -> None:
    print(
        "hours over: lower step, second step, light limit; beyond what is borne of all; mol short of target"
    )
    totals: dict[str, Tally] = defaultdict(Tally)
    for bench, year in years.items():
        if not year.days:
            continue
        none = year.by_hand[NONE]
        print(f"{bench}: {year.days} days with plants, {year.clear_days} of them clear with hands there")
        rivals = [n for n in year.by_hand if n not in (NONE, ORDERS)]
        best = min(rivals, key=lambda n: _price(year.by_hand[n], none), default=NONE)
        for name, tally in year.by_hand.items():
            print("  " + _line(name + (" *" if name == best and rivals else ""), tally, none))
        for name, of in (("none", NONE), ("10 to 15, best", best), ("orders", ORDERS)):
            for key, value in vars(year.by_hand[of]).items():
                setattr(totals[name], key, getattr(totals[name], key) + value)
    print("all benches")
    for name, tally in totals.items():
        print("  " + _line(name, tally, totals["none"]))


def _price(tally: Tally, none: Tally) -> float:
    return tally.beyond + max(tally.short_mol - none.short_mol, 0.0)


def _line(name: str, tally: Tally, none: Tally) -> str:
    lost = tally.short_mol - none.short_mol
    return (
        f"{name:22} {tally.over:7.1f} h {tally.kills:7.1f} h {tally.bright:7.1f} h {tally.beyond:7.1f} h "
        f"{tally.short_mol:8.1f} mol ({lost:+.1f})  {tally.under_minimum_days:3} days under minimum  "
        f"{tally.moves:4} moves"
    )


if __name__ == "__main__":
    words = sys.argv[1:]
    main(*words[:3], *(int(word) for word in words[3:]))
