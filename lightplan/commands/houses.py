"""`lightplan houses`: the year, house by house."""

from __future__ import annotations

from calendar import isleap
from datetime import date
from pathlib import Path

import click

from lightplan.cli import SITE, Exit, commands, example, local_now, progress, say


@commands.command(epilog=example("lightplan houses sample_sites/quillfen --format json --out -"))
@SITE
@click.option("--year", type=click.IntRange(1950, 2100), help="The year to tell of; this one if left out.")
@click.option("--format", "formats", default="json", show_default=True, help="What to write.")
@click.option("--out", help="Folder for the files (- prints JSON); SITE/sheets if left out.")
def houses(folder: Path, year: int | None, formats: str, out: str | None) -> int:
    """Tell how much light each house passes: by the sun's direction, and month by month."""
    if formats != "json":
        raise click.BadParameter(f"{formats!r} is not json, which is all there is yet", param_hint="--format")
    from lightplan.clock import grid_over
    from lightplan.files import replace_file
    from lightplan.house.kept import kept_house_light
    from lightplan.house_year import house_year
    from lightplan.report.houses_json import houses_json, without_gutters
    from lightplan.report.json_form import json_text
    from lightplan.site.read import load_site
    from lightplan.sky import make_sky
    from lightplan.weather.table import Kind
    from lightplan.weather.year import year_weather

    loaded = load_site(folder)
    for warning in loaded.warnings:
        say(f"Warning: {warning}")
    site = loaded.site
    today = local_now(site.timezone, None).date()
    year = today.year if year is None else year
    grid = grid_over(date(year, 1, 1), 366 if isleap(year) else 365, site.timezone)
    progress("the year's weather …")
    weather = year_weather(site, grid)
    sky = make_sky(site, weather.table, grid)
    sample = weather.spread.sample if weather.kind is Kind.CLEAR_SKY else None
    bare, months = {}, {}
    for house in site.houses:
        progress(f"light in {house.name} …")
        bare[house.id] = kept_house_light(without_gutters(house), folder / "cache")
        months[house.id] = house_year(
            house, kept_house_light(house, folder / "cache"), sky, grid=grid, sample=sample
        )
    text = json_text(houses_json(site, year, bare=bare, months=months, weather=weather))
    if out == "-":
        click.echo(text, nl=False)
    else:
        to = Path(out) if out else folder / "sheets"
        to.mkdir(parents=True, exist_ok=True)
        path = to / f"houses-{today.isoformat()}.json"
        replace_file(path, text.encode())
        click.echo(path)
    for note in weather.notes:
        say(note)
    if weather.fallback_reason:
        say(f"Weather: {weather.fallback_reason}.")
    return Exit.STAND_IN if weather.fallback_reason else Exit.DONE
