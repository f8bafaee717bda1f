"""One bench's day: light, lamps, needs and limits brought together into its record."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np
from numpy.typing import NDArray

from lightplan.account import SLIGHT_MOL, account_after
from lightplan.advice.lamps import BenchLamps
from lightplan.advice.photoperiod.measure import CYCLE_MIN
from lightplan.clock import STEP_MIN, STEPS_PER_H, Grid, Window
from lightplan.crops.limits import Limits, bench_limits, seed_kill_lifted
from lightplan.crops.needs import BenchNeeds
from lightplan.day_notes import DaySeen, day_notes
from lightplan.day_tasks import BenchDayLength
from lightplan.dayplan import BatchDay, BenchDay, Dli, LampDay, Note, Series
from lightplan.heat_day import BenchWarmth, HouseWarmth, heat_notes, temperature_of
from lightplan.lamp_tasks import AlreadySet, in_spans
from lightplan.light import BenchLight, daily_light_integral
from lightplan.remedy_orders import cover_notes, cover_times
from lightplan.site.models import Bench, Site, Stage
from lightplan.sky import Sky
from lightplan.standing import Standing
from lightplan.weather.table import Spread

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

TOLD_BELOW = 0.95  # share of the day's light left, under which snow or drops are worth a line; judgement


NO_LAMPS = LampDay((), (), 0.0, 0.0, 0.0, 0.0)


def bench_day(
    site: Site,
    bench: Bench,
    light: BenchLight,
    *,
    sky: Sky,
    grid: Grid,
    spread: Spread,
    needs: BenchNeeds,
    set_before: AlreadySet,
    lamps: BenchLamps | None,
    account: float,
    warmth: HouseWarmth,
    felt: BenchWarmth | None,
    standing: Standing,
    day_length: BenchDayLength,
    day_seen: DaySeen,
    lit: Mapping[str, Mask],
    opened: bool,
    window: Window | None,
    serves_days: int,
) -> BenchDay:
    """The record of a bench on the grid's first date.

    day_length, day_seen : what is wanted of the day, and what plants see of it as ordered. lit : lamps of
    every bench, as set and as ordered. opened : whether the house's vents are ordered open.
    serves_days : dates from this sheet's first crew hour to the next's.
    """
    today = grid.day == 0
    sun, bare = standing.sun_ppfd, light.open
    burning = _lamp_ppfd(bench, lamps, grid)
    sun_mol, open_mol = (float(daily_light_integral(ppfd, grid)[0]) for ppfd in (sun, bare))
    lamp_mol = float(daily_light_integral(burning, grid)[0])
    outdoor_mol = float(daily_light_integral(sky.ppfd_umol_m2_s, grid)[0])
    need = needs.needs
    dli = Dli(
        sun_open=open_mol,
        sun=sun_mol,
        lamps=lamp_mol,
        total=sun_mol + lamp_mol,
        low=sun_mol * float(spread.low[0]) + lamp_mol,
        high=sun_mol * float(spread.high[0]) + lamp_mol,
        minimum=need.minimum if need else None,
        target=need.target if need else None,
        limit=need.limit if need else None,
    )
    limits = bench_limits(bench, grid.dates[0], site.own_needs) if needs.batches else None
    has_account = need is not None and need.target is not None
    seed = need.germination if need else None
    lit_enough = (sun + burning >= seed.ppfd_umol_m2_s) if seed else np.zeros(len(grid), dtype=bool)
    wanted = in_spans(grid, bench.lamp_hours) & today
    return BenchDay(
        bench=bench,
        batches=tuple(BatchDay(batch, batch is needs.governs) for batch in needs.batches),
        needs=need,
        limits=limits,
        transmission=open_mol / outdoor_mol if outdoor_mol > 0 else None,
        dli=dli,
        account_before=account if has_account else None,
        account_after=account_after(account, dli.total, need) if has_account else None,
        light_hours=float((lit_enough & wanted).sum() / STEPS_PER_H) if seed else None,
        peak_ppfd_open=float(bare[today].max()),
        peak_ppfd_after=float(sun[today].max()),
        photoperiod_h=day_seen.hours if needs.batches else None,
        day_aim=day_length.aim,
        lamps=NO_LAMPS if lamps is None else _lamp_day(site, lamps),
        covers=cover_times(standing),
        temperature=temperature_of(felt, site.house(bench.house), grid),
        notes=(
            *_weather_notes(light, today),
            *heat_notes(
                site.house(bench.house),
                warmth,
                bench,
                felt,
                limits=limits,
                grid=grid,
                from_step=grid.index(window.start) if window else 0,
                opened=opened,
            ),
            *_seed_notes(bench, grid, site),
            *cover_notes(standing, bare, today),
            *day_notes(site, day_length, day_seen, standing, lit=lit, grid=grid, window=window),
            *_heat_saved(felt, limits, standing, today),
            *_timer_notes(bench, lamps, serves_days),
            *_turn_notes(lamps),
            *_noon_notes(site, bench, lamps, grid),
            *_notes(
                bench, needs, set_before, lamps, dli, limits.ppfd_umol_m2_s if limits else None, sun[today]
            ),
        ),
        series=Series(bare, sun, burning, felt.temperature_c if felt else None),
    )


def _lamp_ppfd(bench: Bench, lamps: BenchLamps | None, grid: Grid) -> Array:
    if lamps is None or bench.lamps is None:
        return np.zeros(len(grid))
    return lamps.burnt * bench.lamps.ppfd_now_umol_m2_s


def _lamp_day(site: Site, lamps: BenchLamps) -> LampDay:
    cost = lamps.cost if site.power is not None else None
    return LampDay(lamps.earlier, lamps.intervals, lamps.hours, lamps.mol, lamps.kwh, cost)


def _weather_notes(light: BenchLight, today: NDArray[np.bool_]) -> Iterator[Note]:
    """What snow and drops on the glazing leave of the day's light, where that is worth a line."""
    losses = light.losses
    wet = light.open / losses.condensation
    white_beam = light.open_beam / losses.snow_beam
    white_diffuse = light.open_diffuse / losses.snow_diffuse
    for slug, without in (("snow-on-roof", white_beam + white_diffuse), ("wet-glazing", wet)):
        if without[today].sum() > 0:
            left = float(light.open[today].sum() / without[today].sum())
            if left < TOLD_BELOW:
                yield Note(slug, (("share", left),))


