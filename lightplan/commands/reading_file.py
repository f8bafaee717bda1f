"""`lightplan reading` with files: a logger's CSV in, the season's log out, and a reading struck out."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import click

from lightplan.cli import Exit, local_now, say
from lightplan.commands.reading import BENCH, HOUSE, LIGHTS, NOW, keep, reading, site_of


@reading.command("import")
@click.argument("file", type=click.Path(path_type=Path))
@HOUSE
@BENCH
@click.option("--outdoors", is_flag=True, help="It hangs in the open.")
@click.option("--quantity", type=click.Choice(["light", "temperature"]), required=True, help="What it logs.")
@click.option("--unit", type=click.Choice(["umol", "lux", "fc", "w", "w-par", "c", "f"]), help="Its unit.")
@click.option("--source", type=LIGHTS, default="sun", show_default=True, help="The light it hangs in.")
@click.option("--zone", help="Of its clock: site, UTC, an offset like -05:00, or a zone's name.")
@click.option("--shift-min", type=float, default=0.0, help="Minutes to add to its clock.")
@click.option("--time", "time_column", help="The column of times, if the guess is wrong.")
@click.option("--value", "value_column", help="The column of values, if the guess is wrong.")
@click.option("--trust-clock", is_flag=True, help="Its clock is right, though its light does not say so.")
@click.option("--confirm", is_flag=True, help="Store it as shown.")
@NOW
@click.pass_context
def import_(
    ctx: click.Context,
    file: Path,
    house: str | None,
    bench: str | None,
    outdoors: bool,
    quantity: str,
    unit: str | None,
    source: str,
    zone: str | None,
    shift_min: float,
    time_column: str | None,
    value_column: str | None,
    trust_clock: bool,
    confirm: bool,
    given_now: datetime | None,
) -> int:
    """A logger's CSV. Without --confirm it only shows what it understood."""
    from lightplan.learn.logger import read_logger
    from lightplan.logger_entry import logger_reading, zone_named
    from lightplan.problems import InputError
    from lightplan.reading_entry import place_of
    from lightplan.reading_log import only_new, shown

    site = site_of(ctx)
    if outdoors == (house is not None or bench is not None):
        raise InputError("Where does the logger hang? Give --house, --bench or --outdoors, one of them.")
    place = None if outdoors else place_of(site, house, bench)
    allowed = ("c", "f") if quantity == "temperature" else ("umol", "lux", "fc", "w", "w-par")
    if unit is None or unit not in allowed:
        raise InputError(f"In what unit does it log {quantity}? Give --unit, one of {', '.join(allowed)}.")
    table = read_logger(file, time=time_column, value=value_column, quantity=quantity)
    if zone is None and not table.zoned:
        raise InputError(
            f"{table.name}: its times (like {table.rows[0][0]}) carry no zone. Is its clock set to the "
            "site's time with summer time (--zone site), without it (--zone and its offset, like -05:00) "
            "or to UTC (--zone UTC)?"
        )
    now = local_now(site.timezone, given_now)
    new = logger_reading(
        site,
        table,
        house=place.house.id if place else None,
        bench=place.bench.id if place and place.bench else None,
        quantity=quantity,
        unit=unit,
        source=source,
        zone=zone_named(zone, site) if zone else None,
        shift_min=shift_min,
        now=now,
        trust_clock=trust_clock,
    )
    new, also = only_new(site, new)
    for line in (*shown(site, table, new), *also):
        say(line)
    if not confirm:
        raise InputError("Nothing is stored yet: if that is right, say it again with --confirm.")
    return keep(site, [new], now)


@reading.command()
@click.argument("number", type=int)
@click.option("--why", required=True, help="The reason, kept with it.")
@NOW
@click.pass_context
def strike(ctx: click.Context, number: int, why: str, given_now: datetime | None) -> int:
    """Strike a reading out: it stays in the records, marked, and counts no more."""
    from lightplan.problems import InputError
    from lightplan.records import RecordsError
    from lightplan.records_readings import strike_out
    from lightplan.season_log import row_words

    site = site_of(ctx)
    try:
        row = strike_out(site.folder, number, why, local_now(site.timezone, given_now))
    except RecordsError as error:
        raise InputError(str(error)) from error
    click.echo(f"Struck out: {row.number}. {row_words(row)}")
    return Exit.DONE


@reading.command()
@click.option("--orders", is_flag=True, help="With what each day's last sheet ordered.")
@click.option("--out", default="-", show_default=True, help="The file; - prints it.")
@click.pass_context
def export(ctx: click.Context, orders: bool, out: str) -> int:
    """The season's log as CSV: measured and done, struck readings marked."""
    from lightplan.files import replace_file
    from lightplan.problems import InputError
    from lightplan.records import RecordsError
    from lightplan.season_log import season_log

    site = site_of(ctx)
    try:
        text = season_log(site, with_orders=orders)
    except RecordsError as error:
        raise InputError(str(error)) from error
    if out == "-":
        click.echo(text, nl=False)
    else:
        replace_file(Path(out), text.encode())
        click.echo(out)
    return Exit.DONE
