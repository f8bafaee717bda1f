"""What is done about heat and light in each house and at each bench, and how warm it is then.

Light and heat as they come, vents, then what to open or lay on, bench by bench: the left half of the
morning's recipe. Lamps are planned on what this leaves of the sun.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lightplan.clock import STEP_MIN, Grid, Window
from lightplan.cover_tasks import Standing, hands_at, stand
from lightplan.crops.limits import Limits
from lightplan.crops.needs import BenchNeeds
from lightplan.heat.house_air import AUTOMATIC
from lightplan.heat.runs import BenchHeat, HouseHeat
from lightplan.heat_day import (
    MUCH_K,
    BenchWarmth,
    HouseWarmth,
    bench_ready,
    bench_warmth,
    house_ready,
    house_warmth,
    steps_wanted,
)
from lightplan.house.transmission import HouseLight
from lightplan.light import BenchLight
from lightplan.site.models import House, Site
from lightplan.sky import Sky
from lightplan.weather.table import Spread

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]


@dataclass(frozen=True)
class VentTime:
    """Vents to be opened and shut by hand. on, off : steps. shut_c : what the air would reach otherwise."""

    on: int
    off: int
    shut_c: float


@dataclass(frozen=True)
class Remedies:
    """By house: heat ready to run, vents by hand. By bench: heat, how it stands."""

    houses: Mapping[str, HouseHeat]
    vents: Mapping[str, VentTime]
    heat: Mapping[str, BenchHeat]
    standing: Mapping[str, Standing]


def remedies_for(
    site: Site,
    sky: Sky,
    *,
    grid: Grid,
    window: Window | None,
    lights: Mapping[str, HouseLight],
    light: Mapping[str, BenchLight],
    lit: Mapping[str, Mask],
    needs: Mapping[str, BenchNeeds],
    spread: Spread,
) -> Remedies:
    """Vents and covers of the sheet's day. lit : what lamps are already set to do, by bench."""
    steps, hands = steps_wanted(grid, window), hands_at(site, grid, window)
    houses, vents = {}, {}
    for house in (h for h in site.houses if h.id in lights):
        ready = house_ready(
            site, sky, house=house, house_light=lights[house.id], light=light, lit=lit, grid=grid, steps=steps
        )
        opened = _vents_by_hand(house, ready, hands[:steps], grid)
        if opened is not None:
            vents[house.id] = opened
            between = np.zeros(steps, dtype=bool)
            between[opened.on : opened.off] = True
            ready = replace(ready, vents=replace(AUTOMATIC, most=between.astype(float)))
        houses[house.id] = ready
    heat, standing = {}, {}
    for bench in (b for b in site.benches if b.house in lights):
        found = bench_ready(bench, light[bench.id], sky, grid=grid, steps=steps)
        if found is not None:
            heat[bench.id] = found
        standing[bench.id] = stand(
            site,
            bench,
            light[bench.id],
            grid=grid,
            hands=hands,
            needs=needs[bench.id],
            spread=spread,
            house=houses[bench.house],
            heat=found,
            lit=lit.get(bench.id, np.zeros(len(grid), dtype=bool)),
        )
    return Remedies(houses, vents, heat, standing)


def _vents_by_hand(house: House, ready: HouseHeat, hands: Mask, grid: Grid) -> VentTime | None:
    """From when air passes the venting temperature until vented air no longer does, while hands are there."""
    at_hand = np.flatnonzero(hands & (grid.day == 0)[: len(hands)])
    if house.vents_by == "automatic" or house.venting == "none" or not len(at_hand):
        return None
    shut, vented = ready.air_c(), ready.air_c(vents=AUTOMATIC)
    today = (grid.day == 0)[: len(shut)]
    hot = np.flatnonzero((vented > house.vent_at_c) & today)
    peak = float(shut[today].max())
    if not len(hot) or peak <= house.vent_at_c + MUCH_K:
        return None
    on = at_hand[at_hand >= hot[0]]
    off = at_hand[at_hand > hot[-1]]
    first = int(on[0]) if len(on) else int(at_hand[-1])
    last = int(off[0]) if len(off) else int(at_hand[-1])
    return VentTime(first, last, peak) if last > first else None


def warmth_with(
    site: Site, remedies: Remedies, lit: Mapping[str, Mask], floor_lamps_w_m2: Mapping[str, Array]
) -> tuple[dict[str, HouseWarmth], dict[str, BenchWarmth]]:
    """Air of each house and temperature at each bench, everything as ordered, with lamps lit so."""
    houses = {
        house_id: replace(ready, dry_w_m2=floor_lamps_w_m2[house_id])
        for house_id, ready in remedies.houses.items()
    }
    warm = {house_id: house_warmth(ready) for house_id, ready in houses.items()}
    benches = {}
    for bench in (b for b in site.benches if b.id in remedies.heat):
        benches[bench.id] = bench_warmth(
            remedies.heat[bench.id],
            warm[bench.house].air_c,
            lit=lit.get(bench.id),
            states=remedies.standing[bench.id].states,
        )
    return warm, benches


def lamp_heat_w_m2(site: Site, remedies: Remedies, lit: Mapping[str, Mask]) -> dict[str, Array]:
    """Heat of all lamps of each house per m² of its floor, (steps,)."""
    found = {}
    for house_id, ready in remedies.houses.items():
        total = np.zeros(len(ready.outdoor_c))
        for bench in (b for b in site.benches if b.house == house_id and b.lamps is not None and b.id in lit):
            assert bench.lamps is not None
            power = bench.lamps.power_kw * 1000 * bench.lamps.working / ready.body.floor_m2
            total += lit[bench.id][: len(total)] * power
        found[house_id] = total
    return found


def lamps_too_hot(
    limits: Limits | None, felt: BenchWarmth | None, dark: Array, lit: Mask, *, seed: bool
) -> Mask:
    """Lit steps in which the lamps take a bench over its temperature limit for longer than is borne.

    dark : temperature of the same day without its lamps (steps,). seed : they light germinating seed, which
    gives way to the second step alone: a night a little too warm costs it less than a night without light.
    """
    off = np.zeros(len(lit), dtype=bool)
    if limits is None or felt is None:
        return off
    limit, minutes = limits.temperature_c, limits.temperature_minutes
    if seed:
        limit, minutes = limits.temperature_upper_c, limits.temperature_upper_minutes
    if limit is None:
        return off
    over = felt.temperature_c > limit
    if over.sum() * STEP_MIN <= (minutes or 0):
        return off
    by_lamps = over & (dark <= limit)
    off[: len(by_lamps)] = by_lamps & lit[: len(by_lamps)]
    return off
