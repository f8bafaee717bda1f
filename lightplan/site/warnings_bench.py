"""What looks odd about benches but may be so."""

from __future__ import annotations

from collections.abc import Iterator

from lightplan.site.house_outline import outline_of
from lightplan.site.models import CONTINUOUS_SHARE
from lightplan.site.outline import section_width
from lightplan.site.problems import Problem, held
from lightplan.site.rows import Row
from lightplan.site.rule import Around, rule
from lightplan.site.rules_batch import overlapping
from lightplan.site.schema_bench import BatchRow, BenchTable
from lightplan.site.schema_house import HouseTable

EFFICACY_LIKELY = (0.2, 3.5)  # µmol at the trays per joule; the site file's contract
LONG_BATCH_DAYS = 400  # judgement: a year and a month on one bench is more likely a wrong year
PACED = 1.1  # judgement: places are paced out, areas counted in trays


@rule(BenchTable, "lamps", "area_m2")
def likely_lamps(row: Row, around: Around) -> Iterator[Problem]:
    lamps = row["lamps"]
    if lamps is None:
        return
    at_trays = lamps.ppfd * row["area_m2"] / (1000 * lamps.power_kw)
    least, most = EFFICACY_LIKELY
    if not least <= at_trays <= most:
        much = "more than lamps give" if at_trays > most else "very little"
        given = f"ppfd {lamps.ppfd:g} over {row.told('area_m2')} from power_kw {lamps.power_kw:g}"
        told = f"{given} makes {at_trays:.2g} µmol/J, {much}; see that all three are right"
        yield row.children["lamps"][0].problem("ppfd", told, "efficacy")


@rule(BenchTable, "lamps")
def lamps_within_capacity(row: Row, around: Around) -> Iterator[Problem]:
    power = around.power
    if row["lamps"] is None or power is None or not power.has("capacity_kw", "other_kw"):
        return
    left = CONTINUOUS_SHARE * (power["capacity_kw"] - power["other_kw"])
    if row["lamps"].power_kw > left:
        told = f"power_kw is {row['lamps'].power_kw:g}, above the {left:.3g} kW that [power] leaves for lamps"
        yield row.children["lamps"][0].problem("power_kw", f"{told}; they will not be ordered on", "capacity")


@rule(BenchTable, "lamps", "lamp_hours")
def usual_within_hours(row: Row, around: Around) -> Iterator[Problem]:
    if row["lamps"] is None:
        return
    outside = [
        span
        for span in row["lamps"].usual
        if not any(start <= span[0] and span[1] <= end for start, end in row["lamp_hours"])
    ]
    if outside:
        lamps = row.children["lamps"][0]
        told = f"usual is {held(lamps.raw['usual'])}, not all within the bench's lamp_hours"
        yield lamps.problem("usual", f"{told}; see which is right", "usual-outside")


@rule(BenchTable, "place", "area_m2")
def area_and_place(row: Row, around: Around) -> Iterator[Problem]:
    if row["place"] is None:
        return
    (left, right), (near, far) = row["place"].across_m, row["place"].along_m
    space = (right - left) * (far - near)
    if row["area_m2"] > PACED * space:
        told = f"{row.told('area_m2')} is more than its place holds, {row.in_unit('area_m2', space)}"
        yield row.problem("area_m2", f"{told}; see that both are right", "area-and-place")


@rule(HouseTable, "id", "length_m")
def benches_on_the_floor(row: Row, around: Around) -> Iterator[Problem]:
    points = outline_of(row)
    mine = [
        bench for bench in around.benches if bench.has("house", "area_m2") and bench["house"] == row["id"]
    ]
    if points is None or len(mine) < 2:
        return
    floor, benches = section_width(points) * row["length_m"], sum(bench["area_m2"] for bench in mine)
    if benches > floor:
        told = f"its benches make {benches:.4g} m² together, more than its floor of {floor:.4g} m²"
        yield row.problem("id", f"{told}; that is right for tiers only", "areas")


@rule(BenchTable)
def two_stages_of_one_sowing(row: Row, around: Around) -> Iterator[Problem]:
    for one, other in overlapping(row):
        if one["stage"] != other["stage"] and one["sown"] is not None and one["sown"] == other["sown"]:
            dates = f"{max(one['from'], other['from'])} to {min(one['to'], other['to'])}"
            told = f"is the same sowing as {one.place.rsplit(', ', 1)[-1]} at another stage ({dates})"
            yield other.problem("stage", f"{told}; see that the dates are right", "two-stages")


@rule(BatchRow, "from", "to")
def long_batch(row: Row, around: Around) -> Iterator[Problem]:
    days = (row["to"] - row["from"]).days
    if days > LONG_BATCH_DAYS:
        yield row.problem(
            "to", f"{row.told('to')} is {days} days after from; see that the year is right", "long-batch"
        )


WARNINGS = (
    likely_lamps,
    lamps_within_capacity,
    usual_within_hours,
    area_and_place,
    benches_on_the_floor,
    two_stages_of_one_sowing,
    long_batch,
)
