"""`lightplan morning`: the sheet of a day."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from lightplan.cli import SITE, Date, Exit, LocalTime, commands, example, progress, say, sheet_clock

if TYPE_CHECKING:  # heavy to import: only when a command runs
    from lightplan.dayplan import DayPlan
    from lightplan.records import History


@commands.command(epilog=example("lightplan morning sample_sites/ottermoss --date 2026-04-21"))
@SITE
@click.option("--date", "day", type=Date(), help="The sheet's date; today if left out.")
@click.option("--now", "given_now", type=LocalTime(), help="The site's clock, instead of the real one.")
@click.option("--format", "formats", default="pdf,html,json", show_default=True, help="What to write.")
@click.option("--out", help="Folder for the files (- prints JSON); SITE/sheets if left out.")
@click.option("--offline", is_flag=True, help="Ask no service.")
@click.option("--steps", is_flag=True, help="Put every quarter hour into the JSON.")
def morning(
    folder: Path,
    day: date | None,
    given_now: datetime | None,
    formats: str,
    out: str | None,
    offline: bool,
    steps: bool,
) -> int:
    """Make the sheet of a day: orders, light and lamps, bench by bench."""
    asked = _formats(formats, out)
    from lightplan.house.kept import kept_house_light
    from lightplan.plan import plan_day, planning_grid
    from lightplan.report.write import morning_text, write_sheet
    from lightplan.site.read import load_site
    from lightplan.weather.fetch import weather_for

    loaded = load_site(folder)
    for warning in loaded.warnings:
        say(f"Warning: {warning}")
    site = loaded.site
    day, now = sheet_clock(site.timezone, day, given_now)
    grid, window = planning_grid(site, day, now)
    progress("weather …")
    weather = weather_for(site, grid, needed_until=window.end if window else grid.moment(96))
    history = _history(folder, day, now)
    progress("light and lamps …")
    benched = {bench.house for bench in site.benches}
    lights = {h.id: kept_house_light(h, folder / "cache") for h in site.houses if h.id in benched}
    plan = plan_day(site, weather, history, grid=grid, window=window, now=now, lights=lights)
    progress("page …")
    if out == "-":
        click.echo(morning_text(plan, steps=steps))
        missing: tuple[str, ...] = ()
    else:
        written = write_sheet(plan, asked, Path(out) if out else folder / "sheets", steps=steps)
        missing = written.missing
        for sentence in (*written.missing, *written.complaints):
            say(sentence)
        for path in written.files:
            click.echo(path)
    _keep(folder, plan)
    if weather.fallback_reason:
        say(f"Weather: {weather.fallback_reason}.")
    return Exit.STAND_IN if weather.fallback_reason or missing else Exit.DONE


def _formats(text: str, out: str | None) -> tuple[str, ...]:
    from lightplan.report.write import FORMATS

    asked = tuple(part.strip() for part in text.split(",") if part.strip())
    unknown = [part for part in asked if part not in FORMATS]
    if unknown or not asked:
        raise click.BadParameter(f"{text!r} is not of {', '.join(FORMATS)}", param_hint="--format")
    if out == "-" and asked != ("json",):
        raise click.BadParameter("- prints JSON only; add --format json", param_hint="--out")
    return asked


def _history(folder: Path, day: date, now: datetime) -> History:
    from lightplan.records import NO_HISTORY, RecordsError, read_history

    try:
        return read_history(folder, day, now)
    except RecordsError as error:
        say(str(error))
        return NO_HISTORY


def _keep(folder: Path, plan: DayPlan) -> None:
    """Remember the plan; a folder that can't be written to costs the memory, never the sheet."""
    from lightplan.records import RecordsError, keep_plan
    from lightplan.report.json_morning import morning_json

    try:
        keep_plan(
            folder,
            day=plan.day,
            made_at=plan.generated_at,
            window=(plan.window.start, plan.window.end) if plan.window else None,
            plan=morning_json(plan),
            weather_source=plan.weather.source,
            weather_table=plan.weather.table,
            lamps={b.bench.id: b.lamps.intervals for b in plan.benches},
            account_after={b.bench.id: b.account_after for b in plan.benches},
        )
    except RecordsError as error:
        say(str(error))
