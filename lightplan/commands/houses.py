"""`lightplan houses`: the year, house by house and bench by bench."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from lightplan.cli import SITE, Exit, commands, example, local_now, progress, say

if TYPE_CHECKING:  # heavy to import: only when the command runs
    from lightplan.learn.score import DayScore
    from lightplan.site.models import Site, Stage
    from lightplan.site.read import Loaded

ALL_FORMATS = "pdf,html,json"


@commands.command(
    epilog=example("lightplan houses sample_sites/quillfen --what-if house.block.dirt_loss=0 --crop tomato")
)
@SITE
@click.option("--year", type=click.IntRange(1950, 2100), help="The year to tell of; this one if left out.")
@click.option("--crop", "crops", multiple=True, help="A crop to hold against the houses, or CROP:STAGE.")
@click.option(
    "--what-if",
    "what_ifs",
    multiple=True,
    metavar="KEY=VALUE",
    help="A change in the site file's words, told beside today; several are tried together.",
)
@click.option("--format", "formats", help=f"What to write.  [default: {ALL_FORMATS}]")
@click.option("--out", help="Folder for the files (- prints JSON); SITE/sheets if left out.")
def houses(
    folder: Path,
    year: int | None,
    crops: tuple[str, ...],
    what_ifs: tuple[str, ...],
    formats: str | None,
    out: str | None,
) -> int:
    """Tell the year's light, lamps and heat of each house and bench, what fits where, and what would help."""
    from lightplan.calibrated import as_calibrated, calibrated
    from lightplan.commands.morning import _formats

    asked = _formats(formats or ("json" if out == "-" else ALL_FORMATS), out)
    stages = tuple(_crop(words) for words in crops)
    from lightplan.houses_told import tell_houses
    from lightplan.learn.score import season_record
    from lightplan.report.houses_page import houses_html
    from lightplan.report.json_form import json_text
    from lightplan.report.write import write_page
    from lightplan.site.read import load_site

    loaded = load_site(folder)
    then = _changed(folder, what_ifs) if what_ifs else None
    for warning in dict.fromkeys((*loaded.warnings, *(then.warnings if then else ()))):
        say(f"Warning: {warning}")
    in_use = calibrated(loaded.site)
    if in_use.trouble:
        say(in_use.trouble)
    site = in_use.site
    today = local_now(site.timezone, None).date()
    kept = _scores(site)
    told = tell_houses(
        site,
        year or today.year,
        crops=stages,
        then=as_calibrated(then.site, in_use) if then else None,
        changes=what_ifs,
        record=season_record(kept) if kept else None,
        progress=progress,
    )
    text = json_text(told.document)
    missing: tuple[str, ...] = ()
    if out == "-":
        click.echo(text, nl=False)
    else:
        html = houses_html(told.answer) if {"html", "pdf"} & set(asked) else ""
        to = Path(out) if out else folder / "sheets"
        written = write_page(f"houses-{today.isoformat()}", html, text, asked, to)
        missing = written.missing
        for sentence in (*written.missing, *written.complaints):
            say(sentence)
        for path in written.files:
            click.echo(path)
    weather = told.answer.year.weather
    for note in weather.notes:
        say(note)
    if weather.fallback_reason:
        say(f"Weather: {weather.fallback_reason}.")
    return Exit.STAND_IN if weather.fallback_reason or missing else Exit.DONE


def _scores(site: Site) -> tuple[DayScore, ...]:
    """Days scored so far; none where the records can't be read, which `calibrated` has said by then."""
    from lightplan.records import RecordsError
    from lightplan.scored import scores_of

    try:
        return scores_of(site)
    except RecordsError:
        return ()


def _changed(folder: Path, words: tuple[str, ...]) -> Loaded:
    """The site with changes made to it. Raises InputError where they, or what comes of them, will not do."""
    from lightplan.site.problems import SiteError
    from lightplan.site.read import load_document
    from lightplan.site.toml_text import parsed, read_text
    from lightplan.site.what_if import change_of, changed

    text = read_text(folder)
    document = changed(parsed(text), [change_of(one) for one in words])
    try:
        return load_document(document, text, folder)
    except SiteError as wrong:  # the file itself was read without fault: it is the change that will not do
        asked = " ".join(f"--what-if {one}" for one in words)
        raise SiteError(replace(problem, file=asked) for problem in wrong.problems) from wrong


def _crop(words: str) -> tuple[str, Stage | None]:
    """A crop and stage of the tables from `CROP` or `CROP:STAGE`. Raises InputError with what would do."""
    from lightplan.problems import InputError
    from lightplan.site.crop_names import ASKED_BACK, crop_called, crops_with_light, plain
    from lightplan.site.models import Stage
    from lightplan.site.problems import a_list, nearest_or_choices

    name, _, stage = words.partition(":")
    crop = crop_called(name)
    if crop is None or crop not in crops_with_light():
        of_several = ASKED_BACK.get(plain(name))
        would_do = f"say which: {a_list(of_several)}" if of_several else None
        hint = would_do or nearest_or_choices(plain(name), sorted(crops_with_light()))
        raise InputError(f"--crop {words}: {name!r} is not a crop with known needs of light; {hint}.")
    told = [one.value for one in Stage if one is not Stage.GERMINATION]
    if stage and plain(stage).replace("_", "-") not in told:
        raise InputError(f"--crop {words}: {stage!r} is not a stage; choose {a_list(told)}.")
    return crop, Stage(plain(stage).replace("_", "-")) if stage else None
