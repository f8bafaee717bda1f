"""What the ordered lamps take and cost, and which benches need theirs most, as lines of the sheet."""

from __future__ import annotations

from collections.abc import Iterator

from lightplan.dayplan import BenchDay, DayPlan, LampsTogether
from lightplan.report.order_words import bench_name
from lightplan.report.units import clock, figure, hours, listing, short

NAMED_BENCHES = 4  # a line about more benches gives the sum and the one that takes most
GAP_TOLD = 0.01  # a plan that may be this much dearer than the least is said to be


def lamp_lines(plan: DayPlan) -> tuple[str, ...]:
    """Hours, energy and cost until the next sheet; where spare lamps go first; none without lamp times."""
    lit = [b for b in plan.benches if b.lamps.intervals]
    together = plan.lamps_together
    if not lit or together is None:
        return ()
    return (_taken(lit, plan), *_scarce(together), *_needed_first(together, plan))


def _taken(lit: list[BenchDay], plan: DayPlan) -> str:
    words = [
        f"{b.bench.name} {hours(b.lamps.hours)}, {_energy(b.lamps.kwh, b.lamps.cost, plan)}" for b in lit
    ]
    kwh = sum(b.lamps.kwh for b in lit)
    costs = [b.lamps.cost for b in lit if b.lamps.cost is not None]
    every = _energy(kwh, sum(costs) if costs else None, plan)
    peak = plan.lamps_together.peak_cost if plan.lamps_together else None
    tail = _most_drawn(plan)
    if peak and peak >= 0.005:
        tail += f", and {_money(peak, plan)} on the month's peak charge"
    lead = _until_next(plan)
    if len(lit) > NAMED_BENCHES:
        most = max(lit, key=lambda b: b.lamps.kwh)
        return f"{lead}: {len(lit)} benches, {every}{tail}; most {words[lit.index(most)]}."
    if len(lit) == 1:
        return f"{lead}: {words[0]}{tail}."
    return f"{lead}: {'; '.join(words)}; together {every}{tail}."


def _until_next(plan: DayPlan) -> str:
    """The stretch that the figures are of: from this sheet's orders to the next's."""
    assert plan.window is not None  # lamps are lit in it
    return f"Lamps until {clock(plan.window.end, plan.site, plan.day)}"


def _most_drawn(plan: DayPlan) -> str:
    together = plan.lamps_together
    if together is None or together.most_kw is None:
        return ""
    most = short(float(together.power_kw.max(initial=0.0)))
    return f", at most {most} kW at once of the {short(together.most_kw)} that lamps may draw"


def _energy(kwh: float, cost: float | None, plan: DayPlan) -> str:
    words = f"{short(kwh)} kWh"
    return words if cost is None else f"{words}, {_money(cost, plan)}"


def _money(amount: float, plan: DayPlan) -> str:
    assert plan.site.power is not None
    return f"{plan.site.power.currency} {figure(amount, 2)}"


def _scarce(together: LampsTogether) -> Iterator[str]:
    """What the search left open: light that is short before cost."""
    if together.short_gap > GAP_TOLD:
        left = f"up to {figure(together.short_gap * 100)} % of the light that is short might still be found."
    elif together.solver_gap > GAP_TOLD:
        left = f"a plan up to {figure(together.solver_gap * 100)} % cheaper may exist."
    else:
        return
    yield f"Power is so scarce that the search was cut short: {left}"


def _needed_first(together: LampsTogether, plan: DayPlan) -> Iterator[str]:
    """Benches that fall under the day's minimum without their lamps if the sun turns out poor."""
    if not together.needed_first:
        return
    words = [
        f"{bench_name(plan, bench)} ({short(mol)}{' mol short on a poor day' if n == 0 else ''})"
        for n, (bench, mol) in enumerate(together.needed_first[:NAMED_BENCHES])
    ]
    yield f"If lamps fail, spare ones go first to {listing(words)}."
