"""Rules of `[power]`: a price for every hour, and a breaker that leaves something for lamps."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from lightplan.site.build_parts import a_rate
from lightplan.site.problems import Problem, a_list
from lightplan.site.rows import Row, wrong
from lightplan.site.rule import Around, rule
from lightplan.site.schema_site import PowerTable, RateRow
from lightplan.site.tariff import gaps
from lightplan.site.values import DAY_GROUPS, DAYS

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
TOLD_GAPS = 4  # after so many the grower has seen what is wrong


@rule(PowerTable, "capacity_kw", "other_kw")
def something_left(row: Row, around: Around) -> Iterator[Problem]:
    if row["other_kw"] >= row["capacity_kw"]:
        below = f", not above {row.told('other_kw')}: nothing is left for lamps"
        if row.gave("capacity_kw"):
            yield wrong(row, "capacity_kw", f"{below}; give what the breaker carries", "capacity")
        else:
            yield row.problem(
                "other_kw",
                f"{row.told('other_kw')} leaves nothing of capacity_kw "
                f"{row['capacity_kw']:g} (the default); give what the breaker carries",
                "capacity",
            )


@rule(RateRow, "from", "to")
def some_time(row: Row, around: Around) -> Iterator[Problem]:
    if row["from"] == row["to"]:
        yield wrong(
            row, "to", ', the same as from; for the whole day give from = "00:00", to = "24:00"', "no-time"
        )
    if row["from"] == 24 * 60:
        yield wrong(row, "from", '; the day\'s end is only an end: give "00:00"', "no-time")


@rule(PowerTable, "rates")
def every_hour_priced(row: Row, around: Around) -> Iterator[Problem]:
    if not row["rates"]:
        return
    found = sorted(
        gaps(a_rate(rate) for rate in row["rates"]), key=lambda gap: (min(gap[0]), min(gap[1]), gap[2])
    )
    told = [f"{hours(span)}{_on(days)}{_in(months)}" for months, days, span in found[:TOLD_GAPS]]
    if found:
        more = f" and {len(found) - TOLD_GAPS} more" if len(found) > TOLD_GAPS else ""
        yield row.problem(
            "rates", f"rates leave no price for {'; '.join(told)}{more}; add a row for it", "tariff-gap"
        )


def hours(span: tuple[int, int]) -> str:
    return "–".join(f"{minutes // 60:02}:{minutes % 60:02}" for minutes in span)


def _on(days: frozenset[int]) -> str:
    if len(days) == 7:
        return ""
    group = next((name for name, numbers in DAY_GROUPS.items() if numbers == days), None)
    return f" on {group or a_list((DAYS[number] for number in sorted(days)), 'and')}"


def _in(months: Iterable[int]) -> str:
    numbers = sorted(months)
    if 6 < len(numbers) < 12:
        others = a_list((MONTHS[number - 1] for number in range(1, 13) if number not in numbers), "and")
        return f" in all months but {others}"
    return "" if len(numbers) == 12 else f" in {a_list((MONTHS[number - 1] for number in numbers), 'and')}"


RULES = (something_left, some_time, every_hour_priced)
