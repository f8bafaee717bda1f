"""The third block: each house as a strip of the day, with a lane for every set of lamp and cover times."""

from __future__ import annotations

from lightplan.clock import at_local, day_start
from lightplan.dayplan import BenchDay, DayPlan
from lightplan.report.strip import Axis, crew_rule, lane, strip_top, sun_strip
from lightplan.report.units import Units, clock, figure, listing
from lightplan.report.view import HouseStrip, Lane, StripBlock

HEIGHTS = {"roomy": 30.0, "snug": 24.0, "tight": 17.0}  # points


def strip_block(plan: DayPlan, units: Units, density: str) -> StripBlock:
    top = strip_top(plan)
    houses = []
    for house in plan.site.houses:
        benches = tuple(b for b in plan.benches if b.bench.house == house.id)
        if not benches:
            continue
        houses.append(
            HouseStrip(
                name=house.name,
                figures=_figures(benches, units),
                drawing=sun_strip(plan, benches, height=HEIGHTS[density], top_umol=top),
                lanes=_lanes(plan, benches),
            )
        )
    crew = plan.site.crew_on(plan.day)
    zone = plan.site.timezone
    crew_words = (
        "Crew " + "–".join(clock(at_local(plan.day, m, zone), plan.site, plan.day, ends=True) for m in crew)
        if crew
        else "No crew today"
    )
    return StripBlock(
        houses=tuple(houses),
        hours=tuple((label, f"{width:.3f}") for label, width in Axis(plan).hour_cells()),
        crew=crew_rule(plan),
        crew_words=crew_words,
        key=_key(plan),
    )


def _figures(benches: tuple[BenchDay, ...], units: Units) -> str:
    peaks = [b.peak_ppfd_after for b in benches]
    low, high = min(peaks), max(peaks)
    words = f"peak {units.ppfd(high)}"
    if round(low) != round(high):
        words = f"peak {figure(low)} to {units.ppfd(high)}"
    limits = [b.limits.ppfd_umol_m2_s for b in benches if b.limits and b.limits.ppfd_umol_m2_s]
    return f"{words}, limit {figure(min(limits))}" if limits else words


def _lanes(plan: DayPlan, benches: tuple[BenchDay, ...]) -> tuple[Lane, ...]:
    """Benches with the same lamp and cover times share a lane; those with none have none."""
    end_of_day = day_start(plan.day, plan.site.timezone).timestamp() + Axis(plan).end - Axis(plan).start
    alike: dict[tuple[object, ...], list[BenchDay]] = {}
    for bench in benches:
        times = bench.lamps.earlier + bench.lamps.intervals
        if times or bench.covers:
            alike.setdefault((times, bench.covers), []).append(bench)
    lanes = []
    for group in alike.values():
        lamps = group[0].lamps
        times = lamps.earlier + lamps.intervals
        past = [off for _, off in times if off.timestamp() > end_of_day]
        lanes.append(
            Lane(
                label=listing([b.bench.name for b in group]),
                after=f"to {clock(max(past), plan.site, plan.day)}" if past else "",
                drawing=lane(plan, times, group[0].covers),
            )
        )
    return tuple(lanes)


def _key(plan: DayPlan) -> str:
    parts = ["area: sun at the benches, brightest and dimmest", "grey: dark"]
    if any(b.limits and b.limits.ppfd_umol_m2_s for b in plan.benches):
        parts.append("dashed: limit")
    if any(b.lamps.earlier or b.lamps.intervals for b in plan.benches):
        parts.append("solid: lamps")
    if any(b.covers for b in plan.benches):
        parts.append("hatched: covers")
    if plan.site.crew_on(plan.day):
        parts.append("upright lines: crew comes and goes")
    return "; ".join(parts)
