"""The top of the sheet: date, the one sentence, and where the light figures came from."""

from __future__ import annotations

from lightplan.account import SLIGHT_MOL
from lightplan.dayplan import Action, BenchDay, DayPlan, Order
from lightplan.report.learned_words import dim_facts
from lightplan.report.order_words import place
from lightplan.report.units import Units, capital, clock, day_month, hours, listing, short, weekday
from lightplan.report.view import Head
from lightplan.sky import SunTimes
from lightplan.weather.table import Kind

NO_DAYLIGHT_MOL = SLIGHT_MOL
FACT_LETTERS, FACT_GAP_LETTERS = 112, 5  # on a line under the head, and between two facts
NAMED_PLACES = 2  # where something is to be opened or covered
NAMED_BENCHES = 3  # more are counted, not named

STAND_IN = {
    Kind.FORECAST: None,
    Kind.OBSERVED: "Recorded weather, not a forecast",
    Kind.TYPICAL_YEAR: "Typical year, not a forecast: look at the sky before you follow it",
    Kind.CLEAR_SKY: "Guessed from a clear sky, not a forecast: look at the sky before you follow it",
}

# services keep their own names
SOURCES = {"typical-year": "typical year", "file": "weather file", "clear-sky": "clear sky and usual cloud"}

# outdoor light over the week's usual, up to: words. Judgement: what a grower would call such a day
DAY_WORDS = (
    (0.45, "very dull"),
    (0.8, "dull"),
    (1.2, "ordinary"),
    (float("inf"), "bright"),
)


def head(plan: DayPlan, units: Units) -> Head:
    return Head(
        weekday=weekday(plan.day),
        date=f"{day_month(plan.day)} {plan.day.year}",
        site=plan.site.name,
        sentence=sentence(plan),
        stand_in=STAND_IN[plan.weather.kind],
        fallback=plan.weather.fallback_reason,
        facts=(
            *_first_facts(plan, units),
            *dim_facts(plan),
            *((("", note),) for note in plan.weather.notes),
        ),
    )


def _first_facts(plan: DayPlan, units: Units) -> tuple[tuple[tuple[str, str], ...], ...]:
    """The sun, the light and where the weather comes from: on one line where they find room."""
    light = (("Sun", sun_words(plan)), ("Outdoors", _outdoors(plan, units)))
    weather = ("Weather", _weather(plan))
    letters = sum(len(label) + len(words) + FACT_GAP_LETTERS for label, words in (*light, weather))
    return ((*light, weather),) if letters <= FACT_LETTERS else (light, (weather,))


def sentence(plan: DayPlan) -> str:
    """What to do today, in one or two short sentences."""
    if plan.window is None:
        return "Nobody comes today: lamps run as already set."
    parts = [f"{_kind_of_day(plan)}: {_lamps(plan)}{_covers(plan)}."]
    missed = [b for b in plan.benches if any(n.slug == "minimum-missed" for n in b.notes)]
    surely = [b for b in missed if b.dli.minimum is not None and b.dli.total < b.dli.minimum - SLIGHT_MOL]
    if surely:
        parts.append(f"Under the minimum all the same: {_benches(surely)}.")
    elif missed:
        poor = "was poor" if plan.is_over else "turns out poor"
        parts.append(f"Under the minimum if it {poor}: {_benches(missed)}.")
    if hot := [b for b in plan.benches if any(n.slug == "temperature-over-limit" for n in b.notes)]:
        still = "still too hot" if any(o.action in AGAINST_HEAT for o in plan.orders) else "too hot"
        still = "was too hot" if plan.is_over else still
        which = _benches(hot) if len(hot) == 1 else f"{len(hot)} benches"
        parts.append(f"{capital(still)}: {which}.")
    return " ".join(parts)


def _kind_of_day(plan: DayPlan) -> str:
    usual = plan.weather.usual_dli_mol_m2_d
    if plan.is_over:
        return "Tonight"
    if plan.outdoor.dli < NO_DAYLIGHT_MOL:
        return "No daylight today"
    if not usual:
        return f"{short(plan.outdoor.dli)} mol outdoors today"
    kind = next(words for up_to, words in DAY_WORDS if plan.outdoor.dli / usual < up_to)
    if plan.weather.kind in (Kind.FORECAST, Kind.OBSERVED):
        return f"{'An' if kind[0] in 'aeiou' else 'A'} {kind} day"
    return f"Planned for {'an' if kind[0] in 'aeiou' else 'a'} {kind} day"  # nobody forecast it


