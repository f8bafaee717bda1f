"""What looks odd about a site, its weather, its tariff or a house but may be so."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from lightplan.site.crop_names import plain
from lightplan.site.house_outline import outline_of, shape_of
from lightplan.site.problems import Problem, a_list, held
from lightplan.site.rows import Row
from lightplan.site.rule import Around, rule
from lightplan.site.schema_house import HouseTable
from lightplan.site.schema_site import RateRow, SiteTable, WeatherTable
from lightplan.site.values import DAY_GROUPS, DAYS

HOURS_APART = 3.0  # clock and sun; the site file's contract
ASKS_CONTACT = frozenset({"nws", "met-norway"})
HIGH_PRICE = 3.0  # judgement: per kWh, in the currencies below; more looks like cents
PRICES_LIKE_DOLLARS = frozenset({"USD", "CAD", "AUD", "NZD", "EUR", "GBP", "CHF"})
A_HAND_M = 0.1  # judgement: less than that is how a bow is bent


@rule(SiteTable, "timezone", "longitude")
def clock_and_sun(row: Row, around: Around) -> Iterator[Problem]:
    zone = ZoneInfo(row["timezone"])
    winter = datetime(2026, 1, 15, 12, tzinfo=zone)  # any date does: standard time alone is looked at
    standard = (winter.utcoffset() or timedelta()) - (winter.dst() or timedelta())
    apart = (standard / timedelta(hours=1) - row["longitude"] / 15 + 12) % 24 - 12
    if abs(apart) > HOURS_APART:
        told = f"{abs(apart):.1f} h from the sun at {row.told('longitude')}; see that both are right"
        yield row.problem("timezone", f"timezone is {held(row['timezone'])}, {told}", "clock-and-sun")


@rule(SiteTable, "crew")
def days_without_hours(row: Row, around: Around) -> Iterator[Problem]:
    table = row.raw.get("crew")
    if not isinstance(table, dict):
        return
    named: set[int] = set().union(*(DAY_GROUPS[plain(key)] for key in table))
    if missing := [DAYS[number] for number in range(7) if number not in named]:
        hint = f"write {missing[0]} = [] if nobody comes then, as is taken now"
        yield row.problem("crew", f"crew names no hours for {a_list(missing, 'and')}; {hint}", "crew-days")


@rule(WeatherTable, "source", "then", "contact")
def asks_for_a_contact(row: Row, around: Around) -> Iterator[Problem]:
    asking = [name for name in (row["source"], *row["then"]) if name in ASKS_CONTACT]
    if asking and not row["contact"]:
        told = f"contact is missing; users of {a_list(asking, 'and')} must give an e-mail address or web page"
        yield row.problem("contact", told, "no-contact")


@rule(RateRow, "price")
def price_in_cents(row: Row, around: Around) -> Iterator[Problem]:
    power = around.power
    if power is None or not power.has("currency") or power["currency"] not in PRICES_LIKE_DOLLARS:
        return
    if row["price"] > HIGH_PRICE:
        told = f"{power['currency']} for a kWh; if that is cents, write {row['price'] / 100:g}"
        yield row.problem("price", f"price is {held(row.raw['price'])} {told}", "high-price")


@rule(HouseTable, "shape", "spans")
def several_spans(row: Row, around: Around) -> Iterator[Problem]:
    if row["shape"] == "multispan" and row["spans"] == 1:
        yield row.problem(
            "spans", f"{row.told('spans')} makes a multispan of one; give the number of spans", "one-span"
        )


@rule(HouseTable)
def arcs_above_the_crown(row: Row, around: Around) -> Iterator[Problem]:
    points = outline_of(row)
    if points is None or shape_of(row) != "gothic":
        return
    top = max(z for _, z in points)
    if top > row["ridge_m"] + A_HAND_M:
        told = f"{row.told('ridge_m')} lies below its own arcs, which rise to {row.in_unit('ridge_m', top)}"
        yield row.problem("ridge_m", f'{told}; give a smaller bulge_m, or shape = "hoop"', "low-crown")


WARNINGS = (
    clock_and_sun,
    days_without_hours,
    asks_for_a_contact,
    price_in_cents,
    several_spans,
    arcs_above_the_crown,
)
