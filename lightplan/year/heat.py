"""A year of heat: air of each house, what a bench's plants feel, days that pass a limit, heating needed."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lightplan.clock import STEP_MIN, STEPS_PER_H, Grid
from lightplan.crops.limits import Limits, bench_limits, light_hurts_by_itself
from lightplan.crops.needs import batches_on
from lightplan.heat.bench_body import IN_TRAYS, bench_body
from lightplan.heat.house_air import AUTOMATIC, conductance
from lightplan.heat.house_body import house_body
from lightplan.heat.parameters import UNCALIBRATED, heat_parameters
from lightplan.heat.runs import BenchHeat, HouseHeat
from lightplan.heat_day import FULL_FLOOR_SHARE, joules_per_umol, where_felt
from lightplan.light import BenchLight
from lightplan.site.models import Bench, House, Site, Stage
from lightplan.sky import Sky
from lightplan.year.light import HouseSun

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

HELD_K = 0.05  # air this near its heating set point is being heated


@dataclass(frozen=True)
class HouseHeatYear:
    """air_c : (steps,) with vents opened as needed, those by hand too: the first remedy there is.

    heating_kwh : (days,) that the house took from its heating to hold `heat_to_c`.
    """

    ready: HouseHeat
    air_c: Array
    heating_kwh: Array


@dataclass(frozen=True)
class BenchHeatYear:
    """Arrays (days,). peak_c : the day's highest at `where` (medium of germinating seed, leaf in a tent,
    else air), vents opened as needed, tent closed, nothing drawn. too_hot, too_bright : a limit is passed
    for longer than is borne: the bench needs more than its house's vents.
    """

    where: tuple[str, ...]
    peak_c: Array
    too_hot: Mask
    too_bright: Mask

    @property
    def remedy(self) -> Mask:
        return self.too_hot | self.too_bright


def house_heat_year(
    site: Site, house: House, sun: HouseSun, sky: Sky, *, grid: Grid, lit: dict[str, Array]
) -> HouseHeatYear:
    """lit : share of each step that a bench's lamps burn, by bench; all of them warm the house."""
    body = house_body(house)
    benches = [bench for bench in site.benches if bench.house == house.id]
    lamps = np.zeros(len(grid))
    for bench in benches:
        if bench.lamps is not None and bench.id in lit:
            lamps += lit[bench.id] * bench.lamps.power_kw * 1000 * bench.lamps.working / body.floor_m2
    trays, full = UNCALIBRATED.evaporated_trays, UNCALIBRATED.evaporated_full_floor
    grown = _grown_m2(benches, grid) >= FULL_FLOOR_SHARE * body.floor_m2
    # the house model takes one share that evaporates: days of a full floor get less sun instead
    warm = np.where(grown, (1 - full) / (1 - trays), 1.0)[grid.day]
    ready = HouseHeat(
        body=body,
        outdoor_c=sky.temp_air_c,
        sun_w_m2=sun.sun_w_m2(sky) * warm,
        dry_w_m2=lamps,
        evaporated=trays,
        vents=AUTOMATIC,
        parameters=heat_parameters(house),
    )
    air = ready.air_c()
    return HouseHeatYear(ready, air, _heating_kwh(ready, air, grid))


def _grown_m2(benches: list[Bench], grid: Grid) -> Array:
    """(days,) area of benches with plants past the plug stage."""
    total = np.zeros(len(grid.dates))
    for bench in benches:
        grown = [any(batch.stage not in IN_TRAYS for batch in batches_on(bench, day)) for day in grid.dates]
        total += bench.area_m2 * np.array(grown, dtype=float)
    return total


def _heating_kwh(ready: HouseHeat, air_c: Array, grid: Grid) -> Array:
    """Heat loss at the set point that neither sun nor lamps cover, while the air is held there."""
    shut, _ = conductance(ready.body, ready.parameters)
    gain = (1 - ready.evaporated) * ready.parameters.sun * ready.sun_w_m2 + ready.dry_w_m2
    wanted = np.maximum(shut * (ready.body.heat_to_c - ready.outdoor_c) - gain, 0.0)
    if ready.body.can_heat_w_m2 is not None:
        wanted = np.minimum(wanted, ready.body.can_heat_w_m2)
    held = air_c <= ready.body.heat_to_c + HELD_K
    w_m2 = np.where(held, wanted, 0.0)
    by_day = np.bincount(grid.day, weights=w_m2, minlength=len(grid.dates))
    return np.asarray(by_day * ready.body.floor_m2 / STEPS_PER_H / 1000)


