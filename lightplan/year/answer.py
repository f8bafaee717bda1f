"""Everything `houses` tells of a site, put together once: JSON and page both read it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from lightplan.house.transmission import HouseLight
from lightplan.learn.score import SeasonRecord
from lightplan.site.models import Stage
from lightplan.year.beside import WhatIf
from lightplan.year.day_length import crossings_of
from lightplan.year.fit import CropFit, Move, crop_fits, moves
from lightplan.year.season import SeasonDates, season_dates
from lightplan.year.several import YearsLight, years_held, years_light
from lightplan.year.site_year import SiteYear
from lightplan.year.turned import turned_seasons


@dataclass(frozen=True)
class HousesAnswer:
    """years : light of several years, where the weather file holds them. what_if : where one was asked."""

    year: SiteYear
    years: YearsLight | None
    fits: tuple[CropFit, ...]
    moves: tuple[Move, ...]
    dates: SeasonDates
    what_if: WhatIf | None
    record: SeasonRecord | None = None  # how the sheets did so far, where any was scored


def houses_answer(
    year: SiteYear,
    lights: Mapping[str, HouseLight],
    *,
    asked: Iterable[tuple[str, Stage | None]] = (),
    what_if: WhatIf | None = None,
    record: SeasonRecord | None = None,
) -> HousesAnswer:
    """asked : crops beside those on the books, with a stage or for all that are told."""
    asked = tuple(asked)
    fits = crop_fits(year, asked)
    crops = (*(b.crop for bench in year.site.benches for b in bench.batches), *(crop for crop, _ in asked))
    return HousesAnswer(
        year=year,
        years=years_light(year.site, years_held(year.site), year.weeks, lights),
        fits=fits,
        moves=moves(fits, year),
        dates=season_dates(
            year, crossings_of(year.site, year.grid.dates, crops), tuple(turned_seasons(year))
        ),
        what_if=what_if,
        record=record,
    )
