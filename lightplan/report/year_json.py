"""The year of houses and benches as JSON: what `houses` tells beside its contract's keys."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

import numpy as np
from numpy.typing import NDArray

from lightplan.report.json_form import Json, number
from lightplan.report.json_learned import record_json
from lightplan.year.answer import HousesAnswer
from lightplan.year.beside import Beside, WhatIf
from lightplan.year.fit import CropFit, Mark, Move
from lightplan.year.floor import FloorMonth, Strip
from lightplan.year.season import Need, SeasonDates
from lightplan.year.several import YearsLight
from lightplan.year.shade import FixedShade
from lightplan.year.site_year import BenchYear, HouseYear, SiteYear
from lightplan.year.stretches import Stretch, band, means

Array = NDArray[np.float64]


def with_year(document: Json, answer: HousesAnswer) -> Json:
    """The `houses` document with the year added to it."""
    year = answer.year
    return {
        **document,
        "houses": [
            {**told, **_house(year, year.house(told["id"]), answer.years)} for told in document["houses"]
        ],
        "benches": [_bench(year, one, answer.years) for one in year.benches],
        "lamps": {"basis": "least", "kwh": number(year.lamps.kwh), "cost": number(year.lamps.cost)},
        "years": [] if answer.years is None else list(answer.years.years),
        "fit": [_fit(year, fit) for fit in answer.fits],
        "moves": [_move(move) for move in answer.moves],
        "dates": _dates(answer.dates),
        "what_if": None if answer.what_if is None else _what_if(answer.what_if),
        "record": None if answer.record is None else record_json(answer.record),
    }


def _house(year: SiteYear, one: HouseYear, years: YearsLight | None) -> Json:
    light = one.light
    outdoors, inside, beam = (
        means(values, year.months) for values in (light.outdoor_mol, light.inside_mol, light.beam_mol)
    )
    return {
        "calibrated": one.calibrated,
        "transmission": [number(a / b if b > 0 else None) for a, b in zip(inside, outdoors, strict=True)],
        "beam_share": [number(a / b if b > 0 else None) for a, b in zip(beam, inside, strict=True)],
        "weekly": list(_weeks(year, light.inside_mol, None if years is None else years.houses[one.house.id])),
        "floor": [_floor(stretch, found) for stretch, found in zip(year.months, one.floor, strict=True)],
        "heating_kwh": number(float(one.heat.heating_kwh.sum())),
    }


def _weeks(year: SiteYear, inside: Array, years: Array | None) -> Iterator[Json]:
    for n, week in enumerate(year.weeks):
        low, high = band(inside, week, year.sample)
        of_years = None if years is None else years[:, n][~np.isnan(years[:, n])]
        yield {
            "from": week.first.isoformat(),
            "to": week.last.isoformat(),
            "dli": number(float(inside[week.days].mean())),
            "low": number(low),
            "high": number(high),
            "years_low": None if of_years is None else number(float(of_years.min())),
            "years_high": None if of_years is None else number(float(of_years.max())),
        }


def _floor(month: Stretch, found: FloorMonth) -> Json:
    def strip(one: Strip) -> Json:
        return {"across_m": [number(edge) for edge in one.across_m], "dli": number(one.mol)}

    return {
        "month": month.first.month,
        "mean_dli": number(float(found.cells.mean())),
        "min_over_mean": number(found.min_over_mean),
        "darkest": strip(found.darkest),
        "brightest": strip(found.brightest),
    }


def _bench(year: SiteYear, one: BenchYear, years: YearsLight | None) -> Json:
    lamps, heat = one.lamps, one.heat
    nothing = np.zeros(len(year.grid.dates))
    lamp_mol, hours, kwh = (nothing,) * 3 if lamps is None else (lamps.mol, lamps.hours, lamps.kwh)
    weekly = list(_weeks(year, one.light.inside_mol, None if years is None else years.benches[one.bench.id]))
    for told, week in zip(weekly, year.weeks, strict=True):
        told["lamp_mol"] = number(float(lamp_mol[week.days].mean()))
        told["lamp_hours"] = number(float(hours[week.days].sum()))
        told["where"] = heat.where[week.days.stop - 1]
        told["temperature_peak_c"] = number(float(heat.peak_c[week.days].max()))
        told["hot_days"] = int(heat.too_hot[week.days].sum())
        told["bright_days"] = int(heat.too_bright[week.days].sum())
    return {
        "id": one.bench.id,
        "house": one.bench.house,
        "monthly": [
            {
                "month": month.first.month,
                "sun_dli": number(float(one.light.inside_mol[month.days].mean())),
                "lamp_mol": number(float(lamp_mol[month.days].mean())),
                "lamp_hours": number(float(hours[month.days].sum())),
                "kwh": number(float(kwh[month.days].sum())),
            }
            for month in year.months
        ],
        "weekly": weekly,
        "lamps": None
        if lamps is None
        else {
            "hours": number(float(hours.sum())),
            "kwh": number(float(kwh.sum())),
            "energy_cost": None if lamps.cost is None else number(float(lamps.cost.sum())),
            "days_short": int((lamps.short_mol > 1e-6).sum()),
        },
        "remedy_days": {"hot": int(heat.too_hot.sum()), "bright": int(heat.too_bright.sum())},
    }


def _fit(year: SiteYear, fit: CropFit) -> Json:
    return {
        "crop": fit.crop,
        "stage": fit.stage.value,
        "bench": None if fit.bench is None else fit.bench.id,
        "from": fit.from_date.isoformat(),
        "to": fit.to_date.isoformat(),
        "best": fit.best.house_id,
        "houses": [
            {
                "id": one.house_id,
                "short_mol": number(one.short_mol),
                "over_mol": number(one.over_mol),
                "weeks": {mark.value: one.count(mark) for mark in Mark},
                "marks": [None if mark is None else mark.value for mark in one.marks],
            }
            for one in fit.houses
        ],
    }


def _move(move: Move) -> Json:
    assert move.fit.bench is not None
    return {
        "crop": move.fit.crop,
        "stage": move.fit.stage.value,
        "bench": move.fit.bench.id,
        "from": move.fit.from_date.isoformat(),
        "to": move.fit.to_date.isoformat(),
        "house": move.to.house_id,
        "gain_mol": number(move.gain_mol),
        "warmer_k": number(move.warmer_k),
        "coldest_c": number(move.coldest_c),
    }


def _dates(dates: SeasonDates) -> Json:
    return {
        "lamps": _need(dates.lamps),
        "seed_lamps": _need(dates.seed_lamps),
        "tents": _need(dates.tents),
        "covers": _need(dates.covers),
        "benches": [
            {
                "id": one.bench_id,
                "lamps": _need(one.lamps),
                "seed_lamps": _need(one.seed_lamps),
                "under_minimum": _need(one.dull),
                "remedy": _need(one.remedy),
            }
            for one in dates.benches
        ],
        "inversion": [
            {"bench": one.bench.id, "crops": list(one.crops), **_need(one.need)} for one in dates.turned
        ],
        "fixed_shade": [_shade(one) for one in dates.shades],
        "day_length": [
            {
                "crop": one.crop,
                "kind": one.kind.value,
                "critical_h": number(one.critical_h),
                "dates": [_day(d) for d in one.dates],
                "first": _day(one.first),
                "last": _day(one.last),
                "shortest_h": number(one.shortest_h),
                "longest_h": number(one.longest_h),
            }
            for one in dates.crossings
        ],
    }


def _need(need: Need) -> Json:
    """first may come after last in the calendar: the season then runs over the year's end."""
    return {"first": _day(need.first), "last": _day(need.last), "weeks": int(need.weeks.sum())}


