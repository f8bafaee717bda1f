"""`lightplan invert`: a summer sowing with its day turned round."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from lightplan.cli import SITE, Date, Exit, commands, example, local_now, progress, say

ALL_FORMATS = "pdf,html,json"
MOST_DAYS = 366  # sowing dates of a year; more is a slip of the date


@commands.command(
    epilog=example(
        "lightplan invert sample_sites/ottermoss --bench germ --from 2026-09-01 --to 2026-09-21 --crop pansy"
    )
)
@SITE
@click.option("--bench", required=True, help="The bench's id in the site file.")
@click.option("--from", "first", type=Date(), required=True, help="The first sowing date asked about.")
@click.option("--to", "last", type=Date(), required=True, help="The last sowing date asked about.")
@click.option("--crop", help="What is sown; the bench's own batch of those dates if left out.")
@click.option("--format", "formats", help=f"What to write.  [default: {ALL_FORMATS}]")
@click.option("--out", help="Folder for the files (- prints JSON); SITE/sheets if left out.")
def invert(
    folder: Path,
    bench: str,
    first: date,
    last: date,
    crop: str | None,
    formats: str | None,
    out: str | None,
) -> int:
    """Tell whether seed needs dark days and lit nights in the heat, and plan them to the turn-back."""
    from lightplan.commands.morning import _formats

    asked = _formats(formats or ("json" if out == "-" else ALL_FORMATS), out)
    if not 0 <= (last - first).days < MOST_DAYS:
        raise click.BadParameter(
            f"{first} to {last} is not a stretch of 1 to {MOST_DAYS} days; give --from before --to",
            param_hint="--to",
        )
    from lightplan.calibrated import calibrated
    from lightplan.inversion_told import tell_inversion
    from lightplan.report.inversion_page import inversion_html
    from lightplan.report.json_form import json_text
    from lightplan.report.write import write_page
    from lightplan.site.read import load_site

    loaded = load_site(folder)
    for warning in loaded.warnings:
        say(f"Warning: {warning}")
    in_use = calibrated(loaded.site)
    if in_use.trouble:
        say(in_use.trouble)
    site = in_use.site
    told = tell_inversion(site, bench, crop, first=first, last=last, progress=progress)
    text = json_text(told.document)
    missing: tuple[str, ...] = ()
    if out == "-":
        click.echo(text, nl=False)
    else:
        html = inversion_html(told.plan, site, told.weather) if {"html", "pdf"} & set(asked) else ""
        today = local_now(site.timezone, None).date()
        to = Path(out) if out else folder / "sheets"
        written = write_page(f"invert-{today.isoformat()}", html, text, asked, to)
        missing = written.missing
        for sentence in (*written.missing, *written.complaints):
            say(sentence)
        for path in written.files:
            click.echo(path)
    for note in told.weather.notes:
        say(note)
    if told.weather.fallback_reason:
        say(f"Weather: {told.weather.fallback_reason}.")
    return Exit.STAND_IN if told.weather.fallback_reason or missing else Exit.DONE
