"""`lightplan reading`: what was measured or done, one command for each kind."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from lightplan.cli import SITE, Date, Exit, LocalTime, commands, local_now, say

if TYPE_CHECKING:  # heavy to import: only when the command runs
    from lightplan.house.transmission import HouseLight
    from lightplan.reading_entry import Place
    from lightplan.records_readings import New
    from lightplan.site.models import Site

UNITS = click.Choice(["umol", "lux", "fc", "w", "w-par"])
LIGHTS = click.Choice(
    ["sun", "blue-sky", "led-white", "led-red-blue", "hps", "metal-halide", "fluorescent", "incandescent"]
)
EXAMPLES = """Examples:

\b
  lightplan reading SITE light --bench plugs --inside 28000 --outside 47000 --unit lux --spots 5
  lightplan reading SITE light --house glass --inside 610 --clear --at 2026-03-02T12:10 --meter mine
  lightplan reading SITE lamps --bench plugs --value 85 --unit umol
  lightplan reading SITE temperature --house glass --date 2026-03-02 --min 9 --max 31
  lightplan reading SITE germination --bench germ --up 160 --of 200
  lightplan reading SITE done --date 2026-03-02 --order 3 --at 2026-03-02T07:05
  lightplan reading SITE washed --house glass --date 2026-03-05
  lightplan reading SITE import log.csv --house glass --quantity light --unit lux --zone site --confirm
  lightplan reading SITE strike 4 --why "shadow on the meter"
  lightplan reading SITE export --orders --out season.csv
"""

AT = click.option("--at", type=LocalTime(), help="When, by the site's clock; now if left out.")
DAY = click.option("--date", "day", type=Date(), help="The date; today if left out.")
NOW = click.option("--now", "given_now", type=LocalTime(), help="The site's clock, instead of the real one.")
HOUSE = click.option("--house", help="The id of the house.")
BENCH = click.option("--bench", help="The id of the bench.")
METER = click.option("--meter", default="hand", show_default=True, help="A name for the meter.")
SPOTS = click.option(
    "--spots",
    type=click.IntRange(1, 100),
    default=1,
    show_default=True,
    help="How many places were averaged.",
)
UNIT = click.option("--unit", type=UNITS, default="umol", show_default=True, help="What the meter shows.")
AMOUNT = click.FloatRange(min=0)


@commands.group(epilog=EXAMPLES)
@SITE
@click.pass_context
def reading(ctx: click.Context, folder: Path) -> None:
    """Keep what was measured or done: by hand, or from a logger's CSV."""
    ctx.obj = folder


def site_of(ctx: click.Context) -> Site:
    from lightplan.calibrated import with_washes
    from lightplan.problems import InputError
    from lightplan.records import RecordsError
    from lightplan.site.read import load_site

    try:
        return with_washes(load_site(ctx.obj).site)
    except RecordsError as error:
        raise InputError(str(error)) from error


def keep(site: Site, new: Iterable[New], now: datetime) -> int:
    """Store all or none, and tell their numbers."""
    from lightplan.problems import InputError
    from lightplan.records import RecordsError
    from lightplan.records_readings import add_readings, readings
    from lightplan.season_log import row_words

    try:
        numbers = add_readings(site.folder, new, now)
        for row in readings(site.folder):
            if row.number in numbers:
                click.echo(f"{row.number}. {row_words(row)}")
    except RecordsError as error:
        raise InputError(str(error)) from error
    return Exit.DONE


def _lights(site: Site, place: Place) -> Mapping[str, HouseLight]:
    from lightplan.house.kept import kept_house_light

    return {place.house.id: kept_house_light(place.house, site.folder / "cache")}


def _when(site: Site, at: datetime | None, given_now: datetime | None) -> tuple[datetime, datetime]:
    """The reading's moment and the clock. Raises InputError where it is still to come."""
    from lightplan.reading_entry import not_ahead

    now = local_now(site.timezone, given_now)
    moment = now if at is None else at.replace(tzinfo=site.timezone)
    not_ahead(moment, now)
    return moment, now


def _date(site: Site, day: date | None, given_now: datetime | None) -> tuple[date, datetime]:
    from lightplan.problems import InputError

    now = local_now(site.timezone, given_now)
    day = now.date() if day is None else day
    if day > now.date():
        raise InputError(f"{day} is still to come (the site's clock shows {now:%Y-%m-%d}); look at --date.")
    return day, now


