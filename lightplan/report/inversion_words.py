"""What an inverted bench's plan says: conflicts, calendar and other ways out, in a grower's words."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from typing import Any

from lightplan.advice.inversion import Inversion
from lightplan.advice.inversion.task import Advice, Alternative, Remark
from lightplan.report.names import STAGES, cover_name, crop_name
from lightplan.report.units import (
    WEEKDAYS,
    Units,
    capital,
    day_month,
    dial_time,
    figure,
    hours,
    listing,
    short,
)
from lightplan.site.models import Site, Span

Values = Mapping[str, Any]
Words = Callable[[Values, Units], str]
HARDLY_ANY = 0.05  # of seed that comes up: not worth a figure; judgement
FAN_OR_VENTS = "vents stay open day and night, and fans run, for as long as it is hot"


def _clock(minutes: int) -> str:
    return dial_time(minutes % 1440)


def _span(span: Span) -> str:
    return f"{_clock(span[0])} to {_clock(span[1])}"


def _many(count: int, thing: str) -> str:
    return f"{count} {thing}" if count == 1 else f"{count} {thing}s"


def _crew_away(v: Values, u: Units) -> str:
    who = f"on {WEEKDAYS[v['weekday']]}s "
    if v["hours"] is None:
        return f"{who}nobody comes: somebody must cover and uncover by hand, or the bench cooks or stays dark"
    return (
        f"{who}the crew is there from {_span(v['hours'])} only, not {_span(v['usual'])}: somebody must "
        "come for the cover at the plan's hours"
    )


def _covered_late(v: Values, u: Units) -> str:
    if not v["by_heat"]:
        return (
            f"the cover should lie by {_clock(v['latest'])}, two hours after sunrise; it lies at "
            f"{_clock(v['on'])}"
        )
    if v["latest"] <= 0:
        return "on the warmest mornings house air is over the limit all night, before the cover is on"
    return (
        f"on warm mornings house air passes the limit at {_clock(v['latest'])}; the cover lies at "
        f"{_clock(v['on'])}, when somebody is there"
    )


def _uncovered_early(v: Values, u: Units) -> str:
    worse = v["days_over"] - v["then_days"]
    days = f" and {_many(worse, 'day')} more over the limit in {v['days']}" if worse > 0 else ""
    costs = f"a peak of {u.temperature(v['peak_c'])} instead of {u.temperature(v['then_c'])}{days}"
    if v["passed"] is not None and v["passed"] <= v["off"]:
        return (
            f"the evening sun warms the bench from {_clock(v['off'])} on, when the cover comes off; against "
            f"leaving it on until {_clock(v['until'])} that costs {costs}"
        )
    passed = "after midnight" if v["passed"] is None else f"only at {_clock(v['passed'])}"
    return (
        f"house air falls below the bench's {passed}; the cover comes off at {_clock(v['off'])}, in the last "
        f"crew hour, and that costs {costs}"
    )


def _limit_unknown(v: Values, u: Units) -> str:
    return (
        f"the tables hold no upper temperature for this seed; {u.temperature(v['limit'])}, which kills moist "
        "seed (from memory), stands in: give your own as limit_c"
    )


# slug: words from its values
CONFLICTS: dict[str, Words] = {
    "batch-there": lambda v, u: (
        f"{crop_name(v['crop'])} ({STAGES[v['stage']]}) stands on the bench from {day_month(v['first'])} "
        f"to {day_month(v['last'])}; the plan counts the bench as empty"
    ),
    "covered-late": _covered_late,
    "uncovered-early": _uncovered_early,
    "cover-life": lambda v, u: (
        f"{cover_name(v['cover'])} works for {short(v['life_h'])} h, the dark lasts {hours(v['dark_h'])}"
    ),
    "crew-away": _crew_away,
    "days-off": lambda v, u: (
        f"nobody comes on {listing([day_month(day) for day in v['dates']])}: somebody must cover and uncover"
    ),
    "light-short": lambda v, u: (
        f"the night's lamps bring {short(v['mol'])} mol and the sun {short(v['sun'])} on a poor day; "
        f"seedlings need {short(v['minimum'])}: the first may stretch, so never put the turn-back off"
    ),
    "weak-for-seed": lambda v, u: (
        f"the lamps bring {u.ppfd(v['ppfd'])} at the tray, seed that needs light wants {u.ppfd(v['wanted'])}"
    ),
    "evening-sun": lambda v, u: (
        f"as the cover comes off at {_clock(v['off'])} the sun may still bring {u.ppfd(v['ppfd'])}, over the "
        f"{u.ppfd(v['limit'])} that new seedlings bear: shade them until it is lower"
    ),
    "night-light": lambda v, u: (
        f"{crop_name(v['crop'])} on {v['bench']} in the same house is a short-day crop: lamps through the "
        "night hold its flowers back; screen it off or move it"
    ),
    "over-capacity": lambda v, u: (
        f"the lamps draw {short(v['draw'], 2)} kW, more than the {short(v['most'], 2)} kW all lamps may draw"
    ),
    "shared-capacity": lambda v, u: (
        f"with the other benches' lamps ({short(v['beside'], 2)} kW) these ({short(v['draw'], 2)} kW) pass "
        f"the {short(v['most'], 2)} kW all lamps may draw; the others stay off while these burn, from "
        f"{_clock(v['on'])}"
    ),
    "tent-fixed": lambda v, u: "the tent can't be opened, so heat stays in it by night",
    "heating-too-warm": lambda v, u: (
        f"the bench is heated to {u.temperature(v['heat_to'])}, over the limit of "
        f"{u.temperature(v['limit'])}: the plan counts on its heat turned down"
    ),
    "limit-unknown": _limit_unknown,
    "no-shade": lambda v, u: (
        "the bench and its house have no shade; a shade cloth may do instead of all this"
    ),
    "weather-guessed": lambda v, u: (
        "air temperatures are a guess from the date and place; a typical year is better"
    ),
    "hot-later": lambda v, u: (
        f"seed sown on {day_month(v['sown'])} lies in the medium until {day_month(v['up'])}, and more than 2 "
        "days in 10 of those are too hot, open and under shade"
    ),
}


def _look(v: Values, u: Units) -> str:
    return (
        f"Look for seedlings twice a day: as the cover goes on ({_clock(v['on'])}) and as it comes off "
        f"({_clock(v['off'])}), never in between; until {day_month(v['last'])}"
    )


def _sow(v: Values, u: Units) -> str:
    seed = {
        "dark_needed": "; this seed wants dark: cover it with medium, then it may stand in lit air "
        "(common practice)",
        "light_needed": "; this seed needs light: leave it uncovered with medium",
    }.get(v["requirement"], "")
    return (
        f"Cover the empty bench at {_clock(v['on'])}, so that it is cool; sow in the evening, after "
        f"{_clock(v['after'])}, with cool water{seed}"
    )


def _turn(v: Values, u: Units) -> str:
    lamps = "no lamps" if v["lamps"] is None else f"lamps {_span(v['lamps'])}"
    over = cover_name(v["shade"]) if v["shade"] else "some shade"
    on, off = (_clock(minute) for minute in v["cover"])
    return (
        f"Turn-back day {v['number']}: {over} on in the morning, the dark cover over it at {on}, both off at "
        f"{off}; {lamps}"
    )


def _try_out(v: Values, u: Units) -> str:
    vents = f". {capital(FAN_OR_VENTS)}" if v["vents"] else ""
    return (
        f"Try it empty: {cover_name(v['cover'])} on {_clock(v['on'])} to {_clock(v['off'])}, a thermometer "
        f"in wet medium; it is to stay under {u.temperature(v['limit'])}{vents}"
    )


def _most_up(v: Values, u: Units) -> str:
    who = "All that come up should be up" if v["last"] else "Most are up"
    return f"{who}: no lid or film over them by night; the dark by day goes on until the turn-back"


def _neighbours(v: Values, u: Units) -> str:
    each = listing([f"{one['bench']} ({crop_name(one['crop'])})" for one in v["each"]])
    return (
        f"Before the lamps burn by night, screen off or move {each}: night light holds short-day crops' "
        "flowers back"
    )


# slug: the calendar's words
CALENDAR: dict[str, Words] = {
    "try-out": _try_out,
    "sow": _sow,
    "lamps-begin": lambda v, u: f"Lamps every night from now on, {_span((v['on'], v['off']))}",
    "dark-days": lambda v, u: (
        f"First day in the dark. Every day from now on: lamps off, then tent closed and cover on at "
        f"{_clock(v['on'])}; cover off and tent open at {_clock(v['off'])}, then lamps. Water as the cover "
        "comes off; under it little dries"
    ),
    "watch": lambda v, u: (
        f"Three days of thermometer readings at uncovering: over {u.temperature(v['limit'])} on two of them, "
        "move the trays to a cool room"
    ),
    "look": _look,
    "lamps-at-emergence": lambda v, u: f"From the first seedling on: lamps {_span((v['on'], v['off']))}",
    "most-up": _most_up,
    "neighbours": _neighbours,
    "last-up": lambda v, u: "The last should be up",
    "turn": _turn,
    "turned-back": lambda v, u: (
        "Turned back: tent off for good, no dark cover, no night lamps. From here on the morning sheet "
        "orders light, shade and covers as for any bench"
    ),
}


def conflict_words(remark: Remark, units: Units) -> str:
    """KeyError on a slug or value without an entry; so with the others here."""
    return capital(CONFLICTS[remark.slug](dict(remark.values), units)) + "."


def calendar_words(remark: Remark, units: Units) -> str:
    return CALENDAR[remark.slug](dict(remark.values), units) + "."


def _figures(one: Alternative, units: Units) -> str:
    assert one.peak_c is not None and one.days is not None
    peak = units.peak(one.peak_c)
    comes = ""
    if one.comes_up is not None:
        comes = f", at least {figure(100 * one.comes_up)} % comes up"
        comes = comes if one.comes_up >= HARDLY_ANY else ", seed may fail altogether"
    over = "no day too hot" if not one.days_over else f"{_many(one.days_over, 'day')} in {one.days} too hot"
    return f"medium up to {peak} {units.degree}, {over}{comes}"


def names_in(site: Site) -> dict[str, str]:
    """Names of benches and houses by id."""
    return {b.id: b.name for b in site.benches} | {h.id: h.name for h in site.houses}


def alternative_words(one: Alternative, plan: Inversion, names: Mapping[str, str], units: Units) -> str:
    """names : of benches and houses, by id."""
    if one.kind == "cool-room":
        assert one.peak_c is not None
        comes = "" if one.comes_up is None else f"; about {figure(100 * one.comes_up)} % comes up there"
        return (
            f"A cool room at {units.temperature(one.peak_c)}, {_many(one.days or 0, 'day')} for each sowing, "
            f"with a lamp where the seed needs light{comes}."
        )
    figures = _figures(one, units)
    if one.kind == "house-shade":
        return f"Turned round, with {cover_name(one.cover or '')} over the whole house by day: {figures}."
    if one.kind == "other-bench":
        busy = "; taken on some of those dates" if one.busy else ""
        where = f"{names[one.bench or '']}, {names[one.house or '']}"
        return f"{where}, not turned round: {figures}{busy}."
    assert one.sow is not None
    when = _when(one.sow, plan)
    if one.kind == "wait":
        return f"Wait and sow {when}: nothing to turn round then; {figures}."
    return f"Turned round, sow {when} or later: {figures}."


def _when(sow: date, plan: Inversion) -> str:
    return f"on {day_month(sow)}" + ("" if sow.year == plan.place.dates[0].year else f" {sow.year}")


VERDICTS = {
    Advice.NOT_NEEDED: (
        "It need not be turned round: {crop} stays cool enough with the tent off and vents open."
    ),
    Advice.SHADE: "Shade is enough for {crop}: tent off, vents open, shade over it by day.",
    Advice.INVERT: "Turn it round for {crop}: dark under {cover} by day, lamps by night.",
    Advice.TOO_HOT: "Too hot for {crop} on this bench, turned round or not: {instead}.",
}


def verdict_words(plan: Inversion) -> str:
    return VERDICTS[plan.verdict.advice].format(
        crop=crop_name(plan.seed.crop), cover=cover_name(plan.cover.name), instead=_instead(plan)
    )


def _instead(plan: Inversion) -> str:
    """The first date that works, and how; else only what is cooler."""
    dated = [one for one in plan.alternatives if one.kind in ("wait", "invert-later")]
    first = min(dated, key=lambda one: one.sow or date.max, default=None)
    if first is None or first.sow is None:
        return "sow somewhere cooler, no week that was looked at works here"
    how = "turned round" if first.kind == "invert-later" else "nothing to turn round then"
    return f"sow from {_when(first.sow, plan).removeprefix('on ')} on ({how}), or somewhere cooler"