def day_limits(site: Site, bench: Bench, grid: Grid) -> tuple[Limits | None, ...]:
    return tuple(bench_limits(bench, day, site.own_needs) for day in grid.dates)


def bench_heat_year(
    site: Site,
    bench: Bench,
    light: BenchLight,
    sky: Sky,
    *,
    grid: Grid,
    air_c: Array,
    lit: Array | None,
    limits: tuple[Limits | None, ...],
) -> BenchHeatYear:
    """Heat of a bench over the year. A tented bench without a batch is told as if it held seed."""
    standing = [batches_on(bench, day) for day in grid.dates]
    where = tuple(
        where_felt(bench, batches) if batches else ("air" if bench.tent is None else "medium")
        for batches in standing
    )
    felt = air_c.copy()
    burning = np.zeros(len(grid)) if lit is None else lit
    for kind in set(where) if bench.tent is not None else set(where) - {"air"}:
        here = np.array([one == kind for one in where])[grid.day]
        felt[here] = heat_of(bench, light, sky, where=kind).felt_c(air_c, lit=burning)[here]
    house = site.house(bench.house)
    gate = np.array([not light_hurts_by_itself(bench, day) for day in grid.dates])[grid.day]
    bright = np.where(gate & (air_c <= house.vent_at_c + UNCALIBRATED.vent_band_k), 0.0, light.open)
    return BenchHeatYear(
        where=where,
        peak_c=day_peaks(felt, grid),
        too_hot=_passed(felt, grid, [_steps_of_heat(one) for one in limits]),
        too_bright=_passed(bright, grid, [_step_of_light(one) for one in limits]),
    )


def heat_of(bench: Bench, light: BenchLight, sky: Sky, *, where: str) -> BenchHeat:
    """A bench ready to be run through the year, as what feels the heat there has it."""
    above = light.untented
    with np.errstate(divide="ignore", invalid="ignore"):
        passes = np.where(above > 0, light.open / above, 0.0)
    return BenchHeat(
        where=where,
        body=bench_body(bench, Stage.GERMINATION if where == "medium" else Stage.SEEDLING),
        sun_w_m2=above * joules_per_umol(sky),
        sun_ppfd=above,
        tent_passes=passes,
        lamp_ppfd=bench.lamps.ppfd_now_umol_m2_s if bench.lamps else 0.0,
    )


def day_peaks(values: Array, grid: Grid) -> Array:
    """(days,) highest of each day's steps."""
    edges = np.searchsorted(grid.day, np.arange(len(grid.dates)))
    return np.asarray(np.maximum.reduceat(values, edges))


Steps = tuple[tuple[float, int], ...]  # limit and minutes borne over it


def _steps_of_heat(limits: Limits | None) -> Steps:
    if limits is None:
        return ()
    both = (
        (limits.temperature_c, limits.temperature_minutes),
        (limits.temperature_upper_c, limits.temperature_upper_minutes),
    )
    return tuple((limit, borne or 0) for limit, borne in both if limit is not None)


def _step_of_light(limits: Limits | None) -> Steps:
    if limits is None or limits.ppfd_umol_m2_s is None:
        return ()
    return ((limits.ppfd_umol_m2_s, limits.ppfd_minutes or 0),)


def _passed(values: Array, grid: Grid, steps: list[Steps]) -> Mask:
    """(days,) whether any limit is passed for more minutes than is borne."""
    found = np.zeros(len(steps), dtype=bool)
    for number in range(max((len(one) for one in steps), default=0)):
        limit = np.array([one[number][0] if number < len(one) else np.inf for one in steps])
        borne = np.array([one[number][1] if number < len(one) else 0 for one in steps])
        minutes = np.bincount(grid.day, weights=values > limit[grid.day], minlength=len(steps)) * STEP_MIN
        found |= minutes > borne
    return found


def shaded_house(house: HouseHeatYear, share: float) -> Array:
    """(steps,) air of a house whose glazing lets through a share of the sun."""
    return replace(house.ready, sun_w_m2=house.ready.sun_w_m2 * share).air_c()
