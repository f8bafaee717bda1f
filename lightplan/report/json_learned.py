"""What the records add to the `morning` JSON: the score, factors in use, dim houses, the meter's time."""

from __future__ import annotations

from dataclasses import asdict
from datetime import datetime

from lightplan.dayplan import DayPlan, Dimmed, MeterTime
from lightplan.learn.calibration import Calibration, Factor
from lightplan.learn.score import DayScore, SeasonRecord
from lightplan.report.json_form import Json, number


def learned_json(plan: DayPlan) -> Json:
    found = plan.learned
    return {
        "band": {"factor": number(found.stretch), "cloud_light": number(found.cloud_light)},
        "yesterday": None if found.yesterday is None else score_of_day(found.yesterday),
        "calibration": None if found.calibration is None else _calibration(found.calibration),
        "dimmed": [_dimmed(dim) for dim in found.dimmed],
        "meter": None if plan.meter is None else _meter(plan.meter, plan),
    }


def score_of_day(score: DayScore) -> Json:
    return {
        "date": score.day.isoformat(),
        "observed_by": score.observed_by,
        "outdoor": {
            "dli": number(score.forecast_mol),
            "dli_low": number(score.low_mol),
            "dli_high": number(score.high_mol),
            "came": number(score.came_mol),
            "in_range": score.in_range,
        },
        "benches": [
            {
                "id": b.id,
                "sun": number(b.sun_told),
                "sun_came": number(b.sun_came),
                "lamp_hours": number(b.lamp_h),
                "lamps": number(b.lamp_mol),
                "total": number(b.total),
                "minimum": number(b.minimum),
                "reached": b.reached,
                "account": number(b.account),
            }
            for b in score.benches
        ],
        "orders": [
            {"number": o.number, "what": o.what, "done": o.done, "right": o.right, "why": o.why}
            for o in score.orders
        ],
        "houses": [
            {"id": a.house, "temperature_max_c": number(a.told_c), "read_c": number(a.read_c)}
            for a in score.air
        ],
    }


def record_json(record: SeasonRecord) -> Json:
    return {key: number(v) if isinstance(v, float) else v for key, v in asdict(record).items()}


def _calibration(found: Calibration) -> Json:
    return {
        "date": found.made_on.isoformat(),
        "houses": [{"id": h.id, **_factor(h.factor)} for h in found.houses if h.factor.used],
        "lamps": [{"bench": bench, **_factor(f)} for bench, f in found.lamps if f.used],
        "covers": [{"cover": name, **_factor(f)} for name, f in found.covers if f.used],
    }


def _factor(factor: Factor) -> Json:
    return {"factor": number(factor.middle), "low": number(factor.low), "high": number(factor.high)}


def _dimmed(dim: Dimmed) -> Json:
    return {
        "house": dim.house.id,
        "share": number(dim.lost),
        "low": number(dim.low),
        "high": number(dim.high),
        "at_once_on": dim.at_once.isoformat() if dim.at_once else None,
    }


def _meter(meter: MeterTime, plan: DayPlan) -> Json:
    def local(moment: datetime) -> str:
        return moment.astimezone(plan.site.timezone).isoformat(timespec="seconds")

    return {"from": local(meter.start), "to": local(meter.end), "house": meter.house.id}
