"""Rows of the crop tables by crop: the one working (merged) row, and the crop's light limits."""

from __future__ import annotations

from functools import cache

from lightplan.tables import read_table


@cache
def _merged(table: str) -> dict[str, dict[str, str]]:
    return {row["crop"]: row for row in read_table(table) if row["record"] == "merged"}


def light_row(crop: str) -> dict[str, str] | None:
    """`crops_light.csv`: DLI by plug and finish, photoperiod class; None where it has none."""
    return _merged("crops_light").get(crop)


def germination_row(crop: str) -> dict[str, str] | None:
    """`crops_germination.csv`: temperature, light requirement, days to emerge."""
    return _merged("crops_germination").get(crop)


def limit_rows(crop: str, stage: str) -> tuple[dict[str, str], ...]:
    """`light_limits.csv` of a crop or group at one stage; a row for two stages counts for both."""
    digit = stage.removeprefix("stage_")
    return tuple(
        row
        for row in read_table("light_limits")
        if row["crop_or_group"] == crop
        and (
            row["stage"] == stage
            or (row["stage"].startswith("stage_") and digit in row["stage"].split("_")[1:])
        )
    )


def dark_rule(crop: str) -> dict[str, str]:
    """Row of `supplemental_rules.csv` with the unbroken dark of a crop past germination [h].

    Rules for less dark than unknown seedlings are given (pepper, lettuce) are left out: a shorter night is
    the grower's to choose, as `dark_h` (judgement).
    """
    rules = {
        row["applies_to"]: row for row in read_table("supplemental_rules") if row["topic"] == "dark_period"
    }
    return rules.get(crop, rules["all seedlings"])


def number(row: dict[str, str] | None, column: str) -> float | None:
    """A cell as a number; None where it is empty or there is no row."""
    return None if row is None or not row[column] else float(row[column])