def _seed_notes(bench: Bench, grid: Grid, site: Site) -> Iterator[Note]:
    lifted = seed_kill_lifted(bench, grid.dates[0], site.own_needs)
    if lifted is not None:
        own_c, second_c, kill_c = lifted
        yield Note("own-limit-past-seed-kill", (("own", own_c), ("second", second_c), ("kill", kill_c)))


def _heat_saved(
    felt: BenchWarmth | None, limits: Limits | None, standing: Standing, today: NDArray[np.bool_]
) -> Iterator[Note]:
    """How long the bench would be over its limit as it stands by itself, and is as ordered."""
    if felt is None or limits is None or limits.temperature_c is None or standing.states is None:
        return
    now = today[: len(felt.open_c)]
    bare, ordered = (
        int(((felt_c > limits.temperature_c) & now).sum()) * STEP_MIN
        for felt_c in (felt.open_c, felt.temperature_c)
    )
    if bare > ordered:
        yield Note("heat-saved", (("bare", bare), ("ordered", ordered)))


def _timer_notes(bench: Bench, lamps: BenchLamps | None, serves_days: int) -> Iterator[Note]:
    if serves_days > 1 and lamps and lamps.intervals and bench.lamps and bench.lamps.switch != "hand":
        yield Note("timer-spans-days", (("days", serves_days),))


def _turn_notes(lamps: BenchLamps | None) -> Iterator[Note]:
    """A night that is lit by turns: minutes of each half hour."""
    if lamps is not None and lamps.share is not None and (lamps.share < 1).any():
        yield Note("lit-by-turns", (("turns", float(lamps.share.min()) * CYCLE_MIN), ("of", CYCLE_MIN)))


def _noon_notes(site: Site, bench: Bench, lamps: BenchLamps | None, grid: Grid) -> Iterator[Note]:
    """When the afternoon's lamps may be left out; the meter shows lamps that burn besides the sun."""
    crew = site.crew_on(grid.dates[0])
    if lamps is None or lamps.noon is None or bench.lamps is None or crew is None:
        return
    cut = lamps.noon
    minute = cut.at.hour * 60 + cut.at.minute
    if crew[0] <= minute <= crew[1]:
        shown = cut.ppfd_umol_m2_s + bench.lamps.ppfd_now_umol_m2_s * float(lamps.on[grid.index(cut.at)])
        yield Note("noon-cut", (("at", cut.at), ("ppfd", shown), ("until", cut.intervals[-1][1])))


def _notes(
    bench: Bench,
    needs: BenchNeeds,
    set_before: AlreadySet,
    lamps: BenchLamps | None,
    dli: Dli,
    limit_ppfd: float | None,
    sun: Array,
) -> Iterator[Note]:
    for slug, values in needs.notes:
        yield Note(slug, tuple(values.items()))
    if set_before.assumed is not None:
        yield Note(set_before.assumed)
    if bench.lamps is not None and bench.lamps.working < 1:
        yield Note("lamps-out", (("share", bench.lamps.working),))
    yield from _shortfalls(needs, lamps, dli)
    if limit_ppfd is not None and sun.max() > limit_ppfd:
        minutes = int((sun > limit_ppfd).sum()) * STEP_MIN
        yield Note(
            "ppfd-over-limit", (("peak", float(sun.max())), ("limit", limit_ppfd), ("minutes", minutes))
        )
    if dli.limit is not None and dli.total > dli.limit:
        yield Note("dli-over-limit", (("total", dli.total), ("limit", dli.limit)))


def _shortfalls(needs: BenchNeeds, lamps: BenchLamps | None, dli: Dli) -> Iterator[Note]:
    """What the day can't bring, and what stands in the way."""
    for missed in (m for m in (lamps.unmet if lamps else ()) if m.day == 0):
        if missed.rule == "seed-light-missed":
            values = (("hours", missed.value), ("wanted", missed.limit), ("because", missed.because))
        elif missed.limit - missed.value < SLIGHT_MOL:
            continue
        else:
            values = (
                ("total", missed.value),
                (missed.rule.removesuffix("-missed"), missed.limit),
                ("because", missed.because),
                *((("expected", dli.total),) if missed.rule == "minimum-missed" else ()),
            )
        yield Note(missed.rule, values)
    if lamps is None and dli.target is not None and dli.total < dli.target:
        hardening = any(batch.stage is Stage.HARDENING for batch in needs.batches)
        because = "stage" if hardening else "no-lamps"
        if dli.minimum is not None and dli.total < dli.minimum:
            yield Note(
                "minimum-missed", (("total", dli.total), ("minimum", dli.minimum), ("because", because))
            )
        else:
            yield Note("target-missed", (("total", dli.total), ("target", dli.target), ("because", because)))
