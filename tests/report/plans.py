"""DayPlans made by hand from an invented sun and a few plain rules, so that the page has things to show."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace
from datetime import UTC, date, timedelta

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from lightplan.clock import STEP_S, Grid, Window, at_local, grid_over, window_for
from lightplan.crops.limits import Limits
from lightplan.crops.needs import GerminationLight, Needs
from lightplan.dayplan import (
    Action,
    BatchDay,
    BenchDay,
    Certainty,
    CoverTime,
    DayAhead,
    DayPlan,
    Dli,
    HouseDay,
    Interval,
    LampDay,
    Note,
    Order,
    Outdoor,
    Reason,
    Series,
    Temperature,
)
from lightplan.report.cautions import CAUTIONS
from lightplan.site.models import Bench, Site, Stage
from lightplan.sky import SunTimes
from lightplan.weather.table import Kind, Spread, Weather

Array = NDArray[np.float64]
NEEDS: dict[Stage | None, tuple[float | None, float | None, float | None]] = {
    None: (None, None, None),
    Stage.GERMINATION: (None, None, None),
    Stage.SEEDLING: (8.0, 10.0, 20.0),
    Stage.GROWING_ON: (10.0, 12.0, None),
}
WEEK = (1.0, 0.6, 0.45, 1.1, 1.25, 0.9, 0.7)  # light of the days ahead over today's


def day_plan(
    which: Site,
    day: date,
    *,
    clearness: float = 0.6,
    usual: float | None = 14.0,
    kind: Kind = Kind.FORECAST,
    now_min: int = 315,
    fallback: str | None = None,
    cautions: tuple[str, ...] = ("wet-electrics", "bright-lamps"),
) -> DayPlan:
    """A plan in which benches under target get lamps before dawn and after dusk."""
    zone = which.timezone
    now = at_local(day, now_min, zone)
    window = window_for(which, day, now)
    grid = grid_over(day, 4, zone)
    sun = _sun(grid, which.latitude, which.longitude) * clearness
    mol = float(sun[grid.day == 0].sum() * STEP_S / 1e6)
    outdoor = Outdoor(mol, mol * 0.72, mol * 1.2, float(sun[grid.day == 0].max()))
    benches = tuple(
        _bench_day(which, b, day, grid=grid, sun=sun * (0.52 + 0.03 * (n % 4)), window=window)
        for n, b in enumerate(which.benches)
    )
    forecast = kind is Kind.FORECAST
    return DayPlan(
        site=which,
        day=day,
        generated_at=now,
        grid=grid,
        window=window,
        weather=Weather(
            table=pd.DataFrame(),
            source="open-meteo" if forecast else kind.value,
            kind=kind,
            issued_at=now - timedelta(minutes=75) if forecast else None,
            attribution="Weather data by an invented service, CC BY 4.0",
            fallback_reason=fallback,
            spread=Spread((day,), np.array([0.72]), np.array([1.2]), np.ones((1, 1))),
            usual_dli_mol_m2_d=usual,
        ),
        weather_age_h=1.25 if forecast else None,
        sun=_sun_times(day, grid, sun),
        outdoor=outdoor,
        houses=tuple(HouseDay(h, None, None) for h in which.houses),
        benches=benches,
        orders=_orders(which, benches, window, day),
        cautions=cautions,
        week=tuple(_ahead(day + timedelta(days=n), share, outdoor, benches) for n, share in enumerate(WEEK)),
    )


def _ahead(day: date, share: float, outdoor: Outdoor, benches: tuple[BenchDay, ...]) -> DayAhead:
    light = Outdoor(outdoor.dli * share, outdoor.dli_low * share, outdoor.dli_high * share, outdoor.peak_ppfd)
    return DayAhead(day, light, tuple((b.bench.id, b.dli.sun * share) for b in benches))


def _sun(grid: Grid, latitude: float, longitude: float) -> Array:
    """Outdoor PPFD under an invented clear sky: declination by a cosine, light by a power of the sine."""
    day_of_year = np.asarray(grid.times.day_of_year, dtype=float)
    hour = np.asarray(grid.times.hour + grid.times.minute / 60 + 0.125, dtype=float) + longitude / 15
    declination = np.radians(-23.44 * np.cos(2 * np.pi * (day_of_year + 10) / 365))
    phi = math.radians(latitude)
    sine = math.sin(phi) * np.sin(declination)
    sine = sine + math.cos(phi) * np.cos(declination) * np.cos(np.pi * (hour - 12) / 12)
    return np.asarray(2000 * np.clip(sine, 0, None) ** 1.15)


def _sun_times(day: date, grid: Grid, ppfd: Array) -> SunTimes:
    of_day = np.flatnonzero(grid.day == 0)
    lit = [int(k) for k in of_day if ppfd[k] > 0]
    if len(lit) in (0, len(of_day)):
        return SunTimes(day, None, None, at_local(day, 720, grid.zone), None, None, len(lit) / 4)
    rise, noon, fall = grid.moment(lit[0]), grid.moment((lit[0] + lit[-1] + 1) // 2), grid.moment(lit[-1] + 1)
    half = timedelta(minutes=28)
    return SunTimes(day, rise - half, rise, noon, fall, fall + half, len(lit) / 4)


def _cut(
    spans: Iterable[tuple[int, int]], day: date, grid: Grid, within: tuple[float, float]
) -> tuple[Interval, ...]:
    """Clock spans of `day` [minutes; past 1440 = tomorrow] as intervals within two instants."""
    found = []
    for on_min, off_min in spans:
        on, off = (at_local(day, m, grid.zone) for m in (on_min, off_min))
        on, off = max(on.timestamp(), within[0]), min(off.timestamp(), within[1])
        if off > on:
            found.append((grid.moment(_step(grid, on)), grid.moment(_step(grid, off))))
    return tuple(found)


def _step(grid: Grid, instant: float) -> int:
    return round((instant - grid.moment(0).timestamp()) / STEP_S)


def _bench_day(
    which: Site, b: Bench, day: date, *, grid: Grid, sun: Array, window: Window | None
) -> BenchDay:
    today = grid.day == 0
    sun_mol = float(sun[today].sum() * STEP_S / 1e6)
    stage = b.batches[0].stage if b.batches else None
    minimum, target, limit = NEEDS[stage]
    spans: tuple[tuple[int, int], ...] = ()
    if b.lamps and stage is Stage.GERMINATION:
        spans = ((0, 2880),)
    elif b.lamps and target and sun_mol < target:
        early = 300 - 15 * (int(b.id[1:]) % 3)
        spans = ((early, 510), (930, 1260), (1440 + early, 1950))
    midnight = grid.moment(0).timestamp()
    start = window.start.timestamp() if window else midnight + 86400
    earlier = _cut(spans, day, grid, (midnight, start))
    ordered = _cut(spans, day, grid, (start, window.end.timestamp())) if window else ()
    lamp = np.zeros(len(grid))
    for on, off in earlier + ordered:
        lamp[grid.index(on) : grid.index(off)] = b.lamps.ppfd_now_umol_m2_s if b.lamps else 0.0
    lamp_mol = float(lamp[today].sum() * STEP_S / 1e6)
    total = sun_mol + lamp_mol
    notes: tuple[Note, ...] = ()
    if minimum is not None and total < minimum:
        because = "lamp-hours" if b.lamps else "no-lamps"
        notes += (Note("minimum-missed", (("total", total), ("minimum", minimum), ("because", because))),)
    if earlier:
        notes += (Note("usual-assumed"),)
    seed = GerminationLight(20.0, "light_needed") if stage is Stage.GERMINATION else None
    needs = Needs(minimum, target, limit, 6.0, 2.0, 2.0, True, seed, None, ("invented",), "memory")
    limit_ppfd = 500.0 if stage is Stage.SEEDLING else None
    lamp_h = sum(off.timestamp() - on.timestamp() for on, off in ordered) / 3600
    return BenchDay(
        bench=b,
        batches=tuple(BatchDay(one, n == 0) for n, one in enumerate(b.batches)),
        needs=needs if b.batches else None,
        limits=Limits(limit_ppfd, 60, None, None, None, None, "judgement") if b.batches else None,
        transmission=0.52 if sun[today].any() else None,
        dli=Dli(
            sun_open=sun_mol,
            sun=sun_mol,
            lamps=lamp_mol,
            total=total,
            low=sun_mol * 0.72 + lamp_mol,
            high=sun_mol * 1.2 + lamp_mol,
            minimum=minimum,
            target=target,
            limit=limit,
        ),
        account_before=None,
        account_after=None,
        light_hours=24.0 if stage is Stage.GERMINATION else None,
        peak_ppfd_open=float(sun[today].max()),
        peak_ppfd_after=float(sun[today].max()),
        photoperiod_h=None,
        lamps=LampDay(earlier, ordered, lamp_h, lamp_h * 0.324, lamp_h * 0.6, None),
        covers=(),
        temperature=None,
        notes=notes,
        series=Series(sun, sun, lamp, None),
    )


def _orders(
    which: Site, benches: tuple[BenchDay, ...], window: Window | None, day: date
) -> tuple[Order, ...]:
    found: list[Order] = []
    for b in benches if window else ():
        assert window is not None
        blank = Order(
            number=0,
            time=window.start,
            until=None,
            house=b.bench.house,
            bench=b.bench.id,
            action=Action.LEAVE_OFF,
            why=Reason("no-batch"),
            certainty=Certainty.SURE,
            odds=None,
        )
        if b.bench.lamps and b.lamps.intervals:
            why = Reason("seed-light", 9.5, 24.0, "h")
            if b.dli.target is not None:
                why = Reason("dli-short", b.dli.sun, b.dli.target, "mol")
            found.append(replace(blank, action=Action.SET_TIMER, why=why, intervals=b.lamps.intervals))
        elif b.bench.lamps and b.dli.target:
            why = Reason("enough-light", b.dli.sun, b.dli.target, "mol")
            found.append(replace(blank, why=why, certainty=Certainty.LIKELY, odds=0.65))
        for one in b.batches:
            if one.batch.sown:
                at = at_local(day, 960, which.timezone)
                why = Reason("emergence-window", float((day - one.batch.sown).days), 7.0, "d")
                look = replace(blank, time=at, action=Action.CHECK_EMERGENCE, why=why, subject=one.batch.crop)
                found.append(replace(look, certainty=Certainty.LIKELY))
    found.sort(key=lambda order: order.time.astimezone(UTC))
    return tuple(replace(order, number=n) for n, order in enumerate(found, start=1))


def with_everything(plan: DayPlan) -> DayPlan:
    """A plan with every kind of figure that a bench can have, every order, every note and caution."""
    evening = at_local(plan.day, 1050, plan.site.timezone)
    noon = at_local(plan.day, 720, plan.site.timezone)
    why = Reason("temperature-limit", 38.0, 32.0, "c")
    benches = []
    for number, b in enumerate(plan.benches):
        covers = (CoverTime("white-tarp", noon, evening, why, 0.7),) if number == 1 else ()
        kept_out = b.dli.sun * 0.3 if covers else 0.0
        dli = replace(b.dli, sun=b.dli.sun - kept_out, total=b.dli.total - kept_out, low=b.dli.low - kept_out)
        warm = Temperature("air", 31.0 + number, 27.0 + number, 24.0, 33.0, noon)
        changed = replace(b, dli=dli, covers=covers, temperature=warm, account_before=0.5, account_after=-0.4)
        benches.append(replace(changed, photoperiod_h=14.25))
    first = plan.orders[0]
    orders = [
        replace(
            first, number=n, time=noon, until=evening, action=action, why=why, subject="white-tarp", odds=0.6
        )
        for n, action in enumerate(Action, start=len(plan.orders) + 1)
    ]
    return replace(plan, benches=tuple(benches), orders=(*plan.orders, *orders), cautions=tuple(CAUTIONS))
