"""What is to be known about a bench, in words: one entry for each slug of `Note.slug`."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from lightplan.dayplan import Note
from lightplan.report.day_words import DAY_NOTES
from lightplan.report.names import crop_name
from lightplan.report.units import Units, capital, dial_time, figure, hours, listing, short

Values = Mapping[str, Any]

# What stands in the way, as it reads after "because of"
HINDRANCES = {
    "lamp-hours": "the hours lamps may run",
    "dark": "the dark the crop needs",
    "capacity": "the power that may be drawn",
    "lamp-light": "the strength of the lamps",
    "no-lamps": "having no lamps",
    "stage": "its stage, which gets no lamps",
    "window": "the time left today",
    "starts": "the starts and timer pairs allowed",
    "switching": "the hours when somebody is there to switch",
    "sun-enough": "the sun, in which lamps stay off",
    "dli-limit": "the most light the crop bears in a day",
    "turned": "its day turned round",
}
WATCH = ", watch the plants at noon"
NOT_HELD = (", or helps enough to be worth a walk", "; what helps most is ordered")  # nothing, something is
OVER = "day-over"  # beside a note's own values: whether the sheet's day is over
BARE = "bare-minutes"  # the same: minutes over its temperature limit with nothing done, where told there
NAMED_BENCHES = 5  # a line about more benches counts them and names the worst


def _because(values: Values) -> str:
    return f"because of {HINDRANCES[values['because']]}"


def _poor(values: Values) -> str:
    return "was poor" if values[OVER] else "turns out poor"


def _short_of(values: Values, aim: str) -> str:
    missing = short(values[aim] - values["total"])
    poor = ""
    if "expected" in values:
        poor = f"if the day {_poor(values)}, "
        over = values["expected"] - values[aim]
        missing += " mol" + (" (expected enough)" if over >= 0 else f" (expected {short(-over)})")
        return f"{poor}ends {missing} under its {aim} of {short(values[aim])} {_because(values)}"
    return f"ends {missing} mol under its {aim} of {short(values[aim])} {_because(values)}"


def _conflict(values: Values) -> str:
    wanted, borne = short(values["target"]), short(values["limit"])
    return (
        f"{crop_name(values['crop'])} wants {wanted} mol, more than {crop_name(values['other'])} bears"
        f" ({borne}); part them if you can"
    )


def _over_ppfd(values: Values, units: Units) -> str:
    watch = "" if values[OVER] else "; watch the plants at noon"
    return (
        f"sun passes the limit of {units.ppfd(values['limit'])} for {figure(values['minutes'])} min,"
        f" up to {units.ppfd(values['peak'])}{watch}"
    )


def _noon_cut(values: Values, units: Units) -> str:
    return (
        f"if the meter at the bench shows more than {units.ppfd(values['ppfd'])} for an hour"
        f" around {values['at']:%H:%M}, switch the lamps off until {values['until']:%H:%M}"
    )


PLACES_SHORT = {"medium": "medium", "leaf": "leaves", "air": "air"}
PLACES = {"medium": "seed's medium", "leaf": "leaves", "air": "air at the plants"}
RULES_OF_THUMB = ("memory", "judgement")


def _thumb(values: Values) -> str:
    return " (rule of thumb)" if values["mark"] in RULES_OF_THUMB else ""


def _over_temperature(values: Values, units: Units) -> str:
    return (
        f"{PLACES[values['where']]} over the limit of {units.temperature(values['limit'])}{_thumb(values)}"
        f" for {figure(values['minutes'])} min"
    )


def _heat_saved(values: Values) -> str:
    bare, ordered = (hours(values[key] / 60) for key in ("bare", "ordered"))
    return f"{bare if values['bare'] else 'nothing'} becomes {ordered if values['ordered'] else 'nothing'}"


def _day_turned(values: Values) -> str:
    on, off = (dial_time(minute) for minute in values["cover"])
    way = f", day {values['back']} of {values['of']} on the way back" if values["back"] else ""
    return f"its day is turned round{way}: dark from {on} to {off}, do not lift the cover in between"


def _share(values: Values) -> str:
    crops = listing([crop_name(crop) for crop in values["crops"]])
    return f"{crops} share the bench; the highest need and the strictest limit hold"


# slug: words from its values. The values each slug takes stand beside the entry.
NOTES: dict[str, Callable[[Values, Units], str]] = {
    # no values
    "usual-assumed": lambda v, u: "no record of what was set yesterday; the lamps' usual hours are counted",
    "usual-unknown": lambda v, u: (
        "what was set yesterday is not known, and it has no usual hours; lamps counted as off"
    ),
    # total, target [mol], because: a key of HINDRANCES
    "target-missed": lambda v, u: _short_of(v, "target"),
    # total on a poor day, minimum [mol], because; expected total where it is another
    "minimum-missed": lambda v, u: _short_of(v, "minimum"),
    # hours with light enough, wanted [h], because
    "seed-light-missed": lambda v, u: (
        f"seed gets light for {short(v['hours'])} of {short(v['wanted'])} h {_because(v)}"
    ),
    # crops: names
    "batches-share": lambda v, u: _share(v),
    # crop, other: names; crop's target passes the other's limit: target, limit [mol]
    "batches-conflict": lambda v, u: _conflict(v),
    # peak, limit [umol], minutes above it
    "ppfd-over-limit": _over_ppfd,
    # total, limit [mol]
    "dli-over-limit": lambda v, u: (
        f"the day's {short(v['total'])} mol pass the limit of {short(v['limit'])}; watch for bleaching"
    ),
    # ppfd [umol]: light of a lit germination chamber, shown for comparison only
    "lit-chamber": lambda v, u: f"lamps of {figure(v['ppfd'])} μmol are enough for the seed",
    # crop
    "seed-wants-dark": lambda v, u: f"{crop_name(v['crop'])} seed wants dark until it comes up",
    **DAY_NOTES,
    # crop: one without values for this stage
    "no-needs": lambda v, u: f"the tables hold no light need for {crop_name(v['crop'])} at this stage",
    # days: dates that the same timer setting must serve
    "timer-spans-days": lambda v, u: (
        f"the timer serves {figure(v['days'])} days; it is set for the dullest of them"
    ),
    # share [0..1] of the day's light that snow on the roof leaves
    "snow-on-roof": lambda v, u: (
        f"snow on the roof: about {figure(v['share'] * 100)} % of the light comes through (rule of thumb)"
    ),
    # share [0..1] of the day's light that drops on the glazing leave
    "wet-glazing": lambda v, u: (
        f"drops on the glazing take about {figure((1 - v['share']) * 100)} % of the light (rule of thumb)"
    ),
    # at: instant of one meter reading, ppfd [umol]: what it shows if the day needs no lamps after it,
    # until: instant at which their last run would end
    "noon-cut": _noon_cut,
    # where: "medium" | "leaf" | "air"; limit [°C], minutes above it, mark: what the limit rests on
    "temperature-over-limit": lambda v, u: _over_temperature(v, u),
    # house: its name; shut, vented: highest air in it with vents shut and opened in time; vent_at [°C]
    "vents-by-hand": lambda v, u: (
        f"house vents counted as shut, {u.peak(v['shut'])} {u.degree} in its air; open from"
        f" {u.temperature(v['vent_at'])} on they hold {u.peak(v['vented'])} {u.degree}"
    ),
    # low: coldest house air, heat_to [°C]
    "house-cold": lambda v, u: (
        f"house air may fall to {u.temperature(v['low'])}, its heating is set to"
        f" {u.temperature(v['heat_to'])}"
    ),
    # low: coldest house air, limit [°C]
    "hardening-cold": lambda v, u: (
        f"plants that harden off may meet {u.temperature(v['low'])}; cover them or bring them in below"
        f" {u.temperature(v['limit'])} (rule of thumb)"
    ),
    # own: limit_c of the site file, second: the step 5 K above it, kill: what kills seed [°C]
    "own-limit-past-seed-kill": lambda v, u: (
        f"your own limit of {u.temperature(v['own'])} puts the second warning at"
        f" {u.temperature(v['second'])}; moist seed is at risk from"
        f" {u.temperature(v['kill'])} on (from memory)"
    ),
    # cost: light [mol] that covers keep out
    "cover-costs": lambda v, u: f"covers keep out {short(v['cost'])} mol",
    # bare, ordered: minutes over the temperature limit, nothing done and as ordered
    "heat-saved": lambda v, u: f"over the temperature limit {_heat_saved(v)}",
    # short: mol under the minimum for a cover's sake
    "cover-under-minimum": lambda v, u: (
        f"the cover takes the day {short(v['short'])} mol under its minimum; without it heat would kill"
    ),
    # ordered: whether something is; minutes are told with the limit
    "limit-not-held": lambda v, u: f"nothing at hand holds all of its limits{NOT_HELD[bool(v['ordered'])]}",
    # cover: minutes of the dark cover; back: day on the way back (0: not yet), of: their number
    "day-turned": lambda v, u: _day_turned(v),
    # why: a sentence that names file, key and what would do
    "not-turned": lambda v, u: f"not turned round: {v['why'].removesuffix('.')}",
    # after: minute at which its dark cover comes off; crop
    "sow-turned": lambda v, u: (
        f"sow {crop_name(v['crop'])} this evening, once it is uncovered at {dial_time(v['after'])}; the empty"
        " bench cools under the cover until then"
    ),
    # no values: over the limit for more than two hours though it is dark; its minutes are told besides
    "turned-too-hot": lambda v, u: (
        "too hot under its cover too: after two such days in three move the trays to a cool room"
    ),
    # no values
    "shade-wanted": lambda v, u: (
        "none of its covers shades it on the way back: lay some cloth over it in the morning"
    ),
    # no values
    "turned-back-tomorrow": lambda v, u: (
        "the last dark day: from tomorrow on a bench like any other, its tent off for good"
    ),
    # heat_to: of the site file, limit: of the seed [°C]
    "heat-turned-down": lambda v, u: (
        f"turn its heat down: it is set to {u.temperature(v['heat_to'])}, the seed bears"
        f" {u.temperature(v['limit'])}"
    ),
    # crop: one that leaves the bench before its day is turned back
    "leaves-turned": lambda v, u: (
        f"{crop_name(v['crop'])} leaves tomorrow, still used to the dark: shade it from noon sun for five"
        " days"
    ),
    # share [0..1] of fixtures that work
    "lamps-out": lambda v, u: f"counted with {figure(v['share'] * 100)} % of the lamps working",
}


def _over_temperature_item(name: str, values: Values, units: Units) -> str:
    where = PLACES_SHORT[values["where"]]
    words = f"{name} {where} {units.temperature(values['limit'])} for {figure(values['minutes'])} min"
    bare = values.get(BARE)
    return words if bare is None else f"{words}, {hours(bare / 60)} with nothing done"


def _over_ppfd_item(name: str, values: Values, units: Units) -> str:
    return f"{name} for {figure(values['minutes'])} min"


def _vents_item(name: str, values: Values, units: Units) -> str:
    open_from = f"{units.peak(values['vented'])} if open from {units.temperature(values['vent_at'])}"
    return f"{values['house']} {units.peak(values['shut'])} {units.degree} ({open_from})"


# Said of many benches at once: what opens the line, and each bench's (or house's) own words in it.
GROUPED: dict[str, tuple[Callable[[Values], str], Callable[[str, Values, Units], str]]] = {
    "temperature-over-limit": (lambda v: f"Over the temperature limit{_thumb(v)}", _over_temperature_item),
    "ppfd-over-limit": (lambda v: f"Sun over the limit{'' if v[OVER] else WATCH}", _over_ppfd_item),
    "vents-by-hand": (lambda v: "House vents counted as shut", _vents_item),
    "heat-saved": (lambda v: "Hours too hot, as ordered", lambda name, v, u: f"{name} {_heat_saved(v)}"),
    "cover-costs": (lambda v: "Covers keep out", lambda name, v, u: f"{short(v['cost'])} mol at {name}"),
}

SHORTFALLS = {"target-missed": "target", "minimum-missed": "minimum"}


def bench_lines(notes: Sequence[tuple[str, Note]], units: Units, *, over: bool = False) -> tuple[str, ...]:
    """Notes as lines of the sheet, benches with the same thing to be said on one line.

    notes : name of the bench and note, in the order of the sheet. over : the sheet's day is over.
    """
    missing: dict[str, list[tuple[float, str]]] = {}
    others: dict[str, list[str]] = {}
    grouped: dict[str, list[str]] = {}
    saved = _saved_beside(notes)
    for name, note in notes:
        values: Values = {**dict(note.values), OVER: over}
        if name in saved and note.slug == "heat-saved":
            continue
        if name in saved and note.slug == "temperature-over-limit":
            values = {**values, BARE: saved[name]}
        if note.slug in GROUPED:
            opening_of, item_of = GROUPED[note.slug]
            items, item = grouped.setdefault(opening_of(values), []), item_of(name, values, units)
            if item not in items:
                items.append(item)
            continue
        aim = SHORTFALLS.get(note.slug)
        if aim is None:
            others.setdefault(NOTES[note.slug](values, units), []).append(name)
        else:
            gap = values[aim] - values["total"]
            expected = values.get("expected")
            opening = f"Under the {aim} {_because(values)}"
            item = f"{name} by {short(gap)} of {short(values[aim])} mol"
            if expected is not None and expected < values[aim]:
                item = f"{name} by {short(values[aim] - expected)} of {short(values[aim])} mol" + (
                    f", {short(gap)} if the day {_poor(values)}"
                )
            elif expected is not None:
                opening = f"Under the {aim} if the day {_poor(values)}, {_because(values)}"
            missing.setdefault(opening, []).append((gap, item))
    return (
        *(f"{opening}: {_worst(found)}." for opening, found in missing.items()),
        *(f"{opening}: {listing(items)}." for opening, items in grouped.items()),
        *(f"{listing(names)}: {words}." for words, names in others.items()),
    )


def _saved_beside(notes: Sequence[tuple[str, Note]]) -> dict[str, float]:
    """Minutes too hot with nothing done, of benches whose minutes as ordered are told with their limit."""
    told = {
        name: dict(note.values)["minutes"] for name, note in notes if note.slug == "temperature-over-limit"
    }
    each = ((name, dict(note.values)) for name, note in notes if note.slug == "heat-saved")
    return {name: float(v["bare"]) for name, v in each if told.get(name) == v["ordered"]}  # type: ignore[arg-type]


def _worst(found: list[tuple[float, str]]) -> str:
    if len(found) > NAMED_BENCHES:
        return f"{len(found)} benches, most of all {max(found)[1]}"
    return listing([words for _, words in found])


def note_words(note: Note, units: Units, *, over: bool = False) -> str:
    """One sentence without the bench's name. KeyError on a slug or value without an entry."""
    return capital(NOTES[note.slug]({**dict(note.values), OVER: over}, units)) + "."
