"""What follows from a time zone's name: the units and the paper that people there use."""

from __future__ import annotations

from functools import cache
from importlib.resources import files

# Country codes of the tz database's zone.tab.
US_AND_TERRITORIES = frozenset({"US", "AS", "GU", "MP", "PR", "UM", "VI"})
LETTER_BESIDES = frozenset({"CA"})  # metric, but letter paper: common practice
# Zones that share a clock with another keep no line of their own there, nor do these older names.
OLDER_US_NAMES = frozenset({"EST5EDT", "CST6CDT", "MST7MDT", "PST8PDT", "Navajo", "Pacific/Samoa"})


@cache
def countries() -> dict[str, str]:
    """Zone name → country code, from zone.tab of the `tzdata` package."""
    text = (files("tzdata") / "zoneinfo" / "zone.tab").read_text(encoding="utf-8")
    rows = [line.split("\t") for line in text.splitlines() if line and not line.startswith("#")]
    return {row[2]: row[0] for row in rows}


def us_customary(zone: str) -> bool:
    """Whether people in a zone measure in feet and °F."""
    return countries().get(zone) in US_AND_TERRITORIES or zone.startswith("US/") or zone in OLDER_US_NAMES


def letter_paper(zone: str) -> bool:
    """Whether office paper there is US Letter."""
    return us_customary(zone) or countries().get(zone) in LETTER_BESIDES or zone.startswith("Canada/")
