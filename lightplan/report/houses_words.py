"""Words of the year's pages: the one sentence, dates of the season, compass names."""

from __future__ import annotations

from datetime import date

import numpy as np

from lightplan.crops.day_length import DayKind
from lightplan.report.names import cover_name, crop_name
from lightplan.report.units import MONTHS, capital, figure, listing, short
from lightplan.site.models import House
from lightplan.year.season import Crossing, Need, TurnedSeason
from lightplan.year.shade import FixedShade
from lightplan.year.site_year import HouseYear, SiteYear
from lightplan.year.stretches import means

WINDS = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")


def wind(azimuth_deg: float) -> str:
    return WINDS[round(azimuth_deg / 45) % 8]


def sides(house: House) -> str:
    """What stands on the plan's edges."""
    ridge = house.ridge_azimuth_deg
    return (
        f"Top edge: {wind(ridge - 90)} side. Bottom: {wind(ridge + 90)}. "
        f"Left: {wind(ridge + 180)} end. Right: {wind(ridge)} end."
    )


def short_date(day: date) -> str:
    """`14 Sep`."""
    return f"{day.day} {MONTHS[day.month - 1][:3]}"


def need_words(need: Need) -> str:
    """First and last day of a season, and how many of its weeks count."""
    if need.first is None or need.last is None:
        return "not needed"
    if need.all_year:
        return "every week"
    weeks = int(need.weeks.sum())
    return f"{short_date(need.first)} to {short_date(need.last)}, {weeks} week{'s' if weeks > 1 else ''}"


def crossing_words(crossing: Crossing) -> str:
    """When the day is to be made longer by lamps or shorter by a dark cover, and to what."""
    long = crossing.kind is DayKind.LONG
    by, bound = ("lamps", "at least") if long else ("a dark cover", "at most")
    wanted = f"{bound} {short(crossing.critical_h)} h"
    if crossing.first is None or crossing.last is None:
        return f"{wanted}: the natural day gives it all year"
    natural = f"natural day {short(crossing.shortest_h)} to {short(crossing.longest_h)} h"
    if bool(crossing.needed.all()):
        return f"{wanted}: {by} all year; {natural}"
    return f"{wanted}: {by} {short_date(crossing.first)} to {short_date(crossing.last)}; {natural}"


def turned_words(turned: TurnedSeason) -> str:
    """When a seed bench wants its day turned round, for what, and what it lacks for that."""
    words = f"{need_words(turned.need)}: {listing([crop_name(crop) for crop in turned.crops])}"
    lacks = [
        *(["lamps"] if turned.lacks_lamps else []),
        *(["a dark cover"] if turned.lacks_dark else []),
    ]
    return f"{words}. The bench lacks {listing(lacks)}" if lacks else words


def shade_words(shade: FixedShade) -> str:
    if shade.cover is None or shade.first is None or shade.last is None:
        return (
            f"none: {shade.passed_days} days pass a limit, but a fixed shade would take light that is needed "
            "or spare too few of them; cover by the day"
        )
    return (
        f"{cover_name(shade.cover.name)}, {short_date(shade.first)} to {short_date(shade.last)}: days over a "
        f"limit {shade.passed_days} become {shade.left}, light {figure(-shade.lost_mol, 1)} mol a day"
    )


def sentence(year: SiteYear) -> str:
    """What the year comes to, in a line or two."""
    month = _darkest_month(year)
    light = [(_in_month(one, year, month), one.house.name) for one in year.houses]
    (most, best), (least, worst) = max(light), min(light)
    name = MONTHS[year.months[month].first.month - 1]
    if len(light) == 1:
        found = f"{capital(best)} has {short(most)} mol a day in {name}, its darkest month"
    elif short(most) == short(least):
        found = f"In {name}, the darkest month, all houses have {short(most)} mol a day"
    else:
        found = (
            f"In {name}, the darkest month, {best} is brightest with {short(most)} mol a day, "
            f"{worst} darkest with {short(least)}"
        )
    power = year.site.power
    if not year.lamps.benches:
        return f"{found}."
    cost = (
        f" and {figure(year.lamps.cost)} {power.currency}"
        if power is not None and year.lamps.cost is not None
        else ""
    )
    return f"{found}. Lamps need at least {figure(year.lamps.kwh)} kWh{cost} in the year."


def _darkest_month(year: SiteYear) -> int:
    return int(np.argmin(means(year.houses[0].light.outdoor_mol, year.months)))


def _in_month(one: HouseYear, year: SiteYear, month: int) -> float:
    return float(means(one.light.inside_mol, year.months)[month])
