"""A day's sheet held against what came: light, lamps, and whether each order was right."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from lightplan.account import SLIGHT_MOL, account_after
from lightplan.clock import STEP_MIN, STEPS_PER_H, Grid, day_start, grid_over
from lightplan.crops.limits import Limits, bench_limits
from lightplan.crops.needs import bench_needs
from lightplan.heat.house_air import AUTOMATIC
from lightplan.heat_day import MUCH_K, bench_ready, house_ready
from lightplan.house.transmission import HouseLight
from lightplan.learn.kinds import Done, TemperatureReading
from lightplan.learn.score import AirScore, BenchScore, DayScore, OrderScore
from lightplan.light import BenchLight, benches_light, daily_light_integral
from lightplan.observed import Observed
from lightplan.records import History
from lightplan.site.models import Bench, Site
from lightplan.sky import Sky, make_sky

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
Json = Mapping[str, Any]

NEAR_C = 2.0  # a cover was right if the bench came so near its limit: heat is reckoned no better; judgement
NEAR_SHARE = 0.9  # the same of light
LAMPS_ON = ("set-timer", "lamps-on", "leave-on")
LAMPS_OFF = ("leave-off", "lamps-off")
HANDS = ("cover", "open-tent")
# what lamps and hands are ordered for that the day's light and heat can judge; day length, seed and a day
# turned round have their own reasons, and are right whatever the sky did
BY_LIGHT = ("dli-short", "account-owed", "owed-for-now", "minimum-short", "enough-light")
BY_LIMIT = ("temperature-limit", "ppfd-limit")
ONE_DAY = timedelta(days=1)
# rules that look past the day
FOR_LATER = ("dli-short-ahead", "minimum-short-ahead", "account-carries", "bright-ahead")


@dataclass(frozen=True)
class Came:
    """A day as it came. Arrays (steps of the day,)."""

    grid: Grid
    sky: Sky
    light: Mapping[str, BenchLight]
    lit: Mapping[str, Mask]


def score_day(
    site: Site,
    plan: Json,
    observed: Observed,
    *,
    table: pd.DataFrame,
    history: History,
    lights: Mapping[str, HouseLight],
    done: Sequence[Done],
    temperatures: Sequence[TemperatureReading],
) -> DayScore:
    """Pure. plan : the JSON of the day's first sheet. table : the day's weather, `observed.filled_day`.

    history : what sheets set, the day after's. done, temperatures : of that day.
    """
    day = date.fromisoformat(plan["date"])
    grid = grid_over(day, 1, site.timezone)
    sky = make_sky(site, table, grid)
    known = [b for b in site.benches if b.house in lights and any(p["id"] == b.id for p in plan["benches"])]
    said = _said(plan, done)
    lit = {b.id: _lit(b, plan, history, grid, said) for b in known}
    came = Came(grid, sky, benches_light(site, known, sky, grid=grid, lights=lights), lit)
    outdoors = float(daily_light_integral(sky.ppfd_umol_m2_s, grid)[0])
    benches = tuple(_bench(site, b, _told(plan, b.id), plan, came, said) for b in known)
    outdoor, band = plan["outdoor"], plan.get("learned", {}).get("band", {})
    return DayScore(
        day=day,
        source=plan["weather"]["source"],
        kind=plan["weather"]["kind"],
        observed_by=observed.by,
        forecast_mol=outdoor["dli"],
        low_mol=outdoor["dli_low"],
        high_mol=outdoor["dli_high"],
        came_mol=outdoors,
        clear_mol=float(daily_light_integral(sky.clear_ppfd_umol_m2_s, grid)[0]),
        raw_mol=outdoor["dli"] / band.get("cloud_light", 1.0),
        benches=benches,
        orders=tuple(_orders(site, plan, came, {b.id: b for b in benches}, said, lights)),
        air=_air(plan, temperatures),
        stretch=band.get("factor", 1.0),
    )


def _said(plan: Json, done: Sequence[Done]) -> dict[int, Done]:
    """By number on the first sheet, what is told of its orders; a later sheet may number them anew."""
    found = {}
    for one in done:
        same = [o for o in plan["orders"] if one.action is None or _is_of(one, o)]
        numbers = [o["number"] for o in same]
        if one.order in numbers:
            found[one.order] = one
        elif len(same) == 1:
            found[numbers[0]] = one
    return found


def _is_of(done: Done, order: Json) -> bool:
    return (done.action, done.house, done.bench) == (order["action"], order["house"], order["bench"])


def _told(plan: Json, bench: str) -> Json:
    return next(p for p in plan["benches"] if p["id"] == bench)


def _lit(bench: Bench, plan: Json, history: History, grid: Grid, said: Mapping[int, Done]) -> Mask:
    """When lamps burned: as sheets set it, less what was not done and from when it was."""
    lit = np.zeros(len(grid), dtype=bool)
    if bench.lamps is None:
        return lit
    end = day_start(grid.dates[0] + timedelta(days=1), grid.zone)
    _, times = history.set_since(bench.id, grid.moment(0), end)
    for on, off in times:
        lit[grid.index(on) : grid.index(off)] = True
    for order in plan["orders"]:
        told = said.get(order["number"])
        if told is None or order["bench"] != bench.id or order["action"] not in (*LAMPS_ON, *LAMPS_OFF):
            continue
        begin = grid.index(datetime.fromisoformat(order["time"]))
        late = None if told.at is None else grid.index(told.at)
        turns_on = order["action"] in LAMPS_ON
        if not told.done and turns_on:
            until = datetime.fromisoformat(order["until"]) if order["until"] else end
            lit[begin : grid.index(until)] = False
            if order["action"] == "set-timer":
                lit |= _as_before(bench.id, history, datetime.fromisoformat(order["time"]), until, grid)
        elif told.done and late is not None and late > begin and order["action"] != "leave-on":
            lit[begin:late] = lit[begin:late] & (not turns_on) | (order["action"] == "lamps-off")
    return lit


def _as_before(bench: str, history: History, begin: datetime, until: datetime, grid: Grid) -> Mask:
    """A timer that nobody set goes on with the times of the day before; dark where they are not known."""
    lit = np.zeros(len(grid), dtype=bool)
    for on, off in history.set_before(bench, begin - ONE_DAY, begin) or ():
        lit[grid.index(on + ONE_DAY) : grid.index(min(off + ONE_DAY, until))] = True
    return lit


def _bench(
    site: Site, bench: Bench, told: Json, plan: Json, came: Came, said: Mapping[int, Done]
) -> BenchScore:
    day = came.grid.dates[0]
    bare = float(daily_light_integral(came.light[bench.id].open, came.grid)[0])
    by_hand = [o for o in plan["orders"] if o["bench"] == bench.id and o["action"] in HANDS]
    drawn = not by_hand or any(said[o["number"]].done if o["number"] in said else True for o in by_hand)
    passed = told["dli"]["sun"] / told["dli"]["sun_open"] if drawn and told["dli"]["sun_open"] else 1.0
    sun = bare * passed
    hours = float(came.lit[bench.id].sum()) / STEPS_PER_H * _burnt_share(told["lamps"])
    lamps = hours * 3600 * (bench.lamps.ppfd_now_umol_m2_s if bench.lamps else 0.0) / 1e6
    minimum = told["dli"]["minimum"]
    need = bench_needs(bench, day, site.own_needs).needs
    before = told["account"]["before"]
    return BenchScore(
        id=bench.id,
        sun_told=told["dli"]["sun"],
        sun_came=sun,
        lamp_h=hours,
        lamp_mol=lamps,
        minimum=minimum,
        target=told["dli"]["target"],
        reached=None if minimum is None else sun + lamps >= minimum - SLIGHT_MOL,
        account=None if before is None else account_after(before, sun + lamps, need),
    )


def _burnt_share(lamps: Json) -> float:
    """Of the time that lamps are on; less than all where they are lit by turns at night."""
    on = (datetime.fromisoformat(off) - datetime.fromisoformat(at) for at, off in lamps["intervals"])
    set_h = sum(span.total_seconds() for span in on) / 3600
    return min(lamps["hours"] / set_h, 1.0) if set_h > 0 else 1.0


def _orders(
    site: Site,
    plan: Json,
    came: Came,
    benches: Mapping[str, BenchScore],
    said: Mapping[int, Done],
    lights: Mapping[str, HouseLight],
) -> list[OrderScore]:
    found = []
    for order in plan["orders"]:
        action, bench = order["action"], benches.get(order["bench"] or "")
        right, why = None, "not-judged"
        if action in (*LAMPS_ON, *LAMPS_OFF) and bench is not None:
            right, why = _lamps_right(order, bench, _told(plan, bench.id))
        elif action in HANDS and bench is not None:
            right, why = _hands_right(site, order, bench.id, came, lights)
        elif action == "vent" and order["house"] in lights:
            shut = _house_c(site, order["house"], came, lights, vented=False)
            right = float(shut.max()) > site.house(order["house"]).vent_at_c + MUCH_K - NEAR_C
            why = "limit-passed" if right else "stayed-under"
        told = said.get(order["number"])
        found.append(
            OrderScore(
                number=order["number"],
                bench=order["bench"],
                house=order["house"],
                action=action,
                what=order["what"],
                done=None if told is None else told.done,
                right=right,
                why=why,
            )
        )
    return found


def _lamps_right(order: Json, bench: BenchScore, told: Json) -> tuple[bool | None, str]:
    """Lamps were right if the sun alone would have left the bench short, and did not leave it under its
    minimum where the sheet had meant to reach it; dark ones if the day reached its minimum."""
    if bench.target is None or bench.minimum is None or order["why"]["rule"] not in (*BY_LIGHT, *FOR_LATER):
        return None, "not-judged"
    meant = told["dli"]["total"] >= bench.minimum - SLIGHT_MOL
    if order["action"] in LAMPS_OFF:
        if order["action"] == "lamps-off":
            return None, "not-judged"
        return (True, "enough-without") if bench.reached or not meant else (False, "under-minimum")
    if meant and not bench.reached:
        return False, "under-minimum"
    if bench.sun_came + (told["account"]["before"] or 0.0) < bench.target - SLIGHT_MOL:
        return True, "needed"
    if order["why"]["rule"] in FOR_LATER:
        return None, "not-judged"
    return False, "sun-alone-enough"


def _hands_right(
    site: Site, order: Json, bench_id: str, came: Came, lights: Mapping[str, HouseLight]
) -> tuple[bool | None, str]:
    bench = next(b for b in site.benches if b.id == bench_id)
    if order["why"]["rule"] not in BY_LIMIT:
        return None, "not-judged"
    limits = bench_limits(bench, came.grid.dates[0], site.own_needs)
    heat = bench_ready(bench, came.light[bench_id], came.sky, grid=came.grid, steps=len(came.grid))
    if limits is None or heat is None:
        return None, "not-judged"
    if order["why"]["rule"] == "ppfd-limit":
        values, limit, borne = came.light[bench_id].open, limits.ppfd_umol_m2_s, limits.ppfd_minutes
        near = None if limit is None else limit * NEAR_SHARE
    else:
        air = _house_c(site, bench.house, came, lights, vented=True)
        values = heat.felt_c(air, lit=came.lit[bench_id])
        near, borne = _heat_limit(limits, order)
    if near is None:
        return None, "not-judged"
    minutes = int((values > near).sum()) * STEP_MIN
    passed = minutes > min(borne or 0, 60)
    return passed, "limit-passed" if passed else "stayed-under"


def _heat_limit(limits: Limits, order: Json) -> tuple[float | None, int | None]:
    limit = limits.temperature_c if order["why"]["limit"] is None else order["why"]["limit"]
    upper = limit is not None and limit == limits.temperature_upper_c
    borne = limits.temperature_upper_minutes if upper else limits.temperature_minutes
    return None if limit is None else limit - NEAR_C, borne


def _house_c(
    site: Site, house_id: str, came: Came, lights: Mapping[str, HouseLight], *, vented: bool
) -> Array:
    ready = house_ready(
        site,
        came.sky,
        house=site.house(house_id),
        house_light=lights[house_id],
        light=came.light,
        lit=came.lit,
        grid=came.grid,
        steps=len(came.grid),
    )
    return ready.air_c(vents=AUTOMATIC) if vented else ready.air_c()


def _air(plan: Json, temperatures: Sequence[TemperatureReading]) -> tuple[AirScore, ...]:
    read = {t.house: t.max_c for t in temperatures if t.max_c is not None}
    return tuple(
        AirScore(h["id"], h["temperature_c"]["max"], read[h["id"]]) for h in plan["houses"] if h["id"] in read
    )
