"""What the records add to a sheet, in words: the score, what is measured, dim houses, the meter's time."""

from __future__ import annotations

from collections.abc import Iterator

from lightplan.dayplan import DayPlan
from lightplan.learn.calibration import Calibration, changed_since
from lightplan.learn.score import BenchScore, DayScore, OrderScore, SeasonRecord
from lightplan.report.calibrate_words import AS_RECKONED, dim_sentence, percent_off
from lightplan.report.units import Units, clock, day_month, figure, listing, short
from lightplan.site.models import Site

LINE_LETTERS = 230  # two lines of the page's width
NAMED = 2  # benches or orders; more are counted

WRONG = {
    "sun-alone-enough": "the sun alone was enough",
    "under-minimum": "the bench ended under its minimum",
    "stayed-under": "it stayed under its limit by itself",
}


def below_words(plan: DayPlan, units: Units) -> tuple[tuple[str, str], ...]:
    """Label and words of each line at the sheet's foot."""
    found = []
    if plan.learned.yesterday is not None:
        found.append(("Yesterday.", yesterday_words(plan.site, plan.learned.yesterday, units)))
    calibration = plan.learned.calibration
    if calibration is not None and (words := measured_words(plan.site, calibration)):
        found.append(("Measured.", words))
    return tuple(found)


def yesterday_words(site: Site, score: DayScore, units: Units) -> str:
    """One line: light against its range, what lamps did, whether orders were right."""
    parts = [_light(score)]
    names = {bench.id: bench.name for bench in site.benches}
    if score.judged:
        parts.append(_orders(score, names))
    if lamps := _lamps(score, names):
        parts.append(lamps)
    houses = {house.id: house.name for house in site.houses}
    parts += [
        f"{houses[air.house]} reached {units.temperature(air.read_c)}, {units.degrees(air.told_c)} foretold"
        for air in score.air
        if air.read_c is not None and air.told_c is not None and air.house in houses
    ]
    text = ""
    for part in parts:
        if text and len(text) + len(part) > LINE_LETTERS:
            break
        text += f"{' ' if text else ''}{part}."
    return text


def _light(score: DayScore) -> str:
    came, low, high = (short(mol) for mol in (score.came_mol, score.low_mol, score.high_mol))
    if score.kind == "observed":
        return f"{came} mol came outdoors, as recorded"
    how = "within" if score.in_range else ("under" if score.came_mol < score.low_mol else "over")
    return f"{came} mol came outdoors, {how} the {low} to {high} forecast"


def _lamps(score: DayScore, names: dict[str, str]) -> str:
    lit = [b for b in score.benches if b.lamp_h > 0 and b.id in names]
    missed = [b for b in score.benches if b.reached is False and b.id in names]
    words = ""
    if len(lit) > NAMED:
        hours = [b.lamp_h for b in lit]
        words = f"lamps {short(min(hours))} to {short(max(hours))} h on {len(lit)} benches"
    elif lit:
        words = "lamps " + listing([f"{short(b.lamp_h)} h on {names[b.id]}" for b in lit])
    if missed:
        short_of = listing([_missed(b, names) for b in missed[:NAMED]])
        more = f" and {len(missed) - NAMED} more" if len(missed) > NAMED else ""
        words += f"{'; ' if words else ''}under the minimum: {short_of}{more}"
    return words[:1].upper() + words[1:]


def _missed(bench: BenchScore, names: dict[str, str]) -> str:
    return f"{names[bench.id]} ({short(bench.total)} of {short(bench.minimum or 0.0)})"


def _orders(score: DayScore, names: dict[str, str]) -> str:
    judged, wrong = len(score.judged), [o for o in score.judged if not o.right]
    noun = "order" if judged == 1 else "orders"
    if not wrong:
        return "The one order that can be judged was right" if judged == 1 else f"All {judged} orders right"
    told = listing([_wrong(o, names) for o in wrong[:NAMED]])
    more = f" and {len(wrong) - NAMED} more" if len(wrong) > NAMED else ""
    return f"{judged - len(wrong)} of {judged} {noun} right; not {told}{more}"


def _wrong(order: OrderScore, names: dict[str, str]) -> str:
    place = f", {names[order.bench]}" if order.bench in names else ""
    return f"{order.number}{place} ({WRONG[order.why]})"


def measured_words(site: Site, found: Calibration) -> str:
    """Factors in use, the range beside the houses'; empty where none is known."""
    houses, benches = ({one.id: one.name for one in these} for these in (site.houses, site.benches))
    parts = [
        f"{houses[h.id]} {figure(h.factor.middle, 2)} ({figure(h.factor.low, 2)}–{figure(h.factor.high, 2)})"
        for h in found.houses
        if h.factor.used and h.id in houses
    ]
    lamps = [f"{benches[b]} {percent_off(f.middle)}" for b, f in found.lamps if f.used and b in benches]
    covers = [name for name, factor in found.covers if factor.used]
    changed_houses, changed_lamps = changed_since(found)
    changed = [houses[h] for h in changed_houses if h in houses]
    changed += [f"lamps of {benches[b]}" for b in changed_lamps if b in benches]
    text = []
    if parts:
        text.append(f"Light let in, times what is reckoned: {listing(parts)}")
    if lamps:
        text.append(f"lamps: {listing(lamps)}" if parts else f"Lamps: {listing(lamps)}")
    if covers:
        text.append(f"covers: {listing(covers)}" if text else f"Covers: {listing(covers)}")
    heat = [houses[h.id] for h in found.heat if (h.loss.used or h.air.used) and h.id in houses]
    if heat:
        text.append(f"heat of {listing(heat)}")
    said = f"{'; '.join(text)}. By readings to {day_month(found.made_on)}." if text else ""
    if changed:
        since = f"site.toml has changed since {day_month(found.made_on)}, so run lightplan calibrate again"
        said += f"{' ' if said else ''}Not used: {listing(changed)} ({since})."
    return said


def record_words(record: SeasonRecord) -> str:
    """How the sheets of a season did, in a sentence."""
    days = "1 day" if record.days == 1 else f"{record.days} days"
    words = f"The sheets so far: {days} scored, light in its range on {record.in_range} (8 of 10 are meant)"
    if record.off is not None:
        same = abs(record.off) < AS_RECKONED
        how = "as much light as" if same else f"{percent_off(1 + record.off)} light than"
        words += f", {how} forecast in all"
    if record.judged:
        words += f"; {record.right} of {record.judged} orders right"
    if record.minimum_days:
        words += f"; benches reached their minimum {record.minimum_reached} times of {record.minimum_days}"
    return words + "."


def dim_facts(plan: DayPlan) -> Iterator[tuple[tuple[str, str], ...]]:
    """A line for each house that has gone dim."""
    for dim in plan.learned.dimmed:
        lost = (dim.lost, dim.low, dim.high)
        yield (("Gone dim", dim_sentence(dim.house.name, lost, dim.at_once)),)


def meter_words(plan: DayPlan) -> str | None:
    """When to take the meter out, and where; None on days that are not worth it."""
    meter = plan.meter
    if meter is None:
        return None
    start, end = (clock(at, plan.site, plan.day) for at in (meter.start, meter.end))
    lamps = any(b.house == meter.house.id and b.lamps is not None for b in plan.site.benches)
    off = ", lamps off meanwhile" if lamps else ""
    return f"{start}–{end}, {meter.house.name}: one look outside, five spots inside at the plants{off}"
