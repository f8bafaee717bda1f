"""Cautions in words, each with what it defers to (`tables/safety.csv`).

A caution never replaces a code, a label or a licensed person: its last words name who decides.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache

from lightplan.tables import read_table


@dataclass(frozen=True)
class Caution:
    """words : the sentence. rows : keys of `safety.csv` whose `defer_to` is named after it."""

    words: str
    rows: tuple[str, ...] = ()


CAUTIONS = {
    "wet-electrics": Caution(
        "Lamps in the wet: ground-fault (residual-current) protected outlets, fixtures for wet places;"
        " a licensed electrician decides",
        ("gfci_hort", "rcd"),
    ),
    "continuous-load": Caution(
        "On 3 h or more, lamps may load a breaker to 80 %, unless it is rated for more",
        ("continuous80",),
    ),
    "lamps-near-film": Caution(
        "Keep lamps clear of film, cloth, paper and foam, which burn; the label gives the distance",
        ("clearance", "cover_over_lamp"),
    ),
    "covered-lamps": Caution(
        "Lamps off and cool before a bench is covered; a lamp left on under a cover is a fire",
        ("cover_over_lamp", "cover_interlock"),
    ),
    "hot-discharge-lamps": Caution(
        "Discharge lamps are hot and hold pressure: no water on them, change them by their rated life,"
        " and switch off one with a broken outer bulb at once",
        ("hid_rupture", "hid_water", "hid_broken_outer"),
    ),
    "metal-halide-weekly-off": Caution(
        "Metal halide lamps that run day and night: off for 15 minutes once a week",
        ("hid_rupture",),
    ),
    "bright-lamps": Caution("Do not look into lit lamps", ("optical",)),
    "red-blue-light": Caution(
        "Red-blue light hides hazards and sick plants: look at the crop under white light",
        ("colour_sight",),
    ),
    "isolate-first": Caution(
        "Switch off and unplug before moving lamps or covers near them",
        ("lockout",),
    ),
    "roof-work": Caution(
        "Glass and plastic roofs bear nobody: shade from the ground, boards or walkways, never in wind",
        ("roof_shading",),
    ),
    "snow-load": Caution(
        "Snow: never clear a roof from a ladder or from on it, and keep out of a house that sags under it",
        ("roof_shading",),
    ),
    "wind-covers": Caution(
        "Large sheets pull people over: no covering or uncovering in gusts",
        ("wind_cover",),
    ),
    "hot-work": Caution(
        "Hot work: water, shade, breaks, and a slow start for whoever is new to it",
        ("acclimatise",),
    ),
    "closed-after-spraying": Caution(
        "After spraying, air as the label says before closing or covering",
        ("pesticide_closed",),
    ),
    "timer-clock": Caution(
        "Clocks change before the next sheet; times after that are by the new clock. A timer that does not"
        " follow by itself runs an hour off until its clock is set: set it before you leave",
    ),
}


@cache
def _defer_to() -> dict[str, str]:
    return {row["caution_id"]: row["defer_to"] for row in read_table("safety")}


def caution_words(slug: str, *, us: bool) -> str:
    """The sentence and what it defers to. KeyError on a slug without an entry.

    us : whether codes of the United States are named; elsewhere those of the world's own bodies are, and
        the local code where the table holds none.
    """
    caution = CAUTIONS[slug]
    refers: list[str] = []
    for row in caution.rows:
        refers += [part for part in _defer_to()[row].split("; ") if part not in refers]
    if refers:
        refers = [part for part in refers if _holds_in(part, us=us)] or ["local code"]
    return f"{caution.words} ({'; '.join(refers)})." if refers else f"{caution.words}."


# How references of one country and of the world's standards bodies begin; all others hold anywhere
OF_THE_US = ("NFPA", "OSHA", "UL ", "NEMA", "IBC", "ANSI", "NIOSH", "ACGIH", "IES ", "California")
US_TITLES = re.compile(r"\d+ CFR")
ELSEWHERE = ("IEC", "ISO", "HSE")


def _holds_in(reference: str, *, us: bool) -> bool:
    american = reference.startswith(OF_THE_US) or US_TITLES.match(reference) is not None
    if us:
        return american or not reference.startswith(ELSEWHERE) or reference.startswith("IEC 62471")
    return not american
