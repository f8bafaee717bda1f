"""DayPlan → the `morning` JSON that checks and other programs read. SI units, no words of the sheet's units.

Every key is always there: null where unknown or not applicable, [] where there is nothing.
"""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from lightplan.clock import STEP, day_start
from lightplan.dayplan import BenchDay, DayPlan, Interval, Order
from lightplan.report.cautions import caution_words
from lightplan.report.json_form import Json, number, site_json
from lightplan.report.json_learned import learned_json
from lightplan.report.notes import note_words
from lightplan.report.order_words import what
from lightplan.report.units import Units
from lightplan.site.models import Site

SI = Units(us=False, foot_candles=False)


def morning_json(plan: DayPlan, *, steps: bool = False) -> Json:
    """The whole morning as plain dicts, lists, strings and numbers.

    steps : adds the working steps of every bench, and what the site's records brought to the sheet.
    """
    site, sun, outdoor = plan.site, plan.sun, plan.outdoor
    document: Json = {
        "site": site_json(site),
        "date": plan.day.isoformat(),
        "timezone": site.timezone.key,
        "generated_at": _time(plan.generated_at, site),
        "window": {
            "from": _time(plan.window.start, site) if plan.window else None,
            "to": _time(plan.window.end, site) if plan.window else None,
        },
        "weather": {
            "source": plan.weather.source,
            "kind": plan.weather.kind.value,
            "issued_at": _time(plan.weather.issued_at, site),
            "age_hours": number(plan.weather_age_h),
            "attribution": plan.weather.attribution,
            "fallback_reason": plan.weather.fallback_reason,
        },
        "sun": {
            "civil_dawn": _time(sun.civil_dawn, site),
            "sunrise": _time(sun.sunrise, site),
            "solar_noon": _time(sun.solar_noon, site),
            "sunset": _time(sun.sunset, site),
            "civil_dusk": _time(sun.civil_dusk, site),
            "day_length_h": number(sun.day_length_h),
        },
        "outdoor": {
            "dli": number(outdoor.dli),
            "dli_low": number(outdoor.dli_low),
            "dli_high": number(outdoor.dli_high),
            "peak_ppfd": number(outdoor.peak_ppfd),
        },
        "houses": [
            {
                "id": h.house.id,
                "temperature_c": {"min": number(h.temperature_min_c), "max": number(h.temperature_max_c)},
            }
            for h in plan.houses
        ],
        "benches": [_bench(b, site, over=plan.is_over) for b in plan.benches],
        "orders": [_order(o, plan) for o in plan.orders],
        "cautions": [caution_words(slug, us=plan.site.us_units) for slug in plan.cautions],
    }
    if steps:
        document["steps"] = {b.bench.id: _steps(b, plan) for b in plan.benches}
        document["learned"] = learned_json(plan)
    return document


def _bench(bench: BenchDay, site: Site, *, over: bool) -> Json:
    governing = next((b.batch for b in bench.batches if b.governs), None)
    dli, limits, lamps, temperature = bench.dli, bench.limits, bench.lamps, bench.temperature
    return {
        "id": bench.bench.id,
        "house": bench.bench.house,
        "crop": governing.crop if governing else None,
        "stage": governing.stage.value if governing else None,
        "batches": [
            {
                "crop": b.batch.crop,
                "stage": b.batch.stage.value,
                "from": b.batch.from_date.isoformat(),
                "to": b.batch.to_date.isoformat(),
                "governs": b.governs,
            }
            for b in bench.batches
        ],
        "transmission": number(bench.transmission),
        "dli": {
            "sun_open": number(dli.sun_open),
            "sun": number(dli.sun),
            "lamps": number(dli.lamps),
            "total": number(dli.total),
            "low": number(dli.low),
            "high": number(dli.high),
            "minimum": number(dli.minimum),
            "target": number(dli.target),
            "limit": number(dli.limit),
        },
        "account": {"before": number(bench.account_before), "after": number(bench.account_after)},
        "light_hours": number(bench.light_hours),
        "limits": {
            "ppfd": number(limits.ppfd_umol_m2_s) if limits else None,
            "ppfd_minutes": limits.ppfd_minutes if limits else None,
            "temperature_c": number(limits.temperature_c) if limits else None,
            "temperature_minutes": limits.temperature_minutes if limits else None,
            "mark": limits.mark if limits else None,
        },
        "peak_ppfd": {"open": number(bench.peak_ppfd_open), "after": number(bench.peak_ppfd_after)},
        "photoperiod_h": number(bench.photoperiod_h),
        "lamps": {
            "earlier": _intervals(lamps.earlier, site),
            "intervals": _intervals(lamps.intervals, site),
            "hours": number(lamps.hours),
            "mol": number(lamps.mol),
            "kwh": number(lamps.kwh),
            "cost": number(lamps.cost),
        },
        "covers": [
            {
                "cover": c.cover,
                "on": _time(c.on, site),
                "off": _time(c.off, site),
                "reason": c.reason.rule,
                "odds": number(c.odds),
            }
            for c in bench.covers
        ],
        "temperature_c": {
            "where": temperature.where if temperature else None,
            "peak_open": number(temperature.peak_open) if temperature else None,
            "peak_after": number(temperature.peak_after) if temperature else None,
            "low": number(temperature.low) if temperature else None,
            "high": number(temperature.high) if temperature else None,
            "at": _time(temperature.at, site) if temperature else None,
        },
        "notes": [note_words(note, SI, over=over) for note in bench.notes],
    }


def _order(order: Order, plan: DayPlan) -> Json:
    return {
        "number": order.number,
        "time": _time(order.time, plan.site),
        "until": _time(order.until, plan.site),
        "house": order.house,
        "bench": order.bench,
        "action": order.action.value,
        "what": what(plan, order),
        "why": {
            "rule": order.why.rule,
            "value": number(order.why.value),
            "limit": number(order.why.limit),
            "unit": order.why.unit,
        },
        "certainty": order.certainty.value,
        "odds": number(order.odds),
    }


def _steps(bench: BenchDay, plan: DayPlan) -> Json:
    """The civil day's steps and on to the window's end; series may run longer or stop earlier than that."""
    start = day_start(plan.day, plan.site.timezone)
    end = day_start(plan.day + timedelta(days=1), plan.site.timezone)
    if plan.window:
        end = max(end, plan.window.end)
    series = bench.series
    count = min(math.ceil((_instant(end) - _instant(start)) / STEP.total_seconds()), len(series.sun_ppfd))
    return {
        "time": [_time(start.astimezone(UTC) + n * STEP, plan.site) for n in range(count)],
        "sun_ppfd_open": _row(series.sun_ppfd_open, count),
        "sun_ppfd": _row(series.sun_ppfd, count),
        "lamp_ppfd": _row(series.lamp_ppfd, count),
        "temperature_c": None if series.temperature_c is None else _row(series.temperature_c, count),
    }


def _instant(moment: datetime) -> float:
    """Seconds since the epoch: subtracting two moments of one zone would count wall-clock time."""
    return moment.timestamp()


def _row(values: NDArray[np.float64], count: int) -> list[float | None]:
    return [number(float(v)) for v in values[:count]]


def _intervals(intervals: tuple[Interval, ...], site: Site) -> list[list[str | None]]:
    return [[_time(on, site), _time(off, site)] for on, off in intervals]


def _time(moment: datetime | None, site: Site) -> str | None:
    """Local ISO-8601 with offset; midnight at the end of a day is the next day's 00:00."""
    return None if moment is None else moment.astimezone(site.timezone).isoformat(timespec="seconds")
