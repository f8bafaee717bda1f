"""One morning from site to sheet. What fails on the way is said and worked around."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from lightplan.changes import second_look
from lightplan.cli import Exit, progress, result, say
from lightplan.dayplan import DayPlan
from lightplan.deliver.calendar_file import CALENDAR, with_calendar
from lightplan.files import sweep
from lightplan.house.kept import kept_house_light
from lightplan.learned import known_of, learned_for
from lightplan.plan import plan_day, planning_grid
from lightplan.records import NO_HISTORY, History, RecordsError, first_plan, keep_plan, read_history
from lightplan.report.json_learned import learned_json
from lightplan.report.json_morning import morning_json
from lightplan.report.save import order_lines, save_sheet
from lightplan.report.write import morning_text
from lightplan.scored import with_accounts
from lightplan.site.models import Site
from lightplan.turned_benches import turned_benches
from lightplan.turned_day import not_turned
from lightplan.weather.deadline import Patience
from lightplan.weather.fetch import weather_for

if TYPE_CHECKING:
    from lightplan.weather.shared import SharedAnswers


@dataclass(frozen=True)
class Made:
    """code : the exit code. files : as written; none where no disk took them."""

    code: Exit
    plan: DayPlan
    files: tuple[Path, ...]


def clean_up(folder: Path) -> None:
    """Take away what a killed run left in the site's own folders; only while the site's lock is held."""
    for place in (folder, folder / "cache", folder / "cache" / "weather", folder / "sheets"):
        sweep(place)


def make_sheet(
    site: Site,
    day: date,
    now: datetime,
    *,
    asked_at: datetime,
    formats: tuple[str, ...],
    out: str | None,
    offline: bool,
    steps: bool,
    patience: Patience,
    shared: SharedAnswers | None = None,
) -> Made:
    """The sheet of one day, told of on stdout and stderr.

    now : the sheet's clock. asked_at : the site's, given or real. patience : how long services may take.
    shared : forecasts of other sites in the same grid cell.
    """
    folder, hear = site.folder, _once()
    known = known_of(site, day)
    for trouble in (*known.troubles, *known.said):
        hear(trouble)
    site = known.site
    grid, window = planning_grid(site, day, now)
    progress("weather …")
    weather = weather_for(
        site,
        grid,
        needed_until=window.end if window else grid.moment(96),
        now=now,
        asked_at=asked_at,
        offline=offline,
        patience=patience,
        shared=shared,
        learned=known.errors,
    )
    history = _history(folder, day, now, hear)
    progress("light and lamps …")
    benched = {bench.house for bench in site.benches}
    lights = {h.id: kept_house_light(h, folder / "cache") for h in site.houses if h.id in benched}
    learned, trouble = learned_for(known, weather, today=day, now=now, history=history, lights=lights)
    if trouble:
        hear(trouble)
    history = with_accounts(history, learned.yesterday, day)
    turning = turned_benches(site, day, lights)
    for sentence in turning.in_vain.values():
        say(sentence)
    plan = plan_day(
        turning.site,
        weather,
        history,
        grid=grid,
        window=window,
        now=now,
        lights=lights,
        turned=turning.benches,
    )
    plan = not_turned(plan, turning.in_vain)
    plan = replace(plan, learned=learned)
    progress("page …")
    missing: tuple[str, ...] = ()
    files: tuple[Path, ...] = ()
    if out == "-":
        click.echo(morning_text(plan, steps=steps))
    else:
        first = _first_plan(folder, day, now)
        look = second_look(plan, first) if first is not None else None
        try:
            sheets = Path(out) if out else folder / "sheets"
            written = save_sheet(plan, set(formats) - {CALENDAR}, sheets, steps=steps, look=look)
            if CALENDAR in formats:
                written = with_calendar(plan, written, sheets)
        except OSError as error:
            missing = (f"No sheet could be written anywhere ({error.strerror or error}); its orders:",)
            say(missing[0])
            for line in order_lines(plan):
                result(line)
        else:
            missing = written.missing
            for sentence in (*written.missing, *written.complaints):
                say(sentence)
            files = written.files
            for path in files:
                result(str(path))
    _keep(folder, plan, hear)
    if weather.fallback_reason:
        say(f"Weather: {weather.fallback_reason}.")
    return Made(Exit.STAND_IN if weather.fallback_reason or missing else Exit.DONE, plan, files)


def deliver_sheet(site: Site, made: Made, sent_at: datetime) -> Exit:
    """Print, mail and copy a sheet that is made, then what waits from earlier ones; gives the exit code."""
    from lightplan.deliver.dispatch import channels_of, deliver
    from lightplan.deliver.keep import keep_newest
    from lightplan.deliver.of_plan import parcel_of
    from lightplan.deliver.outbox import Outbox

    channels = channels_of(site)
    if not channels:
        say("site.toml: [deliver] names no printer, mail or folder; the sheet lies in its folder.")
    parcel = parcel_of(made.plan, made.files)
    left = deliver(Outbox(site.folder), channels, parcel, sent_at=sent_at, say=say, tell=progress)
    if site.deliver.keep is not None:
        gone = keep_newest(site.folder / "sheets", site.deliver.keep, sent_at.date())
        if gone:
            progress(f"{len(gone)} file(s) of sheets older than {site.deliver.keep} days taken away")
    return Exit.STAND_IN if left else made.code


def _once() -> Callable[[str], None]:
    """Says each sentence once: what ails the records is met again at each step that asks them."""
    said: set[str] = set()

    def hear(sentence: str) -> None:
        if sentence not in said:
            said.add(sentence)
            say(sentence)

    return hear


def _history(folder: Path, day: date, now: datetime, hear: Callable[[str], None]) -> History:
    try:
        return read_history(folder, day, now)
    except RecordsError as error:
        hear(str(error))
        return NO_HISTORY


def _first_plan(folder: Path, day: date, now: datetime) -> dict[str, Any] | None:
    """The day's first plan, for a later look; what ails the records was said when they were first read."""
    try:
        return first_plan(folder, day, now)
    except RecordsError:
        return None


def _keep(folder: Path, plan: DayPlan, hear: Callable[[str], None] = say) -> None:
    """Remember the plan; a folder that can't be written to costs the memory, never the sheet."""
    try:
        keep_plan(
            folder,
            day=plan.day,
            made_at=plan.generated_at,
            window=(plan.window.start, plan.window.end) if plan.window else None,
            plan={**morning_json(plan), "learned": learned_json(plan)},
            weather_source=plan.weather.source,
            weather_table=plan.weather.table,
            lamps={b.bench.id: b.lamps.intervals for b in plan.benches},
            account_after={b.bench.id: b.account_after for b in plan.benches},
            laid=plan.laid,
        )
    except RecordsError as error:
        hear(str(error))
