"""What is to be known about a bench, in words: one entry for each slug of `Note.slug`."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from lightplan.dayplan import Note
from lightplan.report.names import crop_name
from lightplan.report.units import Units, capital, figure, listing, short

Values = Mapping[str, Any]

HINDRANCES = {
    "lamp-hours": "the hours that lamps may run",
    "dark": "the dark that the crop needs",
    "capacity": "the power that may be drawn",
    "lamp-light": "the strength of the lamps",
    "no-lamps": "there are no lamps here",
    "stage": "lamps are not used at this stage",
    "window": "this sheet starts too late in the day",
    "starts": "the starts and timer pairs allowed",
}


def _stands_in_the_way(values: Values) -> str:
    because = HINDRANCES[values["because"]]
    return because if because.startswith(("there", "lamps", "this")) else f"what stands in the way: {because}"


# slug: words from its values. The values each slug takes stand beside the entry.
NOTES: dict[str, Callable[[Values, Units], str]] = {
    # no values
    "usual-assumed": lambda v, u: "no record of what was set yesterday; the lamps' usual hours are counted",
    "usual-unknown": lambda v, u: "no record of what was set yesterday and no usual hours; lamps counted as off",
    # total, target [mol], because: a key of HINDRANCES
    "target-missed": lambda v, u: (
        f"ends {short(v['target'] - v['total'])} mol under its target of {short(v['target'])}; {_stands_in_the_way(v)}"
    ),
    # total, minimum [mol], because
    "minimum-missed": lambda v, u: (
        f"ends {short(v['minimum'] - v['total'])} mol under its minimum of {short(v['minimum'])};"
        f" {_stands_in_the_way(v)}"
    ),
    # hours with light enough, wanted [h], because
    "seed-light-missed": lambda v, u: (
        f"seed gets light for {short(v['hours'])} of {short(v['wanted'])} h; {_stands_in_the_way(v)}"
    ),
    # crops: names; the highest needs and strictest limits were taken
    "batches-share": lambda v, u: (
        f"{listing([crop_name(c) for c in v['crops']])} share the bench: the highest need and strictest limit hold"
    ),
    # crop, other: names; crop's target passes the other's limit: target, limit [mol]
    "batches-conflict": lambda v, u: (
        f"{crop_name(v['crop'])} wants {short(v['target'])} mol, more than {crop_name(v['other'])} bears"
        f" ({short(v['limit'])}); part them if you can"
    ),
    # peak, limit [umol], minutes above it
    "ppfd-over-limit": lambda v, u: (
        f"sun passes the limit of {u.ppfd(v['limit'])} for {figure(v['minutes'])} min, up to {u.ppfd(v['peak'])};"
        " watch the plants at noon"
    ),
    # total, limit [mol]
    "dli-over-limit": lambda v, u: (
        f"the day's light of {short(v['total'])} mol passes the limit of {short(v['limit'])}; watch for bleaching"
    ),
    # ppfd [umol]: light of a lit germination chamber, shown for comparison only
    "lit-chamber": lambda v, u: f"a lit germination chamber needs no more than {figure(v['ppfd'])} μmol",
    # crop
    "seed-wants-dark": lambda v, u: f"{crop_name(v['crop'])} seed wants dark until it comes up",
    # crop, hours, critical [h]
    "day-too-long": lambda v, u: (
        f"{crop_name(v['crop'])} is a short-day crop: it sees {short(v['hours'])} h of light,"
        f" {short(v['critical'])} h is where flowering is held back"
    ),
    # crop: one without values for this stage
    "no-needs": lambda v, u: f"the tables hold no light need for {crop_name(v['crop'])} at this stage",
    # days: dates that the same timer setting must serve
    "timer-spans-days": lambda v, u: f"the timer serves {figure(v['days'])} days; it is set for the dullest of them",
    # share [0..1] of fixtures that work
    "lamps-out": lambda v, u: f"counted with {figure(v['share'] * 100)} % of the lamps working",
}


def note_words(note: Note, units: Units) -> str:
    """One sentence without the bench's name. KeyError on a slug or value without an entry."""
    return capital(NOTES[note.slug](dict(note.values), units)) + "."