@reading.command()
@HOUSE
@BENCH
@click.option("--inside", type=AMOUNT, required=True, help="What the meter shows inside.")
@click.option("--outside", type=AMOUNT, help="What it shows outside, in the open, close in time.")
@UNIT
@click.option("--source", type=LIGHTS, default="sun", show_default=True, help="The light it stood in.")
@METER
@SPOTS
@click.option("--clear", is_flag=True, help="The sky was clear; then --outside may be left out.")
@click.option("--under", help="The cover that lay over the bench.")
@click.option("--tent", type=click.Choice(["closed", "open"]), help="The bench's tent; closed if left out.")
@AT
@NOW
@click.pass_context
def light(
    ctx: click.Context,
    /,
    house: str | None,
    bench: str | None,
    at: datetime | None,
    given_now: datetime | None,
    **given: Any,
) -> int:
    """Daylight inside and outside, or inside alone under a clear sky."""
    from lightplan.calibrated import site_on
    from lightplan.reading_entry import light_reading, place_of

    site = site_of(ctx)
    moment, now = _when(site, at, given_now)
    site = site_on(site, moment.date())
    place = place_of(site, house, bench)
    return keep(site, [light_reading(site, place, at=moment, lights=_lights(site, place), **given)], now)


@reading.command()
@click.option("--bench", required=True, help="The id of the bench.")
@click.option("--value", type=AMOUNT, required=True, help="What the meter shows at the trays.")
@UNIT
@METER
@SPOTS
@AT
@NOW
@click.pass_context
def lamps(
    ctx: click.Context, /, bench: str, at: datetime | None, given_now: datetime | None, **given: Any
) -> int:
    """Lamps alone, read after dark."""
    from lightplan.reading_entry import lamp_reading, place_of

    site = site_of(ctx)
    place = place_of(site, None, bench)
    assert place.bench is not None
    moment, now = _when(site, at, given_now)
    return keep(site, [lamp_reading(site, place.bench, at=moment, **given)], now)


@reading.command()
@HOUSE
@BENCH
@DAY
@click.option("--min", "lowest", type=float, help="The lowest of the night and day.")
@click.option("--max", "highest", type=float, help="The highest.")
@click.option("--unit", type=click.Choice(["c", "f"]), help="By the site's units if left out.")
@NOW
@click.pass_context
def temperature(
    ctx: click.Context,
    house: str | None,
    bench: str | None,
    day: date | None,
    lowest: float | None,
    highest: float | None,
    unit: str | None,
    given_now: datetime | None,
) -> int:
    """A min-max thermometer, read for a date."""
    from lightplan.problems import InputError
    from lightplan.reading_entry import place_of, temperature_reading
    from lightplan.records import RecordsError

    site = site_of(ctx)
    on, now = _date(site, day, given_now)
    place = place_of(site, house, bench)
    try:
        new = temperature_reading(site, place, day=on, lowest=lowest, highest=highest, unit=unit)
    except RecordsError as error:
        raise InputError(str(error)) from error
    return keep(site, [new], now)


@reading.command()
@click.option("--bench", required=True, help="The id of the bench.")
@DAY
@click.option("--up", type=click.IntRange(0), required=True, help="Seedlings seen.")
@click.option("--of", type=click.IntRange(1), required=True, help="Seeds or cells counted.")
@NOW
@click.pass_context
def germination(
    ctx: click.Context, bench: str, day: date | None, up: int, of: int, given_now: datetime | None
) -> int:
    """How many have come up."""
    from lightplan.reading_entry import germination_count, place_of

    site = site_of(ctx)
    on, now = _date(site, day, given_now)
    found = place_of(site, None, bench).bench
    assert found is not None
    return keep(site, [germination_count(site, found, day=on, up=up, of=of)], now)


@reading.command()
@DAY
@click.option("--order", type=int, required=True, help="Its number on that date's sheet.")
@click.option("--not", "undone", is_flag=True, help="It was not carried out.")
@click.option("--first", is_flag=True, help="By the day's first sheet, where a later one numbers anew.")
@AT
@NOW
@click.pass_context
def done(
    ctx: click.Context,
    day: date | None,
    order: int,
    undone: bool,
    first: bool,
    at: datetime | None,
    given_now: datetime | None,
) -> int:
    """An order that was carried out, or was not."""
    from lightplan.order_entry import order_done
    from lightplan.problems import InputError
    from lightplan.records import RecordsError

    site = site_of(ctx)
    on, now = _date(site, day, given_now)
    moment = None if at is None else _when(site, at, given_now)[0]
    try:
        new, what = order_done(site, day=on, order=order, done=not undone, at=moment, now=now, first=first)
    except RecordsError as error:
        raise InputError(str(error)) from error
    code = keep(site, [new], now)
    say(f"Order {order} was: {what}")
    return code


@reading.command()
@click.option("--house", required=True, help="The id of the house.")
@DAY
@NOW
@click.pass_context
def washed(ctx: click.Context, house: str, day: date | None, given_now: datetime | None) -> int:
    """A house was washed."""
    from lightplan.reading_entry import place_of
    from lightplan.reading_entry import washed as new_wash

    site = site_of(ctx)
    on, now = _date(site, day, given_now)
    return keep(site, [new_wash(site, place_of(site, house, None).house, on)], now)
