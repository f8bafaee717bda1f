"""Choose where the weather comes from, fill what it lacks from the next in the chain, and say so.

The chain: the service's live answer → its last good answer → the services in `then` → the typical year → a
dimmed clear sky. Something always answers.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from functools import partial
from typing import TYPE_CHECKING

import pandas as pd

from lightplan.clock import Grid
from lightplan.site.models import Site, SourceName
from lightplan.weather.answer import Asked
from lightplan.weather.bands import SiteErrors
from lightplan.weather.clear_sky import clear_sky_weather
from lightplan.weather.deadline import USUAL_PATIENCE, Deadline, Patience
from lightplan.weather.doubt import doubted
from lightplan.weather.file import weather_from_file
from lightplan.weather.gaps import filled, lacking, name_of
from lightplan.weather.table import Kind, SourceFault, Weather, WeatherError, check_table
from lightplan.weather.typical import TypicalYear, own_typical_year, typical_weather, usual_clearness
from lightplan.weather.typical_fetch import credit

if TYPE_CHECKING:
    from lightplan.weather.shared import SharedAnswers

HOUR = pd.Timedelta(hours=1)
SERVICES = (SourceName.OPEN_METEO, SourceName.NWS, SourceName.MET_NORWAY)


@dataclass(frozen=True)
class Step:
    """One place to look. get : raises SourceFault. live : it asks the network, so only if it must.

    again : another look for what the step before was to give; that it fails too need not be said.
    """

    name: SourceName
    get: Callable[[], Weather]
    live: bool = False
    again: bool = False


def weather_for(
    site: Site,
    grid: Grid,
    *,
    needed_until: datetime,
    now: datetime,
    asked_at: datetime | None = None,
    offline: bool = False,
    patience: Patience = USUAL_PATIENCE,
    learned: Mapping[SourceName, SiteErrors] | None = None,
    shared: SharedAnswers | None = None,
) -> Weather:
    """Weather over the whole grid on a fixed step of an hour or finer.

    needed_until : end of the time that orders rest on; only gaps before it count as a fallback.
    now : the sheet's clock; answers are judged by it. asked_at : the moment of asking, where it is another.
    offline : no service is asked.
    patience : how long services may take. learned : what the site's scores have taught, by source.
    shared : answers that other sites of the same grid cell have got.
    Raises WeatherError when a configured file is wrong or covers none of the needed time.
    """
    start = pd.Timestamp(grid.times[0]).floor("h")
    end = pd.Timestamp(grid.moment(len(grid)).astimezone(UTC)).ceil("h")
    asked = Asked(
        pd.date_range(start, end, freq=HOUR, inclusive="left"), grid.dates, needed_until, now, asked_at
    )
    typical, trouble = _typical_year(site)
    found: Weather | None = None
    faults: list[str] = []
    for step in _steps(site, asked, typical, offline, patience, learned or {}, shared):
        if found is not None:
            if not lacking(found.table).any(axis=None):
                break
            if step.live and not lacking(found.table, pd.Timestamp(needed_until)).any(axis=None):
                continue
        try:
            answer = step.get()
        except SourceFault as fault:
            if not step.again:
                faults.append(f"{step.name.value} {fault}")
            continue
        except WeatherError as wrong:
            if step.name is site.weather.source and step.name not in SERVICES:
                raise
            trouble += (str(wrong),)
            continue
        except Exception as error:
            if step.name in (site.weather.source, SourceName.CLEAR_SKY) and step.name not in SERVICES:
                raise
            # a sheet is worth more than one source: what went wrong in it is ours, and is said
            faults.append(f"{step.name.value} could not be read, by a fault of lightplan ({error!r:.120})")
            continue
        found = _first(answer, faults) if found is None else filled(found, answer, asked, site)
    assert found is not None  # the clear sky always answers
    if found.fallback_reason is not None and found.kind is Kind.FORECAST:
        found = doubted(found, site)
    if trouble:
        found = replace(found, notes=(*found.notes, *trouble))
    if typical is not None and found.usual_dli_mol_m2_d is None:
        found = replace(
            found,
            usual_dli_mol_m2_d=typical.usual_dli(grid.dates[0]),
            usual_clearness=usual_clearness(site, typical, grid.dates[:1])[0],
        )
    check_table(found.table)
    return found


def _typical_year(site: Site) -> tuple[TypicalYear | None, tuple[str, ...]]:
    """The site's typical year; where it is only to stand by, one that can't be read costs no sheet."""
    try:
        return own_typical_year(site), ()
    except WeatherError as wrong:
        if site.weather.source is SourceName.TYPICAL_YEAR:
            raise
        return None, (str(wrong),)


def _first(answer: Weather, faults: list[str]) -> Weather:
    """The first answer of the chain, with what failed before it."""
    if not faults:
        return answer
    then = answer.fallback_reason or f"{name_of(answer)} stands in"
    return replace(answer, fallback_reason="; ".join([*faults, then]))


def _steps(
    site: Site,
    asked: Asked,
    typical: TypicalYear | None,
    offline: bool,
    patience: Patience,
    learned: Mapping[SourceName, SiteErrors],
    shared: SharedAnswers | None,
) -> Iterator[Step]:
    """Where to look, in order; the last always answers."""
    choice = site.weather
    names = (choice.source, *choice.then)
    services = [name for name in names if name in SERVICES]
    stands_in = choice.source in SERVICES
    if services:
        from lightplan.weather.services import Asking  # brings the HTTP libraries

        asking = Asking(site, asked, Deadline(patience.whole_s), patience, learned, offline, shared)
    for name in (*names, SourceName.TYPICAL_YEAR, SourceName.CLEAR_SKY):
        if name in SERVICES:
            if not offline:
                left = len(services) - services.index(name)
                yield Step(name, partial(asking.live, name, left), live=True)
            yield Step(name, partial(asking.last_good, name), again=not offline)
        elif name is SourceName.FILE:
            yield Step(name, partial(weather_from_file, site, asked))
        elif name is SourceName.CLEAR_SKY:
            yield Step(name, partial(clear_sky_weather, site, asked.times, asked.dates))
        elif typical is not None:
            look = partial(_typical_weather, site, typical, asked, stands_in)
            yield Step(name, look)
        elif choice.source is SourceName.TYPICAL_YEAR:
            raise WeatherError(
                'site.toml: weather: source is "typical-year" but no file is named; give file = "...".'
            )


def _typical_weather(site: Site, year: TypicalYear, asked: Asked, stands_in: bool) -> Weather:
    found = typical_weather(site, year, asked.times, asked.dates, stands_in=stands_in)
    made_from = credit(site.folder, year.name)
    return found if made_from is None else replace(found, attribution=made_from)
