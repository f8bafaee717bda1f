"""`lightplan calibrate`: what readings teach of houses, lamps, covers and heat, used from then on."""

from __future__ import annotations

from pathlib import Path

import click

from lightplan.cli import SITE, Exit, LocalTime, commands, local_now, progress, say

ALL_FORMATS = "pdf,html,json"
EXAMPLES = """Examples:

\b
  lightplan calibrate my-nursery
  lightplan calibrate my-nursery --try --format json --out -
  lightplan calibrate my-nursery --undo
"""


@commands.command(epilog=EXAMPLES)
@SITE
@click.option("--format", "formats", help=f"What to write.  [default: {ALL_FORMATS}]")
@click.option("--out", help="Folder for the files (- prints JSON); SITE/sheets if left out.")
@click.option("--try", "only_try", is_flag=True, help="Tell what would be used; change nothing.")
@click.option("--undo", is_flag=True, help="Take the last calibration back; the one before is used again.")
@click.option("--undo-all", is_flag=True, help="Take every calibration back: as the site file says.")
@click.option("--now", "given_now", type=LocalTime(), help="The site's clock, instead of the real one.")
def calibrate(
    folder: Path,
    formats: str | None,
    out: str | None,
    only_try: bool,
    undo: bool,
    undo_all: bool,
    given_now: object,
) -> int:
    """Work out each house's light, its lamps, covers and heat from readings, and use it from now on."""
    from datetime import datetime

    from lightplan.calibrate import calibrate as run
    from lightplan.commands.morning import _formats
    from lightplan.learn.calibration import to_json
    from lightplan.problems import InputError
    from lightplan.records import RecordsError
    from lightplan.records_learned import keep_calibration, take_back
    from lightplan.report.calibrate_json import calibrate_json
    from lightplan.report.calibrate_page import calibrate_html
    from lightplan.report.json_form import json_text
    from lightplan.report.write import write_page
    from lightplan.site.read import load_site

    asked = _formats(formats or ("json" if out == "-" else ALL_FORMATS), out)
    loaded = load_site(folder)
    for warning in loaded.warnings:
        say(f"Warning: {warning}")
    site = loaded.site
    assert given_now is None or isinstance(given_now, datetime)
    now = local_now(site.timezone, given_now)
    try:
        if undo or undo_all:
            return _taken_back(take_back(folder, every=undo_all))
        found = run(site, now, progress, keep=not only_try)
        if not only_try:
            keep_calibration(folder, to_json(found), now)
    except RecordsError as error:
        raise InputError(str(error)) from error
    text = json_text(calibrate_json(site, found, in_use=not only_try))
    if out == "-":
        click.echo(text, nl=False)
        return Exit.DONE
    html = calibrate_html(site, found, in_use=not only_try) if {"html", "pdf"} & set(asked) else ""
    to = Path(out) if out else folder / "sheets"
    written = write_page(f"calibrate-{now.date().isoformat()}", html, text, asked, to)
    for sentence in (*written.missing, *written.complaints):
        say(sentence)
    for path in written.files:
        click.echo(path)
    return Exit.STAND_IN if written.missing else Exit.DONE


def _taken_back(count: int) -> int:
    from lightplan.problems import InputError

    if not count:
        raise InputError("No calibration is in use, so there is none to take back.")
    click.echo(f"{count} calibration{'s' if count > 1 else ''} taken back.")
    return Exit.DONE
