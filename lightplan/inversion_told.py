"""The day turned round, told: the steps of `lightplan invert` in order."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

from lightplan.advice.inversion import Inversion
from lightplan.clock import Grid, grid_over
from lightplan.house.kept import kept_house_light
from lightplan.inversion_plan import Question, ahead, invert, is_known, question, unknown_weather
from lightplan.report.inversion_json import inversion_json
from lightplan.report.json_form import Json
from lightplan.site.models import Site
from lightplan.weather.table import Weather
from lightplan.weather.year import year_weather

# Past the dates asked about, for a cooler sowing date; fewer where a weather file reaches no farther
LOOKED_AHEAD_DAYS = (240, 45, 20)


@dataclass(frozen=True)
class Told:
    """document : the JSON of the plan."""

    plan: Inversion
    weather: Weather
    document: Json


def tell_inversion(
    site: Site,
    bench: str,
    crop: str | None,
    *,
    first: date,
    last: date,
    progress: Callable[[str], None] = lambda words: None,
) -> Told:
    """Raises InputError with one sentence where the question can't be answered."""
    asked = question(site, bench, crop, first, last)
    progress("the weather of those weeks …")
    grid, weather = _weather(site, asked)
    lights = {}
    benched = {one.house for one in site.benches}
    for house in (h for h in site.houses if h.id in benched):
        progress(f"light in {house.name} …")
        lights[house.id] = kept_house_light(house, site.folder / "cache")
    progress("heat by day and by night …")
    plan = invert(site, asked, weather, grid=grid, lights=lights)
    return Told(plan, weather, inversion_json(plan, site))


def _weather(site: Site, asked: Question) -> tuple[Grid, Weather]:
    """Weather as far past the dates as it is held, else as it is patched. Raises InputError without any."""
    patched = None
    for days in LOOKED_AHEAD_DAYS:
        grid = grid_over(*ahead(asked.first, asked.last, days), site.timezone)
        weather = year_weather(site, grid)
        if weather.fallback_reason is None:
            return grid, weather
        if is_known(weather):
            patched = grid, weather
    if patched is None:
        raise unknown_weather(site, asked)
    return patched
