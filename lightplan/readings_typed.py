"""Rows of the records as the records that `learn` reads; those of places that are no more are passed over."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime

from lightplan.learn.kinds import Done, LampReading, LightReading, TemperatureReading
from lightplan.records_readings import Row
from lightplan.site.models import Site


def light_readings(rows: Iterable[Row], site: Site) -> tuple[LightReading, ...]:
    houses, benches = {h.id for h in site.houses}, {b.id: b.house for b in site.benches}
    return tuple(
        LightReading(
            number=row.number,
            at=row.at,
            house=row.house,
            bench=row.bench,
            inside_umol=row.detail["inside_umol"],
            outside_umol=row.detail["outside_umol"],
            spots=row.detail["spots"],
            meter=row.detail["meter"],
            sd=row.detail["sd"],
            under=row.detail["under"],
            tent=row.detail["tent"],
        )
        for row in rows
        if row.kind == "light"
        and row.house in houses
        and (row.bench is None or benches.get(row.bench) == row.house)
    )


def lamp_readings(rows: Iterable[Row], site: Site) -> tuple[LampReading, ...]:
    lit = {b.id for b in site.benches if b.lamps is not None}
    return tuple(
        LampReading(
            number=row.number,
            at=row.at,
            bench=row.bench,
            umol=row.detail["umol"],
            spots=row.detail["spots"],
            meter=row.detail["meter"],
            sd=row.detail["sd"],
        )
        for row in rows
        if row.kind == "lamps" and row.bench in lit
    )


def temperature_readings(rows: Iterable[Row], site: Site) -> tuple[TemperatureReading, ...]:
    """Of a house's own air: a thermometer under a bench's tent tells of the tent."""
    houses = {h.id for h in site.houses}
    tented = {b.id for b in site.benches if b.tent is not None}
    return tuple(
        TemperatureReading(
            number=row.number,
            day=date.fromisoformat(row.detail["day"]),
            house=row.house,
            min_c=row.detail["min_c"],
            max_c=row.detail["max_c"],
        )
        for row in rows
        if row.kind == "temperature" and row.house in houses and row.bench not in tented
    )


def done_of(rows: Iterable[Row], day: date) -> tuple[Done, ...]:
    return tuple(
        Done(
            number=row.number,
            day=day,
            order=row.detail["order"],
            done=row.detail["done"],
            at=datetime.fromisoformat(row.detail["at"]) if row.detail["at"] else None,
            action=row.detail.get("action"),
            house=row.house,
            bench=row.bench,
        )
        for row in rows
        if row.kind == "done" and row.detail["day"] == day.isoformat()
    )
