"""Day length in words: what is told of a bench whose day is too long or too short, and of dark covers."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from lightplan.crops.day_length import DayKind
from lightplan.dayplan import BenchDay
from lightplan.report.names import crop_name
from lightplan.report.units import Units, figure, hours, listing, short

Values = Mapping[str, Any]

TOO_SHORT = {
    "no-lamps": "it has no lamps; weak ones (2 μmol) will do, lit 4 h around midnight",
    "lamp-light": "its lamps are too weak; 2 μmol at the darkest spot will do",
    "switching": "nobody is there to switch the lamps by night; put them on a timer",
    "lamp-hours": "its lamp hours do not reach into the night; 22:00–02:00 would do",
    "capacity": "its lamps can't all burn by night; weak ones (2 μmol) would do",
}


def _too_long(values: Values) -> str:
    wanted = f"{crop_name(values['crop'])} wants a day of {short(values['critical'])} h at most"
    purpose = "" if values["flowers"] else " to hold flowers back"
    seen = "has no dark at all" if values["hours"] >= 24 else f"sees {hours(values['hours'])}"
    return f"{wanted}{purpose} and {seen}, {_cause(values)}; {_help(values)}{_kept_open(values)}"


KEPT_OPEN = {
    "long-day": "{} wants long days",
    "turned": "the day of {} is turned round",
    "lit": "lamps of {} burn then",
    "light": "{} would lack light",
}


def _kept_open(values: Values) -> str:
    """Why the dark cover over the house is no help."""
    reason = values["kept_open"]
    if not reason:
        return ""
    return f"; the one over the house stays open, since {KEPT_OPEN[reason].format(values['for_bench'])}"


def _cause(values: Values) -> str:
    if values["cause"] == "stray":
        return f"with {values['by']} μmol of yard light on it"
    if values["cause"] == "sun":
        return "by the sun alone"
    whose = "its own lamps as they are set" if values["cause"] == "lamps" else f"lamps of {values['by']}"
    return f"{hours(values['natural'])} of it by the sun, the rest by {whose}"


def _help(values: Values) -> str:
    if values["help"] == "nobody":
        first = {
            "stray": "screen that light off; ",
            "spill": "hang a curtain between, or move one of the two; ",
        }
        nobody = "nobody is there in time to lay a cover on and take it off"
        return f"{first.get(values['cause'], '')}{nobody}; a night missed may cost a day"
    times = f" {values['on']:%H:%M}–{values['off']:%H:%M}" if "on" in values else " each night"
    cover = "a dark cover" + times
    if values["cause"] == "stray":
        return f"screen that light off, or lay on {cover}"
    if values["cause"] == "spill":
        return f"hang a curtain between, move one of the two, or lay on {cover}"
    if values["cause"] == "lamps":
        return f"stronger lamps inside the day give the light without the length; or {cover}"
    return f"{cover} would make it short"


def _too_short(values: Values) -> str:
    aim = "to flower soon" if values["flowers"] else "to be held back from flowering"
    return (
        f"{crop_name(values['crop'])} wants a day of {short(values['critical'])} h at least {aim} and sees"
        f" {hours(values['hours'])}: {TOO_SHORT[values['because']]}"
    )


# slug: words from its values, as in `notes.NOTES`
DAY_NOTES: dict[str, Callable[[Values, Units], str]] = {
    # crop, flowers: whether to bring them on, hours seen, critical [h], natural: hours without lamps and
    # covers, cause: sun | lamps | stray | spill, by: what or who, help: nobody | at-hand | cover;
    # kept_open: a key of KEPT_OPEN or nothing, for_bench: whose; on, off: instants of a cover that would do
    "day-too-long": lambda v, u: _too_long(v),
    # crop, flowers, hours seen, critical [h], because: a key of TOO_SHORT
    "day-too-short": lambda v, u: _too_short(v),
    # crop: whose short day holds, other: one that wants a long day
    "day-contrary": lambda v, u: (
        f"{crop_name(v['crop'])} wants short days and {crop_name(v['other'])} long ones; the short day holds,"
        f" part them if {crop_name(v['other'])} is to flower soon"
    ),
    # turns, of: minutes
    "lit-by-turns": lambda v, u: (
        f"in the middle of the night its lamps burn {figure(v['turns'])} min in every {figure(v['of'])}"
    ),
    # by: benches with lamps, reach [m] of their light
    "spill-unknown": lambda v, u: (
        f"lamps of {listing(v['by'])} burn by night, and where the benches stand is not given: their light"
        f" breaks a short day within about {figure(v['reach'])} m (rule of thumb)"
    ),
    # peak: under a dark cover, limit [°C]
    "blackout-warm": lambda v, u: (
        f"under its dark cover it may reach {u.peak(v['peak'])} {u.degree}; over"
        f" {u.temperature(v['limit'])} by night flowers come later (rule of thumb): air it after dark"
    ),
    # leak, limit [umol]
    "blackout-leaks": lambda v, u: (
        f"its dark cover lets {short(v['leak'])} μmol through, more than {short(v['limit'])} (rule of thumb):"
        " a second layer, or later of an evening"
    ),
}


def day_length_cell(bench: BenchDay) -> str:
    """`11.9 h most 12`: the day as plants see it, and the most or least that is wanted of it."""
    if bench.photoperiod_h is None:
        return "–"
    seen = f"{short(bench.photoperiod_h)}\N{NO-BREAK SPACE}h"
    if bench.day_aim is None:
        return seen
    bound = "most" if bench.day_aim.kind is DayKind.SHORT else "least"
    return f"{seen} {bound}\N{NO-BREAK SPACE}{short(bench.day_aim.wanted_h)}"
