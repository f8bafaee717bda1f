"""Rules of batches: dates in order, and no crop at one stage twice on a bench."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from lightplan.site.crop_names import crop_called
from lightplan.site.problems import Problem
from lightplan.site.rows import Row, wrong
from lightplan.site.rule import Around, rule
from lightplan.site.rules_house import to_after_from
from lightplan.site.schema_bench import BatchRow, BenchTable

NEEDED = ("crop", "stage", "from", "to")


@rule(BatchRow, "from", "to")
def batch_in_order(row: Row, around: Around) -> Iterator[Problem]:
    yield from to_after_from(row)


@rule(BatchRow, "sown", "from")
def sown_first(row: Row, around: Around) -> Iterator[Problem]:
    if row["sown"] is not None and row["sown"] > row["from"]:
        told = f", after {row.told('from')}; it is sown on or before its first date on the bench"
        yield wrong(row, "sown", told, "dates-reversed")


def overlapping(bench: Row) -> Iterator[tuple[Row, Row]]:
    """Pairs of batches of one crop that stand on the bench on one date at least, the earlier row first."""
    sound = [batch for batch in bench.children.get("batch", ()) if batch.has(*NEEDED)]
    for one, other in combinations(sound, 2):
        same = crop_called(one["crop"]) == crop_called(other["crop"]) is not None
        if same and max(one["from"], other["from"]) <= min(one["to"], other["to"]):
            yield one, other


@rule(BenchTable)
def no_batch_twice(row: Row, around: Around) -> Iterator[Problem]:
    for one, other in overlapping(row):
        if one["stage"] == other["stage"]:
            first, last = max(one["from"], other["from"]), min(one["to"], other["to"])
            dates = f"from {first} to {last}" if first < last else f"on {first}"
            told = f"stands on the bench at the same stage as {one.place.rsplit(', ', 1)[-1]}, {dates}"
            yield other.problem(
                "from", f"{told}; set the dates apart, or make one batch of the two", "overlap"
            )


RULES = (batch_in_order, sown_first, no_batch_twice)
