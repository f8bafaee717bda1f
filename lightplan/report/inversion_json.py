"""An inverted bench's plan → the `invert` JSON: temperatures in °C, clock times `HH:MM`."""

from __future__ import annotations

from lightplan.advice.inversion import Inversion
from lightplan.advice.inversion.task import Schedule, TurnDay, Way
from lightplan.report.inversion_words import alternative_words, calendar_words, conflict_words, names_in
from lightplan.report.json_form import Json, number
from lightplan.report.units import dial_time, units_of
from lightplan.site.models import Site, Span


def inversion_json(plan: Inversion, site: Site) -> Json:
    units = units_of(site)
    names = names_in(site)
    emergence = plan.emergence
    return {
        "bench": plan.place.bench.id,
        "crop": plan.seed.crop,
        "advice": plan.verdict.advice.value,
        "needed": plan.verdict.needed,
        "enough": plan.verdict.enough,
        "weeks": [
            {
                "week_start": week.start.isoformat(),
                "open": _way(week.open),
                "shaded": _way(week.shaded),
                "inverted": _way(week.inverted),
            }
            for week in plan.weeks
        ],
        "schedule": _schedule(plan.schedule),
        "before_emergence": {"lamps": "as-schedule" if plan.seed.lit_from_sowing else "none"},
        "dli_mol": number(plan.night_mol),
        "kwh_per_night": number(plan.night_kwh),
        "cost_per_night": number(plan.night_cost),
        "emergence": {
            "first": emergence.first.isoformat() if emergence else None,
            "most": emergence.most.isoformat() if emergence else None,
            "last": emergence.last.isoformat() if emergence else None,
        },
        "calendar": [
            {"date": one.day.isoformat(), "what": calendar_words(one, units)}
            for one in plan.calendar
            if one.day is not None
        ],
        "turn_back": [_turn(day) for day in plan.back],
        "alternatives": [
            {
                "kind": one.kind,
                "what": alternative_words(one, plan, names, units),
                "sow": None if one.sow is None else one.sow.isoformat(),
                "bench": one.bench,
                "house": one.house,
                "peak_c": number(one.peak_c),
                "hours_over": number(one.hours_over),
                "days_over": one.days_over,
                "days": one.days,
                "comes_up": number(one.comes_up),
            }
            for one in plan.alternatives
        ],
        "conflicts": [conflict_words(one, units) for one in plan.conflicts],
    }


def _way(way: Way) -> Json:
    return {
        "peak_c": number(way.peak_c),
        "hours_over": number(way.hours_over),
        "days_over": way.days_over,
    }


def _schedule(schedule: Schedule) -> Json:
    return {
        "cover_on": _clock(schedule.cover_on),
        "cover_off": _clock(schedule.cover_off),
        "lamps_on": _clock(schedule.lamps_on),
        "lamps_off": _clock(schedule.lamps_off),
        "dark_h": number(schedule.dark_h),
        "light_h": number(schedule.light_h),
    }


def _turn(day: TurnDay) -> Json:
    return {
        "date": day.day.isoformat(),
        **_span("cover", day.cover),
        **_span("lamps", day.lamps),
    }


def _span(name: str, span: Span | None) -> Json:
    on, off = (None, None) if span is None else (_clock(span[0]), _clock(span[1]))
    return {f"{name}_on": on, f"{name}_off": off}


def _clock(minutes: int) -> str:
    return dial_time(minutes % 1440)