def _lamps(plan: DayPlan) -> str:
    fitted = [b for b in plan.benches if b.bench.lamps]
    with_lamps = [b for b in fitted if b.bench.lamps and b.bench.lamps.working > 0]
    lit = [b for b in with_lamps if b.lamps.intervals]
    if not with_lamps:
        return "no lamps that work" if fitted else "nothing to set"
    if not lit:
        return "no lamps needed"
    if len(lit) == len(with_lamps):
        return (
            "lamps on every bench that has them" if len(lit) > NAMED_BENCHES else f"lamps on {_benches(lit)}"
        )
    if len(lit) > NAMED_BENCHES:
        return f"lamps on {len(lit)} of {len(with_lamps)} benches"
    return f"lamps on {_benches(lit)} only"


AGAINST_HEAT = {Action.VENT, Action.OPEN_TENT, Action.COVER}


def _covers(plan: DayPlan) -> str:
    """What hands open and cover, in the order of its first time: `; open and cover Left from 08:30`."""
    verbs: dict[tuple[str, str], list[str]] = {}
    for action, verb in ((Action.VENT, "vent"), (Action.OPEN_TENT, "open"), (Action.COVER, "cover")):
        orders = [o for o in plan.orders if o.action is action and o.why.rule != "inverted-night"]
        if orders:
            begin = clock(orders[0].time, plan.site, plan.day)
            alike = all(order.time == orders[0].time for order in orders)
            key = (_places(plan, orders), begin if alike else f"{begin} on")
            verbs.setdefault(key, []).append(verb)
    return "".join(f"; {listing(names)} {places} from {time}" for (places, time), names in verbs.items())


def _places(plan: DayPlan, orders: list[Order]) -> str:
    names = list(dict.fromkeys(place(plan, o) for o in orders))
    if 0 < len(names) <= NAMED_PLACES:
        return listing(names)
    return f"{len(names)} {'benches' if all(o.bench for o in orders) else 'houses'}"


def _benches(benches: list[BenchDay]) -> str:
    if len(benches) <= NAMED_BENCHES:
        return listing([b.bench.name for b in benches])
    return f"{len(benches)} benches"


def sun_words(plan: DayPlan) -> str:
    """Sunrise, sunset and day length; what does not occur is said."""
    sun: SunTimes = plan.sun
    if sun.sunrise is None and sun.sunset is None:
        return "does not set today" if sun.day_length_h > 12 else "does not rise today"
    rise = f"up {clock(sun.sunrise, plan.site, plan.day)}" if sun.sunrise else "up since yesterday"
    fall = f"down {clock(sun.sunset, plan.site, plan.day)}" if sun.sunset else "not down today"
    return f"{rise}, {fall}, day {hours(sun.day_length_h)}"


def _outdoors(plan: DayPlan, units: Units) -> str:
    outdoor, usual = plan.outdoor, plan.weather.usual_dli_mol_m2_d
    words = f"{units.mol(outdoor.dli)} ({short(outdoor.dli_low)} to {short(outdoor.dli_high)})"
    if usual is not None:
        words += f", usual this week {short(usual)}"
    return words


def _weather(plan: DayPlan) -> str:
    weather = plan.weather
    words = SOURCES.get(weather.source, weather.source)
    if weather.attribution and words.lower() in weather.attribution.lower():
        words = ""  # the attribution names it
    if weather.kind is Kind.FORECAST:
        words += " forecast"
    parts = [words] if words else []
    if weather.issued_at is not None:
        parts.append(f"made {clock(weather.issued_at, plan.site, plan.day)}")
    if plan.weather_age_h is not None:
        parts.append(f"{hours(plan.weather_age_h)} old" if plan.weather_age_h >= 1 / 60 else "just in")
    said = ", ".join(parts)
    return ". ".join(part for part in (said, weather.attribution) if part)
