"""What the records of an invented season add to a plan."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

from lightplan.clock import at_local
from lightplan.dayplan import DayPlan, Dimmed, Learned, MeterTime
from lightplan.learn.calibration import Calibration, Factor, HeatFound, HouseFound, KeptOut, SourceFound
from lightplan.learn.score import AirScore, BenchScore, DayScore, OrderScore
from lightplan.site.models import Measured


def factor(middle: float, half: float = 0.05, readings: int = 6, why_not: str | None = None) -> Factor:
    return Factor(
        middle=middle,
        low=middle * (1 - half),
        high=middle * (1 + half),
        prior_low=0.82,
        prior_high=1.22,
        readings=readings,
        used=why_not is None,
        why_not=why_not,
    )


def calibration(plan: DayPlan) -> Calibration:
    """The first house known, the others not; lamps of two; a cover; heat; a forecast too sure of itself."""
    made = plan.day - timedelta(days=6)
    unread = factor(1.0, 0.2, 0, "no reading yet")
    measured = Measured(-0.09, 0.0, 0.0, -0.02, made - timedelta(days=60), made)
    houses = [
        HouseFound(
            id=house.id,
            factor=factor(0.91) if n == 0 else unread,
            measured=measured,
            dim=(0.14, 0.09, 0.19) if n == 0 else None,
            is_dim=n == 0,
            last_reading=made if n == 0 else None,
            computed=0.62,
        )
        for n, house in enumerate(plan.site.houses)
    ]
    lit = [b.id for b in plan.site.benches if b.lamps is not None]
    return Calibration(
        houses=tuple(houses),
        lamps=tuple((bench, factor(0.87, 0.08, 1) if n < 2 else unread) for n, bench in enumerate(lit)),
        covers=(("white-tarp", factor(0.16, 0.2, 2)),),
        heat=(HeatFound(plan.site.houses[0].id, factor(1.1, 0.15, 9), factor(0.8, 0.3, 9), 2.6),),
        sources=(SourceFound("open-meteo", 31, factor(1.0, 0.2, 0, "it gives light itself"), factor(1.2)),),
        outliers=(KeptOut(7, "34 % above what the others say on 2026-03-04"),),
        next_reading="after dark, lamps of Plug bench 3, five spots",
        made_on=made,
    )


def score(plan: DayPlan) -> DayScore:
    """A day duller than its range, a bench short, two orders of four wrong."""
    first, second = plan.site.benches[:2]
    benches = (
        BenchScore(first.id, 9.1, 5.2, 5.5, 1.6, 8.0, 12.0, False, -0.4),
        BenchScore(second.id, 9.1, 5.2, 9.0, 3.4, 8.0, 12.0, True, 0.4),
    )
    orders = (
        OrderScore(1, first.id, first.house, "set-timer", "set timer", True, False, "under-minimum"),
        OrderScore(2, second.id, second.house, "set-timer", "set timer", None, True, "needed"),
        OrderScore(3, second.id, second.house, "cover", "lay on", False, False, "stayed-under"),
        OrderScore(4, first.id, first.house, "vent", "vents", None, True, "limit-passed"),
        OrderScore(5, first.id, first.house, "check-water", "water", None, None, "not-judged"),
    )
    return DayScore(
        day=plan.day - timedelta(days=1),
        source="open-meteo",
        kind="forecast",
        observed_by="service",
        forecast_mol=17.3,
        low_mol=12.1,
        high_mol=22.6,
        came_mol=9.4,
        clear_mol=38.0,
        raw_mol=17.3,
        benches=benches,
        orders=orders,
        air=(AirScore(first.house, 24.0, 27.5),),
    )


def with_learned(plan: DayPlan) -> DayPlan:
    """A plan of a site with a season of readings behind it, on a day good for the meter."""
    house = plan.site.houses[-1]
    times = (at_local(plan.day, minute, plan.site.timezone) for minute in (735, 765))
    return replace(
        plan,
        meter=MeterTime(*times, house),
        learned=Learned(
            calibration=calibration(plan),
            yesterday=score(plan),
            dimmed=(Dimmed(plan.site.houses[0], 0.14, 0.09, 0.19, None),),
            stretch=1.2,
        ),
    )
