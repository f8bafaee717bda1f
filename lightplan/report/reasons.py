"""Why an order is given, in words: one entry for each rule of `Reason.rule`.

What `value` and `limit` hold for each rule, and the `unit` to give with them, stands beside the entry.
Units: "mol" (mol m⁻² d⁻¹), "umol" (µmol m⁻² s⁻¹), "h", "c" (°C), "kW", "d", "m/s".
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

from lightplan.dayplan import Certainty, Reason, Sign
from lightplan.report.units import Units, clock, figure, hours, short, weekday
from lightplan.site.models import Site

Words = Callable[[float, float, Units], str]


def _clock_change(shift_h: float, _: float, __: Units) -> str:
    way = "forward" if shift_h > 0 else "back"
    return f"clocks go {way} {hours(abs(shift_h))} in this time; timers follow their own clock"


def _lamps_enough(given: float, wanted: float, units: Units) -> str:
    of = "" if given > 0.99 * wanted else f"{short(given)} of "
    return f"they have given {of}the {units.mol(wanted)} wanted of them"


DAY = "{day}"  # stands for the name of `Reason.day`
POOR = "{poor}"  # how the sheet's own day may turn out, or was
# What is said besides where `Reason.day` is a later day that makes up what this one leaves short
BRIGHT_LATER = f"; bright {DAY} makes up the rest"
WITH_BRIGHT_LATER = {"dli-short", "minimum-short", "account-owed"}

# rule: (unit, words from value and limit). A rule without figures has unit None.
REASONS: dict[str, tuple[str | None, Words]] = {
    # sun DLI at the bench, target DLI
    "dli-short": ("mol", lambda v, lim, u: f"expected sun {short(v)} of {u.mol(lim)} wanted"),
    # sun DLI at the bench on the dullest later day for which lamps are ordered, target DLI; that day
    "dli-short-ahead": (
        "mol",
        lambda v, lim, u: f"{DAY} is expected to bring only {short(v)} of {u.mol(lim)}",
    ),
    # low point of a later day's sun DLI, minimum DLI; that day
    "minimum-short-ahead": (
        "mol",
        lambda v, lim, u: f"if {DAY} turns out poor: sun {short(v)}, minimum {u.mol(lim)}",
    ),
    # sun DLI at the bench on a bright later day, target DLI; that day
    "bright-ahead": (
        "mol",
        lambda v, lim, u: f"{DAY} is bright, its {short(v)} of {u.mol(lim)} make up for today",
    ),
    # what will be owed tonight, the most that may be owed
    "owed-for-now": (
        "mol",
        lambda v, lim, u: f"{short(v)} mol owed tonight, {short(lim)} may be; later hours make it up",
    ),
    # sun DLI at the bench, minimum DLI: what is held at least against the forecast's low end
    "minimum-short": (
        "mol",
        lambda v, lim, u: f"if today {POOR}: sun {short(v)}, minimum {u.mol(lim)}",
    ),
    # light in hand (negative: owed), the most that may be owed
    "account-owed": (
        "mol",
        lambda v, lim, u: f"{short(-v)} mol owed from past days, {short(lim)} is the most",
    ),
    # what the day's sun lacks of the target, light in hand
    "account-carries": (
        "mol",
        lambda v, lim, u: f"sun stays {short(v)} mol under the target, {short(lim)} mol in hand make it up",
    ),
    # hours of the lamp hours in which the sun alone is enough for the seed, hours of the lamp hours
    "seed-light": ("h", lambda v, lim, u: f"seed wants light for {short(lim)} h, the sun gives {short(v)} h"),
    # sun DLI at the bench, target DLI
    "enough-light": ("mol", lambda v, lim, u: f"expected sun {short(v)}, {u.mol(lim)} wanted"),
    # what stands on the bench needs no lamp light (hardening, seed that wants none before it comes up)
    "no-lamp-need": (None, lambda v, lim, u: "what stands here wants no lamp light now"),
    "no-batch": (None, lambda v, lim, u: "nothing stands on this bench"),
    # mol that the lamps have given when a run ends, mol that they are to give in the window
    "lamps-enough": ("mol", _lamps_enough),
    "sun-takes-over": (None, lambda v, lim, u: "the sun is enough for the seed from then on"),
    "nobody-later": (None, lambda v, lim, u: "nobody is there later to switch them off"),
    "already-set": (None, lambda v, lim, u: "runs as set before"),
    # days since sowing, first day of the emergence window
    "emergence-window": (
        "d",
        lambda v, lim, u: f"day {figure(v)} from sowing, first seedlings from day {figure(lim)}",
    ),
    # hours of unbroken dark left, hours needed
    "dark-needed": ("h", lambda v, lim, u: f"needs {short(lim)} h of unbroken dark, {short(v)} h are left"),
    # power that the lamps together would draw, power that may be drawn
    "capacity": ("kW", lambda v, lim, u: f"lamps together would draw {short(v)} of {short(lim)} kW"),
    # hours that the clock jumps (+1 forward, −1 back), 0
    "clock-change": ("h", _clock_change),
    # highest sun PPFD at the bench with nothing drawn, limit
    "ppfd-limit": ("umol", lambda v, lim, u: f"sun reaches {u.ppfd(v)}, {u.ppfd(lim)} is the limit"),
    # day's light at the bench with nothing drawn, limit
    "dli-limit": ("mol", lambda v, lim, u: f"the day brings {short(v)}, {u.mol(lim)} is the limit"),
    # peak temperature at the plants with nothing done, limit
    "temperature-limit": (
        "c",
        lambda v, lim, u: f"would reach {u.peak(v)} {u.degree}, {u.temperature(lim)} is the limit",
    ),
    # house air with its vents shut, temperature at which they are to open
    "vent-limit": (
        "c",
        lambda v, lim, u: f"with vents shut {u.peak(v)} {u.degree}; they open at {u.temperature(lim)}",
    ),
    # a bench whose day is turned round: what lies over it and when it stands open is its plan's
    "inverted-dark": (None, lambda v, lim, u: "its day is turned round: dark and cool by day"),
    "inverted-shade": (None, lambda v, lim, u: "back from the dark: no noon sun on young leaves"),
    "inverted-night": (None, lambda v, lim, u: "its day is turned round: open and cool by night"),
    "inverted-lamps": (None, lambda v, lim, u: "its day is turned round: lit by night"),
    "inverted-unlit": (None, lambda v, lim, u: "its seed needs no light before it is up"),
    "inverted-back": (None, lambda v, lim, u: "on the way back: no lamps tonight, for six hours of dark"),
    "inverted-water": (None, lambda v, lim, u: "now that it is uncovered; under the cover little dries"),
    "inverted-come": (None, lambda v, lim, u: "nobody is there then: somebody must come for it"),
    # hours of day that plants would see, the most or least that the crop wants
    "short-day": (
        "h",
        lambda v, lim, u: f"day is {hours(v)} as the crop sees it, {short(lim)} h at most is wanted",
    ),
    "long-day": ("h", lambda v, lim, u: f"day is {hours(v)} as the crop sees it, {short(lim)} h is wanted"),
    "night-break": (
        "h",
        lambda v, lim, u: f"day is {hours(v)}, {short(lim)} h is wanted: a broken night counts as a long day",
    ),
    # hours of unbroken dark under a cover by then, hours wanted
    "dark-done": ("h", lambda v, lim, u: f"{hours(v)} of dark by then, {short(lim)} h wanted"),
    "lit-trays": (None, lambda v, lim, u: "trays under lamps dry out"),
    "hot-hours-over": (None, lambda v, lim, u: "the hot, bright hours are over by then"),
    # lowest temperature expected, temperature to be held
    "frost": ("c", lambda v, lim, u: f"may fall to {u.temperature(v)}, {u.temperature(lim)} is to be held"),
    # hours since the cover came off, hours after which to look
    "water": ("h", lambda v, lim, u: f"dries fast: {short(v)} h in the light"),
}

SUN_SHORT = "expected sun falls short of what is wanted, mol"  # of many places, each with its own figures

CERTAINTY = {Certainty.SURE: "sure", Certainty.LIKELY: "likely", Certainty.STAND_BY: "stand by"}
CERTAINTY_WORDS = {certainty.value: word for certainty, word in CERTAINTY.items()}

RULE_OF_THUMB = "rule of thumb"  # tag on an order whose limit was not read from a published page
RULE_OF_THUMB_NOTE = "Rule of thumb: a remembered or judged value; one meter reading at noon settles it."
ALL_BY_RULE_OF_THUMB = "Targets and limits here are rules of thumb; one meter reading at noon settles it."


def reason_words(why: Reason, units: Units, *, over: bool = False) -> str:
    """The reason with its two numbers. KeyError on a rule without an entry; ValueError on a wrong unit.

    over : the sheet's day is over, its sun has set.
    """
    unit, words = REASONS[why.rule]
    poor = "was poor" if over else "turns out poor"
    if unit is None:
        return words(0.0, 0.0, units)
    if why.value is None or why.limit is None or why.unit != unit:
        raise ValueError(f"reason {why.rule} must carry value, limit and unit {unit!r}; it holds {why}")
    said = words(why.value, why.limit, units)
    if why.day is not None and why.rule in WITH_BRIGHT_LATER:
        said += BRIGHT_LATER
    said = said.replace(POOR, poor)
    return said.replace(DAY, "a day ahead" if why.day is None else weekday(why.day))


def sign_words(sign: Sign, site: Site, day: date, units: Units) -> str:
    """What to look for before an order that hangs on the sky."""
    by = clock(sign.by, site, day)
    return f"only if the sun is on the bench by {by} and the meter is above {units.ppfd(sign.ppfd_umol_m2_s)}"


def certainty_words(certainty: Certainty, odds: float | None) -> str:
    """How sure: the word, and odds in tenths where they are known and not near certain."""
    word = CERTAINTY[certainty]
    if odds is None or certainty is Certainty.SURE:
        return word
    return f"{word}, {figure(odds * 10)} in 10"
