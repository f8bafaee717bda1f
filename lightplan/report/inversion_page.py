"""The day turned round as a page: what is done every day, why, and a calendar to pin up."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from markupsafe import Markup

import lightplan
from lightplan.advice.inversion import Inversion
from lightplan.advice.inversion.schedule import cooling_min
from lightplan.advice.inversion.task import Advice, Alternative, Way, Week
from lightplan.report import inversion_chart as chart
from lightplan.report.cautions import caution_words
from lightplan.report.html import filled
from lightplan.report.inversion_words import (
    FAN_OR_VENTS,
    alternative_words,
    calendar_words,
    conflict_words,
    names_in,
    verdict_words,
)
from lightplan.report.names import cover_name, crop_name
from lightplan.report.replay_page import SUNS
from lightplan.report.units import (
    Units,
    capital,
    day_month,
    dial_time,
    figure,
    hours,
    listing,
    short,
    short_day,
    units_of,
)
from lightplan.site.models import Site
from lightplan.weather.table import Weather

TOLD_BENCHES = 2  # other benches on the page; the JSON has all
DRAWN_WEEKS = 2  # of more, the coolest and the hottest are drawn
CAUTIONS = ("covered-lamps", "lamps-near-film", "wet-electrics", "hot-work")
HOT_LAMPS = "hot-discharge-lamps"
DISCHARGE = ("hps", "metal-halide")


@dataclass(frozen=True)
class Step:
    time: str
    what: str


@dataclass(frozen=True)
class WayCell:
    first: str
    second: str


@dataclass(frozen=True)
class WeekRow:
    week: str
    ways: tuple[WayCell, ...]  # open, shaded, turned round


@dataclass(frozen=True)
class WeekChart:
    title: str
    words: str
    drawing: Markup


@dataclass(frozen=True)
class InversionView:
    title: str
    site: str
    paper: str
    bench: str
    crop: str
    dates: str
    sentence: str
    facts: tuple[str, ...]
    turn_it: bool  # whether that is the advice: else why not and what instead come first
    daily_title: str
    steps: tuple[Step, ...]
    strip: Markup
    hours: tuple[str, ...]
    figures: tuple[str, ...]
    weeks: tuple[WeekRow, ...]
    shade_heading: str
    weeks_note: str
    comes: bool  # whether a germination curve is printed for the crop
    charts: tuple[WeekChart, ...]
    chart_key: str
    calendar_title: str
    calendar_note: str
    calendar: tuple[Step, ...]
    alternatives: tuple[str, ...]
    conflicts: tuple[str, ...]
    cautions: tuple[str, ...]
    footer: str


def inversion_html(plan: Inversion, site: Site, weather: Weather) -> str:
    view = inversion_view(plan, site, weather)
    return filled("invert.html.j2", footer=view.footer, page=view)


def inversion_view(plan: Inversion, site: Site, weather: Weather) -> InversionView:
    units = units_of(site)
    bench, crop = plan.place.bench, capital(crop_name(plan.seed.crop))
    names = names_in(site)
    told = plan.weeks if len(plan.weeks) <= DRAWN_WEEKS else _coolest_and_hottest(plan)
    span = chart.span_of(told, plan.seed.limit_c)
    first, last = plan.asked
    return InversionView(
        title=f"{bench.name} turned round, {site.name}",
        site=site.name,
        paper=site.paper,
        bench=bench.name,
        crop=crop,
        dates=f"{crop}, sown {_dates(first, last)}",
        sentence=verdict_words(plan),
        facts=tuple(_facts(plan, weather, units)),
        turn_it=plan.verdict.advice is Advice.INVERT,
        daily_title=_daily_title(plan),
        steps=tuple(_steps(plan)),
        strip=chart.day_strip(plan.schedule),
        hours=tuple(f"{hour:02d}" for hour in range(0, 24, 3)),
        figures=tuple(_figures(plan, site, units)),
        weeks=tuple(_week(week, units) for week in plan.weeks),
        shade_heading=_shades(plan.weeks),
        weeks_note=(
            "Peak, and days too hot: over the limit for more than two hours. Peaks ±4 K (7 °F) "
            "until a thermometer has been read beside them."
        ),
        comes=any(week.open.comes_up or week.inverted.comes_up for week in plan.weeks),
        charts=tuple(
            WeekChart(
                short_day(week.start),
                f"{units.temperature(span[1])} at the top, {units.degrees(span[0])} at the foot",
                chart.medium_chart(week, plan.seed.limit_c, span),
            )
            for week in told
        ),
        chart_key=(
            "thin: open; dots: under shade; thick: turned round; bands: the week's days; "
            f"dashes: the limit, {units.temperature(plan.seed.limit_c)}"
        ),
        calendar_title=f"{bench.name}: {crop.lower()} sown {short_day(plan.sown)} {plan.sown.year}",
        calendar_note=_calendar_note(plan),
        calendar=tuple(
            Step(short_day(one.day), calendar_words(one, units))
            for one in plan.calendar
            if one.day is not None
        ),
        alternatives=tuple(alternative_words(one, plan, names, units) for one in _told(plan.alternatives)),
        conflicts=tuple(conflict_words(one, units) for one in plan.conflicts),
        cautions=tuple(_cautions(plan, site)),
        footer=f"lightplan {lightplan.__version__}, {site.name}, {bench.name}",
    )


def _dates(first: date, last: date) -> str:
    if first == last:
        return f"{day_month(first)} {first.year}"
    alike = (first.year, first.month) == (last.year, last.month)
    year = "" if first.year == last.year else f" {first.year}"
    return f"{first.day if alike else day_month(first) + year} to {day_month(last)} {last.year}"


def _told(alternatives: tuple[Alternative, ...]) -> tuple[Alternative, ...]:
    """All but the warmer ones of many other benches."""
    others = [one for one in alternatives if one.kind == "other-bench"]
    return tuple(one for one in alternatives if one not in others[TOLD_BENCHES:])


def _coolest_and_hottest(plan: Inversion) -> tuple[Week, ...]:
    by_heat = sorted(plan.weeks, key=lambda week: week.open.mean_c)
    return tuple(sorted((by_heat[0], by_heat[-1]), key=lambda week: week.start))


def _facts(plan: Inversion, weather: Weather, units: Units) -> Iterator[str]:
    seed = plan.seed
    thumb = "" if seed.mark in ("page", "site file") else " (rule of thumb)"
    best = ""
    if seed.optimum_c is not None:
        low, high = seed.optimum_c
        best = f", best {units.degrees(low)} to {units.temperature(high)}"
    yield f"Seed's limit {units.temperature(seed.limit_c)}{thumb}{best}."
    yield f"The weather: {SUNS[weather.kind]}. {weather.attribution}."
    if weather.fallback_reason:
        yield f"Stand-in: {weather.fallback_reason}."
    hot = "" if plan.verdict.advice is Advice.NOT_NEEDED else f" though it is vented: {FAN_OR_VENTS}"
    yield f"House air up to {units.temperature(plan.house_peak_c)}{hot}."


def _daily_title(plan: Inversion) -> str:
    if plan.verdict.advice is Advice.INVERT:
        return "Every day"
    return "Every day, if it is turned round all the same"


def _steps(plan: Inversion) -> Iterator[Step]:
    schedule, lamps = plan.schedule, plan.place.bench.lamps
    assert lamps is not None
    tent = plan.place.bench.tent is not None and plan.place.bench.tent_opens
    cover = cover_name(plan.cover.name)
    wait = cooling_min(lamps)
    cool = f"; they cool for {wait} min before anything lies over them" if lamps.place == "in-tent" else ""
    yield Step(dial_time(schedule.lamps_off), f"Lamps off{cool}")
    yield Step(dial_time(schedule.cover_on), f"{'Tent closed, then ' if tent else ''}{cover} on".capitalize())
    yield Step(
        dial_time(schedule.cover_off),
        f"{capital(cover)} off{', tent open' if tent else ''}; water, and look for seedlings",
    )
    yield Step(dial_time(schedule.lamps_on), "Lamps on, never under the cover")


def _figures(plan: Inversion, site: Site, units: Units) -> Iterator[str]:
    schedule, seed = plan.schedule, plan.seed
    yield f"Dark {hours(schedule.dark_h)}, lamps {hours(schedule.light_h)}."
    if not seed.lit_from_sowing:
        yield f"No lamps before the first seedling: {crop_name(seed.crop)} seed needs no light."
    sun = f" and {short(plan.sun_mol)} of sun" if plan.sun_mol >= 0.05 else ""
    yield f"{units.mol(plan.night_mol)}{sun} a day for the seedlings."
    cost = ""
    if plan.night_cost is not None and site.power is not None:
        cost = f", {figure(plan.night_cost, 2)} {site.power.currency} at night rates"
    yield f"{short(plan.night_kwh)} kWh a night{cost}."


def _shades(weeks: tuple[Week, ...]) -> str:
    names = list(dict.fromkeys(week.shade for week in weeks if week.shade is not None))
    return f"Under {listing([cover_name(name) for name in names])}" if names else "Under shade: none helps"


def _week(week: Week, units: Units) -> WeekRow:
    ways = (week.open, week.shaded, week.inverted)
    return WeekRow(short_day(week.start), tuple(_cell(way, units) for way in ways))


def _cell(way: Way, units: Units) -> WayCell:
    days = f"{way.days_over} of {way.days} days" if way.days_over else "no day too hot"
    second = [f"{short(way.hours_over)} h over" if way.hours_over else "never over"]
    if way.comes_up is not None:
        low, high = (figure(100 * share) for share in way.comes_up)
        second.append(f"{high} % come up" if low == high else f"{low} to {high} % come up")
    return WayCell(f"{units.peak(way.peak_c)} {units.degree}, {days}", ", ".join(second))


def _calendar_note(plan: Inversion) -> str:
    if plan.verdict.advice is Advice.TOO_HOT and not plan.works:
        return "Not for these dates: too hot, turned round too."
    if plan.verdict.advice in (Advice.INVERT, Advice.TOO_HOT):
        return "To pin up."
    return "Only if it is turned round all the same."


def _cautions(plan: Inversion, site: Site) -> Iterator[str]:
    lamps = plan.place.bench.lamps
    assert lamps is not None
    slugs = (*CAUTIONS, HOT_LAMPS) if lamps.kind in DISCHARGE else CAUTIONS
    yield from (caution_words(slug, us=site.us_units) for slug in slugs)
