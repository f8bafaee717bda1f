"""The third block: each house as a strip of the day, with a lane for every set of lamp and cover times."""

from __future__ import annotations

from lightplan.clock import at_local
from lightplan.dayplan import BenchDay, DayPlan
from lightplan.report.power_strip import power_strip
from lightplan.report.strip import Axis, crew_rule, lane, limit_drawn, strip_top, sun_strip
from lightplan.report.units import Units, clock, listing
from lightplan.report.view import HouseStrip, Lane, StripBlock

NAMED_BENCHES = 2  # a lane for more has no room for their names
HEIGHTS = {"roomy": 30.0, "snug": 22.0, "tight": 13.0, "packed": 13.0}  # points


def strip_block(plan: DayPlan, units: Units, density: str, *, power: bool = True) -> StripBlock | None:
    """Strips of the houses that have benches, and of all lamps' power; None where no house has any."""
    top = strip_top(plan)
    houses = []
    for house in plan.site.houses:
        benches = tuple(b for b in plan.benches if b.bench.house == house.id)
        if not benches:
            continue
        houses.append(
            HouseStrip(
                name=house.name,
                figures="" if density == "packed" else _figures(benches, units),
                drawing=sun_strip(plan, benches, height=HEIGHTS[density], top_umol=top),
                lanes=_lanes(plan, benches),
            )
        )
    if not houses:
        return None
    lamps = power_strip(plan, HEIGHTS[density]) if power else None
    crew = plan.site.crew_on(plan.day)
    zone = plan.site.timezone
    crew_words = (
        "Crew " + "–".join(clock(at_local(plan.day, m, zone), plan.site, plan.day, ends=True) for m in crew)
        if crew
        else "No crew today"
    )
    return StripBlock(
        houses=(*houses, lamps) if lamps else tuple(houses),
        hours=tuple((label, f"{width:.3f}") for label, width in Axis(plan).hour_cells()),
        crew=crew_rule(plan),
        crew_words=crew_words,
        key=_key(plan, short=density == "packed"),
    )


def _figures(benches: tuple[BenchDay, ...], units: Units) -> str:
    return f"peak {units.ppfd(max(b.peak_ppfd_after for b in benches)).replace(' μmol', '')}"


def _names(names: list[str]) -> str:
    return listing(names) if len(names) <= NAMED_BENCHES else f"{names[0]} and {len(names) - 1} more"


def _lanes(plan: DayPlan, benches: tuple[BenchDay, ...]) -> tuple[Lane, ...]:
    """Benches with the same lamp and cover times share a lane; those with none have none."""
    alike: dict[tuple[object, ...], list[BenchDay]] = {}
    for bench in benches:
        times = bench.lamps.earlier + bench.lamps.intervals
        if times or bench.covers:
            alike.setdefault((times, bench.covers), []).append(bench)
    lanes = []
    for group in alike.values():
        lanes.append(
            Lane(
                label=_names([b.bench.name for b in group]),
                drawing=lane(plan, tuple(group)),
            )
        )
    return tuple(lanes)


def _key(plan: DayPlan, *, short: bool) -> str:
    """short : what the bars above have a key for is left out."""
    parts = [
        "area: dimmest and brightest bench" if short else "area: sun, dimmest and brightest bench",
        "grey: dark",
    ]
    if any(b.covers for b in plan.benches):
        parts.append(
            "dotted: nothing opened or laid on" if short else "dotted: sun with nothing opened or laid on"
        )
    if limit_drawn(plan):
        parts.append("dashed: limit")
    if not short and any(b.lamps.earlier or b.lamps.intervals for b in plan.benches):
        parts.append("solid: lamps")
    if not short and any(b.covers for b in plan.benches):
        parts.append("hatched: covers")
    if plan.site.crew_on(plan.day):
        parts.append("thick line: crew")
    return "; ".join(parts)