def _day(day: date | None) -> str | None:
    return None if day is None else day.isoformat()


def _shade(one: FixedShade) -> Json:
    return {
        "house": one.house_id,
        "cover": None if one.cover is None else one.cover.name,
        "first": _day(one.first),
        "last": _day(one.last),
        "days_over_limit": one.passed_days,
        "days_left": one.left,
        "light_lost_dli": number(one.lost_mol),
    }


def _what_if(found: WhatIf) -> Json:
    return {
        "changes": list(found.changes),
        "calibrated": found.calibrated,
        "houses": [_beside(one) for one in found.houses],
        "benches": [_beside(one) for one in found.benches],
        "lamp_kwh": _pair(found.lamp_kwh),
        "lamp_cost": _pair(found.lamp_cost),
        "heating_kwh": _pair(found.heating_kwh),
        "remedy_days": _pair(found.remedy_days),
    }


def _beside(one: Beside) -> Json:
    def monthly(values: Array | None) -> list[float | None] | None:
        return None if values is None else [number(float(value)) for value in values]

    return {"id": one.id, "today_dli": monthly(one.today_mol), "then_dli": monthly(one.then_mol)}


def _pair(values: tuple[float | None, float | None]) -> Json:
    return {"today": number(values[0]), "then": number(values[1])}
