"""The whole morning as a recipe on one page."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime

import numpy as np
from numpy.typing import NDArray

from lightplan.advice.lamps import LampPlan, plan_lamps
from lightplan.bench_day import bench_day
from lightplan.cautions_today import cautions_today
from lightplan.clock import Grid, Window, at_local, grid_over, window_for
from lightplan.crops.limits import bench_limits
from lightplan.crops.needs import BenchNeeds, bench_needs
from lightplan.day_notes import days_as_ordered, ordered_on
from lightplan.day_tasks import day_length_of, nights_of_site
from lightplan.dayplan import BenchDay, DayAhead, DayPlan, LampsTogether, Outdoor
from lightplan.heat_day import house_day
from lightplan.house.transmission import HouseLight
from lightplan.lamp_tasks import already_set, lamp_task, set_ahead
from lightplan.light import benches_light, daily_light_integral
from lightplan.long_days import day_lights, spilled
from lightplan.meter_time import meter_time
from lightplan.night_covers import covered_anew, nights_covered, with_last_nights
from lightplan.night_curtains import houses_covered
from lightplan.orders import orders_for
from lightplan.peak_so_far import peak_so_far_kw
from lightplan.records import History
from lightplan.remedies import Morning, Remedies, lamps_too_hot, remedies_for, warmth_with
from lightplan.remedy_orders import house_orders, laid_times
from lightplan.site.models import Site
from lightplan.sky import Sky, make_sky
from lightplan.sun import sun_times
from lightplan.turned_benches import TurnedBench
from lightplan.turned_day import (
    power_beside,
    turned_lamps,
    with_turned,
    with_turned_days,
    with_turned_lamps,
)
from lightplan.turned_lamps import cooled, set_by_plan
from lightplan.weather.table import Spread, Weather

Mask = NDArray[np.bool_]

WEEK_DAYS = 7  # the sheet looks a week ahead; lamps need three days of it


def planning_grid(site: Site, day: date, now: datetime) -> tuple[Grid, Window | None]:
    """Whole days from the sheet's midnight: the week ahead, and past the window's end."""
    window = window_for(site, day, now)
    spanned = 1 if window is None else (window.end.date() - day).days + 1
    return grid_over(day, max(WEEK_DAYS, spanned), site.timezone), window


def plan_day(
    site: Site,
    weather: Weather,
    history: History,
    *,
    grid: Grid,
    window: Window | None,
    now: datetime,
    lights: Mapping[str, HouseLight],
    turned: Mapping[str, TurnedBench] | None = None,
) -> DayPlan:
    """The sheet of the grid's first date. Pure: the same input gives the same plan.

    lights : by id, of every house with a bench. turned : by id, benches whose day is turned round.
    """
    turned = turned or {}
    day = grid.dates[0]
    sky = make_sky(site, weather.table, grid)
    light = benches_light(site, site.benches, sky, grid=grid, lights=lights)
    needs = {b.id: bench_needs(b, day, site.own_needs) for b in site.benches}
    set_before = {b.id: already_set(b, history, grid=grid, window=window) for b in site.benches}
    set_before |= {b: set_by_plan(one, set_before[b], site, grid) for b, one in turned.items()}
    turned = {b: cooled(one, set_before[b], site=site, grid=grid, window=window) for b, one in turned.items()}
    account = {b.id: history.account.get(b.id, 0.0) for b in site.benches}
    already_lit = {b: before.lit for b, before in set_before.items()}
    morning = Morning(
        site,
        sky,
        grid,
        window,
        light,
        already_lit,
        needs,
        weather.spread,
        history,
        vented_through=frozenset(one.bench.house for one in turned.values()),
    )
    by_day = with_turned(remedies_for(morning, lights), turned, morning)
    crew = [_crew(site, date) for date in grid.dates]
    by_angle = nights_of_site(site, grid)
    seen = {
        b.id: day_length_of(site, b, grid=grid, by_angle=by_angle, turned=b.id in turned)
        for b in site.benches
    }

    def covered_by_night(lit: Mapping[str, Mask] | None) -> Remedies:
        """lit : lamps as they would burn; None where that is not known yet."""
        over_houses = houses_covered(with_last_nights(by_day, seen, morning), seen, morning, lit=lit)
        return nights_covered(over_houses, seen, morning, spill=spilled(site, lit or {}, grid))

    def lamps_planned(too_hot: Mapping[str, Mask]) -> LampPlan:
        power = power_beside(site.power, turned)
        sun = {b: done.standing.sun_ppfd for b, done in remedies.benches.items()}
        days = day_lights(
            site,
            seen,
            needs,
            sun,
            grid=grid,
            window=window,
            power=power,
            low=float(weather.spread.low[0]),
            now=now,
        )
        tasks = [
            lamp_task(
                site,
                bench,
                sky,
                grid=grid,
                sun=remedies.standing(bench.id).sun_ppfd,
                dark=remedies.standing(bench.id).dark,
                low=weather.spread.low,
                set_before=set_before[bench.id],
                account=account[bench.id],
                clearness=weather.usual_clearness,
                keep_off=remedies.standing(bench.id).lamps_off | too_hot[bench.id],
                day=days[bench.id],
            )
            for bench in site.benches
            if bench.lamps is not None and bench.lamps.working > 0 and bench.id not in turned
        ]
        others = plan_lamps(
            tasks, grid=grid, window=window, now=now, crew=crew, power=power, peak_so_far_kw=peak_kw
        )
        return with_turned_lamps(others, turned, by_plan, site.power)

    peak_kw = peak_so_far_kw(site, history, window.start if window else now)
    by_plan = turned_lamps(
        turned, site=site, grid=grid, window=window, set_before=set_before, needs=needs, account=account
    )
    remedies = bare = covered_by_night(None)
    planned = lamps_planned({b.id: np.zeros(len(grid), dtype=bool) for b in site.benches})
    too_hot = _too_hot(site, remedies, planned, needs, grid)
    remedies = covered_by_night({b.bench_id: b.on for b in planned.benches})
    # once: what is left over a limit or of too long a day then is said
    hot = any(mask.any() for b, mask in too_hot.items() if b not in turned)
    if hot or covered_anew(bare, remedies):
        planned = lamps_planned(too_hot)
    lamps = {b.bench_id: b for b in planned.benches}
    lit = {bench_id: found.on for bench_id, found in lamps.items()}
    stop = grid.index(window.end) if window else 0
    burning = {
        b: ordered_on(on, stop) if window else on | set_ahead(b, history, grid=grid) for b, on in lit.items()
    }
    days_seen = days_as_ordered(seen, remedies, burning, spilled(site, burning, grid), grid)
    warmth, felt = warmth_with(site, remedies, {b: found.burnt for b, found in lamps.items()})
    benches = tuple(
        bench_day(
            site,
            bench,
            light[bench.id],
            sky=sky,
            grid=grid,
            spread=weather.spread,
            needs=needs[bench.id],
            set_before=set_before[bench.id],
            lamps=lamps.get(bench.id),
            account=account[bench.id],
            warmth=warmth[bench.house],
            felt=felt.get(bench.id),
            standing=remedies.standing(bench.id),
            day_length=seen[bench.id],
            day_seen=days_seen[bench.id],
            lit=burning,
            opened=remedies.houses[bench.house].vents is not None,
            window=window,
            serves_days=(window.end.date() - window.start.date()).days if window else 0,
        )
        for bench in site.benches
    )
    standing = {bench.id: remedies.standing(bench.id) for bench in site.benches}
    benches = with_turned_days(
        benches,
        turned,
        light,
        site=site,
        grid=grid,
        spread=weather.spread,
    )
    orders = orders_for(
        site,
        benches,
        lamps,
        set_before=set_before,
        standing=standing,
        of_houses=house_orders(remedies.houses, site, grid, window),
        turned=turned,
        grid=grid,
        window=window,
        spread=weather.spread,
    )
    houses = tuple(house_day(house, warmth.get(house.id), grid) for house in site.houses)
    week = _week(benches, sky, grid, weather.spread)
    return DayPlan(
        site=site,
        day=day,
        generated_at=now,
        grid=grid,
        window=window,
        weather=weather,
        weather_age_h=_age_h(weather.issued_at, now),
        sun=sun_times(site, day),
        outdoor=week[0].outdoor,
        houses=houses,
        benches=benches,
        orders=orders,
        cautions=tuple(cautions_today(benches, houses, orders, standing, window)),
        week=week,
        lamps_together=LampsTogether(
            power_kw=planned.power_kw,
            most_kw=planned.most_kw,
            peak_cost=planned.peak_cost,
            solver_gap=planned.solver_gap,
            needed_first=planned.needed_first,
            short_gap=planned.short_gap,
        ),
        laid=laid_times(remedies),
        meter=meter_time(site, sky, grid=grid, window=window, weather=weather),
    )


def _too_hot(
    site: Site, remedies: Remedies, planned: LampPlan, needs: Mapping[str, BenchNeeds], grid: Grid
) -> dict[str, Mask]:
    """By bench, when lamps as planned would take it over its limit."""
    lit = {b.bench_id: b.on for b in planned.benches}
    _, felt = warmth_with(site, remedies, {b.bench_id: b.burnt for b in planned.benches})
    _, without = warmth_with(site, remedies, {})
    return {
        bench.id: lamps_too_hot(
            bench_limits(bench, grid.dates[0], site.own_needs),
            felt.get(bench.id),
            without[bench.id].temperature_c if bench.id in without else np.zeros(0),
            lit.get(bench.id, np.zeros(len(grid), dtype=bool)),
            seed=_lights_seed(needs[bench.id]),
        )
        for bench in site.benches
    }


def _lights_seed(needs: BenchNeeds) -> bool:
    return needs.needs is not None and needs.needs.germination is not None


def _age_h(issued_at: datetime | None, now: datetime) -> float | None:
    """How old the weather is; None where there is no telling, or it was made after the sheet's clock."""
    if issued_at is None or issued_at > now:
        return None
    return (now.timestamp() - issued_at.timestamp()) / 3600


def _crew(site: Site, day: date) -> tuple[datetime, datetime] | None:
    hours = site.crew_on(day)
    return (
        None
        if hours is None
        else (at_local(day, hours[0], site.timezone), at_local(day, hours[1], site.timezone))
    )


def _week(benches: tuple[BenchDay, ...], sky: Sky, grid: Grid, spread: Spread) -> tuple[DayAhead, ...]:
    outdoors = daily_light_integral(sky.ppfd_umol_m2_s, grid)
    at_benches = {b.bench.id: daily_light_integral(b.series.sun_ppfd, grid) for b in benches}
    return tuple(
        DayAhead(
            date,
            Outdoor(
                dli=float(outdoors[n]),
                dli_low=float(outdoors[n] * spread.low[n]),
                dli_high=float(outdoors[n] * spread.high[n]),
                peak_ppfd=float(sky.ppfd_umol_m2_s[grid.day == n].max()),
            ),
            tuple((bench, float(light[n])) for bench, light in at_benches.items()),
        )
        for n, date in enumerate(grid.dates[:WEEK_DAYS])
    )


__all__ = ["plan_day", "planning_grid"]
