"""The whole year of a site as a recipe: sky, light, needs, lamps, heat, floors."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lightplan.clock import Grid
from lightplan.crops.needs import Needs, bench_needs
from lightplan.house.transmission import HouseLight
from lightplan.light import BenchLight
from lightplan.site.models import Bench, House, Site
from lightplan.sky import Sky, make_sky
from lightplan.weather.table import Kind, Weather
from lightplan.year.floor import FloorMonth, floor_months
from lightplan.year.heat import (
    BenchHeatYear,
    HouseHeatYear,
    bench_heat_year,
    day_limits,
    house_heat_year,
)
from lightplan.year.lamps import LampYear, SiteLamps, site_lamps
from lightplan.year.light import (
    HouseSun,
    LightYear,
    bench_light_year,
    benches_sun,
    house_light_year,
    house_sun,
)
from lightplan.year.stretches import Stretch, months_of, weeks_of

Array = NDArray[np.float64]


@dataclass(frozen=True)
class HouseYear:
    """calibrated : whether meter readings have corrected its light."""

    house: House
    light: LightYear
    floor: tuple[FloorMonth, ...]
    heat: HouseHeatYear

    @property
    def calibrated(self) -> bool:
        return self.house.measured is not None


@dataclass(frozen=True)
class BenchYear:
    """sun : its light step by step. needs : (days,). lamps : None without lamps."""

    bench: Bench
    light: LightYear
    sun: BenchLight
    needs: tuple[Needs | None, ...]
    lamps: LampYear | None
    heat: BenchHeatYear

    @property
    def total_mol(self) -> Array:
        """(days,) sun and lamps."""
        return self.light.inside_mol if self.lamps is None else self.light.inside_mol + self.lamps.mol


@dataclass(frozen=True)
class SiteYear:
    """sample : (members, days) likely factors on days that do not differ by cloud (a dimmed clear sky)."""

    site: Site
    grid: Grid
    weather: Weather
    sky: Sky
    months: tuple[Stretch, ...]
    weeks: tuple[Stretch, ...]
    houses: tuple[HouseYear, ...]
    benches: tuple[BenchYear, ...]
    lamps: SiteLamps
    sample: Array | None

    def house(self, house_id: str) -> HouseYear:
        return next(one for one in self.houses if one.house.id == house_id)

    @property
    def heating_kwh(self) -> float:
        return float(sum(one.heat.heating_kwh.sum() for one in self.houses))


def site_year(
    site: Site,
    weather: Weather,
    *,
    grid: Grid,
    lights: Mapping[str, HouseLight],
    progress: Callable[[str], None] = lambda words: None,
) -> SiteYear:
    """A site's year of light, lamps and heat. lights : of every house, by id."""
    sky = make_sky(site, weather.table, grid)
    months, weeks = months_of(grid.dates), weeks_of(grid.dates)
    progress("light …")
    suns = {house.id: house_sun(house, lights[house.id], sky, grid) for house in site.houses}
    houses = {house.id: house_light_year(suns[house.id], sky, grid) for house in site.houses}
    light = benches_sun(site, suns, sky, grid)
    needs = {
        bench.id: tuple(bench_needs(bench, day, site.own_needs).needs for day in grid.dates)
        for bench in site.benches
    }
    progress("lamps …")
    lamps = site_lamps(site, weather, sky, grid=grid, light=light, needs=needs)
    progress("heat …")
    lit = {bench_id: found.lit for bench_id, found in lamps.benches.items()}
    heat = {
        house.id: house_heat_year(site, house, suns[house.id], sky, grid=grid, lit=lit)
        for house in site.houses
    }
    return SiteYear(
        site=site,
        grid=grid,
        weather=weather,
        sky=sky,
        months=months,
        weeks=weeks,
        houses=tuple(
            HouseYear(house, houses[house.id], _floor(suns[house.id], sky, grid, months), heat[house.id])
            for house in site.houses
        ),
        benches=tuple(
            BenchYear(
                bench=bench,
                light=bench_light_year(light[bench.id], houses[bench.house].outdoor_mol, grid),
                sun=light[bench.id],
                needs=needs[bench.id],
                lamps=lamps.benches.get(bench.id),
                heat=bench_heat_year(
                    site,
                    bench,
                    light[bench.id],
                    sky,
                    grid=grid,
                    air_c=heat[bench.house].air_c,
                    lit=lit.get(bench.id),
                    limits=day_limits(site, bench, grid),
                ),
            )
            for bench in site.benches
        ),
        lamps=lamps,
        sample=weather.spread.sample if weather.kind is Kind.CLEAR_SKY else None,
    )


def _floor(sun: HouseSun, sky: Sky, grid: Grid, months: tuple[Stretch, ...]) -> tuple[FloorMonth, ...]:
    return floor_months(sun, sky, grid, months)
