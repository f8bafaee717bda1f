"""A year of a site, as it is and as it might be, told: the steps of `lightplan houses` in order."""

from __future__ import annotations

from calendar import isleap
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date

from lightplan.clock import Grid, grid_over
from lightplan.house.kept import kept_house_light
from lightplan.house.transmission import HouseLight
from lightplan.house_year import house_months
from lightplan.learn.score import SeasonRecord
from lightplan.report.houses_json import houses_json, without_gutters
from lightplan.report.json_form import Json
from lightplan.report.year_json import with_year
from lightplan.site.models import Site, Stage
from lightplan.weather.year import year_weather
from lightplan.year.answer import HousesAnswer, houses_answer
from lightplan.year.beside import what_if
from lightplan.year.site_year import SiteYear, site_year


@dataclass(frozen=True)
class Told:
    """document : the JSON of the answer."""

    answer: HousesAnswer
    document: Json


def tell_houses(
    site: Site,
    year: int,
    *,
    crops: Iterable[tuple[str, Stage | None]] = (),
    then: Site | None = None,
    changes: tuple[str, ...] = (),
    record: SeasonRecord | None = None,
    progress: Callable[[str], None] = lambda words: None,
) -> Told:
    """crops : asked beside those on the books. then : the site with its `changes`, told beside today."""
    lights = _lights(site, progress)
    today = _year(site, year, lights, progress)
    beside = None
    if then is not None:
        progress("the same with the change …")
        beside = what_if(changes, today, _year(then, year, _lights(then, progress), progress))
    answer = houses_answer(today, lights, asked=crops, what_if=beside, record=record)
    cache = site.folder / "cache"
    document = houses_json(
        site,
        year,
        bare={h.id: kept_house_light(without_gutters(h), cache) for h in site.houses},
        months={
            one.house.id: house_months(
                one.light.inside_mol, one.light.outdoor_mol, grid=today.grid, sample=today.sample
            )
            for one in today.houses
        },
        weather=today.weather,
    )
    return Told(answer, with_year(document, answer))


def _lights(site: Site, progress: Callable[[str], None]) -> dict[str, HouseLight]:
    found = {}
    for house in site.houses:
        progress(f"light in {house.name} …")
        found[house.id] = kept_house_light(house, site.folder / "cache")
    return found


def _year(site: Site, year: int, lights: dict[str, HouseLight], progress: Callable[[str], None]) -> SiteYear:
    grid = whole_year(year, site)
    progress("the year's weather …")
    return site_year(site, year_weather(site, grid), grid=grid, lights=lights, progress=progress)


def whole_year(year: int, site: Site) -> Grid:
    return grid_over(date(year, 1, 1), 366 if isleap(year) else 365, site.timezone)
