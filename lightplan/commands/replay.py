"""`lightplan replay`: a season gone through morning by morning."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from lightplan.cli import SITE, Date, Exit, commands, example, local_now, progress, say

if TYPE_CHECKING:  # heavy to import: only when the command runs
    from lightplan.house.transmission import HouseLight
    from lightplan.replay.forecasts import Forecast
    from lightplan.replay.season import Season

QUALITIES = ("model", "perfect", "persistence", "recorded")
MOST_DAYS = 731  # two years; more is a slip of the date
LOOK_AHEAD_DAYS = 15  # the last mornings look past the end: a fortnight without a crew, and its last day


@commands.command(epilog=example("lightplan replay sample_sites/ottermoss --from 2026-01-05 --to 2026-02-15"))
@SITE
@click.option("--from", "first", type=Date(), required=True, help="The first day.")
@click.option("--to", "last", type=Date(), required=True, help="The last day.")
@click.option(
    "--forecast",
    "quality",
    type=click.Choice(QUALITIES),
    default="model",
    show_default=True,
    help="How good the forecasts are that a morning has.",
)
@click.option(
    "--seed", type=click.IntRange(0), default=0, show_default=True, help="Which run of the error model."
)
@click.option("--format", "formats", default="pdf,html,json", show_default=True, help="What to write.")
@click.option("--out", help="Folder for the files (- prints JSON); SITE/sheets if left out.")
def replay(
    folder: Path, first: date, last: date, quality: str, seed: int, formats: str, out: str | None
) -> int:
    """Tell what the lamps would have cost over a season, by the sheets and by other ways to run them."""
    asked = _formats(formats, out)
    if not 0 <= (last - first).days < MOST_DAYS:
        raise click.BadParameter(
            f"{first} to {last} is not a stretch of 1 to {MOST_DAYS} days; give --from before --to",
            param_hint="--to",
        )
    from lightplan.calibrated import calibrated
    from lightplan.clock import grid_over
    from lightplan.house.kept import kept_house_light
    from lightplan.replay.replay import Quality
    from lightplan.replay.replay import replay as run
    from lightplan.replay.season import season_of
    from lightplan.report.json_form import json_text
    from lightplan.report.replay_json import replay_json
    from lightplan.report.replay_page import replay_html
    from lightplan.report.write import write_page
    from lightplan.site.read import load_site
    from lightplan.weather.year import usual_of_dates, year_weather

    loaded = load_site(folder)
    for warning in loaded.warnings:
        say(f"Warning: {warning}")
    in_use = calibrated(loaded.site)
    if in_use.trouble:
        say(in_use.trouble)
    site = in_use.site
    days = (last - first).days + 1
    grid = grid_over(first, days + LOOK_AHEAD_DAYS, site.timezone)
    progress("weather and light …")
    weather = year_weather(site, grid)
    lit = {bench.house for bench in site.benches if bench.lamps is not None}
    lights = {h.id: kept_house_light(h, folder / "cache") for h in site.houses if h.id in lit}
    clearness = usual_of_dates(site, grid.dates)
    season = season_of(site, weather, grid=grid, days=days, lights=lights, clearness=clearness)
    forecast, stood_in = _forecast(season, quality, seed, lights)
    with click.progressbar(
        length=days, label="mornings", file=sys.stderr, hidden=not sys.stderr.isatty()
    ) as bar:
        found = run(
            season,
            forecast,
            quality=Quality(quality),
            seed=seed,
            progress=lambda done: bar.update(1),
        )
    text = json_text(replay_json(found))
    missing: tuple[str, ...] = ()
    if out == "-":
        click.echo(text, nl=False)
    else:
        html = replay_html(found) if {"html", "pdf"} & set(asked) else ""
        today = local_now(site.timezone, None).date()
        to = Path(out) if out else folder / "sheets"
        written = write_page(f"replay-{today.isoformat()}", html, text, asked, to)
        missing = written.missing
        for sentence in (*written.missing, *written.complaints):
            say(sentence)
        for path in written.files:
            click.echo(path)
    if weather.fallback_reason:
        say(f"Weather: {weather.fallback_reason}.")
    if stood_in:
        say(stood_in)
    return Exit.STAND_IN if weather.fallback_reason or missing or stood_in else Exit.DONE


def _formats(text: str, out: str | None) -> tuple[str, ...]:
    from lightplan.commands.morning import _formats as formats

    return formats(text, out)


def _forecast(
    season: Season, quality: str, seed: int, lights: Mapping[str, HouseLight]
) -> tuple[Forecast, str | None]:
    """What the mornings know, and a sentence where something had to stand in.

    Raises InputError where recorded forecasts are asked and none are kept.
    """
    from lightplan.problems import InputError
    from lightplan.records import RecordsError
    from lightplan.records_issued import issued_forecasts
    from lightplan.replay.recorded import recorded
    from lightplan.replay.replay import Quality, forecast_of

    if quality != "recorded":
        return forecast_of(season, Quality(quality), seed), None
    first, last = season.dates[0], season.dates[-1]
    try:
        kept = issued_forecasts(season.site.folder, first, last)
    except RecordsError as error:
        raise InputError(str(error)) from error
    if not kept:
        raise InputError(
            f"records.db keeps no sheet from {first} to {last}; replay dates that have sheets, "
            "or choose --forecast model."
        )
    found = recorded(season, kept, lights)
    if not found.missing:
        return found.forecast, None
    more = f" and {len(found.missing) - 1} more" if len(found.missing) > 1 else ""
    return found.forecast, f"No whole forecast is kept of {found.missing[0]}{more}; yesterday's sun stood in."
