"""`lightplan morning`: the sheet of a day."""

from __future__ import annotations

import os
from datetime import date, datetime
from pathlib import Path

import click

from lightplan.cli import (
    SITE,
    Date,
    LocalTime,
    commands,
    example,
    local_now,
    say,
    seconds_running,
    sheet_clock,
)


@commands.command(epilog=example("lightplan morning sample_sites/ottermoss --date 2026-04-21"))
@SITE
@click.option("--date", "day", type=Date(), help="The sheet's date; today if left out.")
@click.option("--now", "given_now", type=LocalTime(), help="The site's clock, instead of the real one.")
@click.option("--format", "formats", default="pdf,html,json", show_default=True, help="What to write.")
@click.option("--out", help="Folder for the files (- prints JSON); SITE/sheets if left out.")
@click.option("--offline", is_flag=True, help="Ask no service.")
@click.option("--steps", is_flag=True, help="Put every quarter hour into the JSON.")
@click.option(
    "--deliver",
    "delivered",
    is_flag=True,
    help="Then print, mail and copy it as [deliver] in site.toml asks.",
)
def morning(
    folder: Path,
    day: date | None,
    given_now: datetime | None,
    formats: str,
    out: str | None,
    offline: bool,
    steps: bool,
    delivered: bool,
) -> int:
    """Make the sheet of a day: orders, light and lamps, bench by bench."""
    if delivered and out == "-":
        raise click.BadParameter("a sheet that is printed as JSON can't be delivered", param_hint="--deliver")
    asked = _formats(formats, out, calendar=True)
    if delivered:
        from lightplan.schedule.environment import take_environment

        for sentence in take_environment():
            say(sentence)
    return sheet_of(
        folder,
        day=day,
        given_now=given_now,
        formats=asked,
        out=out,
        offline=offline,
        steps=steps,
        delivered=delivered,
    )


def sheet_of(
    folder: Path,
    *,
    day: date | None,
    given_now: datetime | None,
    formats: tuple[str, ...],
    out: str | None,
    offline: bool,
    steps: bool,
    delivered: bool,
) -> int:
    """Read the site, make its sheet under its lock, and deliver it where that is asked."""
    from lightplan.morning import clean_up, deliver_sheet, make_sheet
    from lightplan.site.read import load_site
    from lightplan.site_lock import site_lock
    from lightplan.weather.deadline import patience_left

    loaded = load_site(folder)
    for warning in loaded.warnings:
        say(f"Warning: {warning}")
    site = loaded.site
    loading_s = seconds_running()
    clock = local_now(site.timezone, given_now)
    with site_lock(folder, f"A run that began at {clock:%H:%M} (process {os.getpid()})") as unlocked:
        if unlocked is None:
            clean_up(folder)
        else:
            say(unlocked)
        made = make_sheet(
            site,
            *sheet_clock(site.timezone, day, given_now),
            asked_at=clock,
            formats=formats,
            out=out,
            offline=offline,
            steps=steps,
            patience=patience_left(loading_s, seconds_running()),
        )
    return deliver_sheet(site, made, clock) if delivered else made.code


def _formats(text: str, out: str | None, *, calendar: bool = False) -> tuple[str, ...]:
    from lightplan.deliver.calendar_file import CALENDAR
    from lightplan.report.write import FORMATS as PAGES

    known = (*PAGES, CALENDAR) if calendar else PAGES
    asked = tuple(part.strip() for part in text.split(",") if part.strip())
    unknown = [part for part in asked if part not in known]
    if unknown or not asked:
        raise click.BadParameter(f"{text!r} is not of {', '.join(known)}", param_hint="--format")
    if out == "-" and asked != ("json",):
        raise click.BadParameter("- prints JSON only; add --format json", param_hint="--out")
    return asked
