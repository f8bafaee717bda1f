"""One site of a round, start to end, in whatever process works at it. What fails here fails here only."""

from __future__ import annotations

import os
import threading
import time
import traceback
from pathlib import Path

from lightplan.cli import Exit, Listener, heard_by, say
from lightplan.morning import clean_up, deliver_sheet, make_sheet
from lightplan.problems import InputError
from lightplan.report.head import sentence
from lightplan.rounds.job import Outcome, Round
from lightplan.site.read import load_site
from lightplan.site_lock import site_lock
from lightplan.weather.deadline import USUAL_PATIENCE
from lightplan.weather.shared import SharedAnswers

ONE_AT_A_TIME = threading.Lock()  # the page's renderer is not made for threads; a process makes one sheet


def make_one(round_: Round, folder: str) -> Outcome:
    """The sheet of one site. Never raises: a failure is an outcome with a code and a sentence."""
    said: list[str] = []
    began = time.monotonic()
    with ONE_AT_A_TIME, heard_by(Listener(said.append, alone=True)):
        try:
            found = _made(round_, folder)
        except InputError as error:
            found = Outcome(folder, _name(folder), Exit.WRONG_INPUT, str(error))
        except Exception as error:
            words = f"a fault of lightplan itself ({type(error).__name__}: {error})"
            found = Outcome(folder, _name(folder), Exit.OUR_FAULT, words)
            said.append(traceback.format_exc(limit=-4))
    values = {**found.as_json(), "said": tuple(said), "seconds": round(time.monotonic() - began, 3)}
    return Outcome(**values)


def _made(round_: Round, folder: str) -> Outcome:
    loaded = load_site(round_.base / folder)
    site = loaded.site
    clock = round_.clock_at(site.timezone)
    with site_lock(site.folder, f"A round that began at {clock:%H:%M} (process {os.getpid()})") as unlocked:
        if unlocked is None:
            clean_up(site.folder)
        else:
            say(unlocked)
        made = make_sheet(
            site,
            *round_.sheet_at(site.timezone),
            asked_at=clock,
            formats=round_.formats,
            out=None,
            offline=round_.offline,
            steps=False,
            patience=USUAL_PATIENCE,
            shared=SharedAnswers(round_.shared),
        )
    code = deliver_sheet(site, made, clock) if round_.deliver else made.code
    plan = made.plan
    unwritten = "" if made.files else "no disk took the sheet: "
    return Outcome(
        folder=folder,
        name=site.name,
        code=code,
        sentence=f"{unwritten}{sentence(plan)}",
        day=plan.day.isoformat(),
        weather=plan.weather.fallback_reason or plan.weather.source,
        orders=len(plan.orders),
        files=tuple(_below(path, round_.base) for path in made.files),
        delivered=round_.deliver,
    )


def _below(path: Path, base: Path) -> str:
    """A file's path below the round's folder; whole where it lies elsewhere, as on a full disk."""
    whole = path.resolve()
    return whole.relative_to(base).as_posix() if whole.is_relative_to(base) else whole.as_posix()


def _name(folder: str) -> str:
    return folder.rpartition("/")[2]
