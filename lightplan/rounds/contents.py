"""The round's page of contents: what failed first, then every site with its sentence and its sheets."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date as day_type
from pathlib import PurePosixPath
from typing import Any
from urllib.parse import quote

import lightplan
from lightplan.cli import Exit
from lightplan.report.html import filled
from lightplan.report.units import day_month, weekday
from lightplan.rounds.job import Outcome, Round

FIRST = (".pdf", ".html")  # the file that a site's name leads to
MOST_SAID = 300


@dataclass(frozen=True)
class Row:
    name: str
    folder: str
    link: str | None
    others: tuple[tuple[str, str], ...]
    sentence: str
    note: str | None
    orders: str


@dataclass(frozen=True)
class Contents:
    title: str
    date: str
    paper: str
    sentence: str
    facts: tuple[str, ...]
    failed: tuple[Row, ...]
    made: tuple[Row, ...]
    footer: str


def contents(round_: Round, date: str, outcomes: Iterable[Outcome], *, up: str, paper: str) -> Contents:
    """up : the way from the page's folder back to the round's."""
    found = sorted(outcomes, key=lambda o: (o.name.lower(), o.folder))
    of_day = day_type.fromisoformat(date)
    failed = tuple(_row(o, up) for o in found if not o.made)
    made = tuple(_row(o, up) for o in found if o.made)
    stood_in = sum(o.made and o.code == Exit.STAND_IN for o in found)
    return Contents(
        title=f"Rounds, {date}",
        date=f"{weekday(of_day)} {day_month(of_day)} {of_day.year}",
        paper=paper,
        sentence=tally(len(made), stood_in, len(failed)),
        facts=(f"{round_.base.name}: every site under it", f"{sum(o.orders for o in found)} orders in all"),
        failed=failed,
        made=made,
        footer=f"lightplan {lightplan.__version__}, rounds of {round_.base.name}, {date}",
    )


def tally(made: int, stood_in: int, failed: int) -> str:
    """`97 sheets made, 2 of them with something standing in; 1 site failed.`"""
    words = f"{made} {'sheet' if made == 1 else 'sheets'} made"
    if stood_in:
        words += f", {stood_in} of them with something standing in or not delivered"
    if failed:
        words += f"; {failed} {'site' if failed == 1 else 'sites'} failed"
    return f"{words}."


def contents_html(page: Contents) -> str:
    return filled("rounds.html.j2", footer=page.footer, page=page)


def contents_json(round_: Round, date: str, outcomes: Iterable[Outcome]) -> dict[str, Any]:
    found = sorted((o.as_json() for o in outcomes), key=lambda held: held["folder"])
    return {"folder": round_.base.name, "date": date, "asked_at": round_.asked_at.isoformat(), "sites": found}


def _row(outcome: Outcome, up: str) -> Row:
    by_suffix = {PurePosixPath(file).suffix: _link(file, up) for file in outcome.files}
    main = next((by_suffix[suffix] for suffix in FIRST if suffix in by_suffix), None)
    others = tuple((suffix[1:], link) for suffix, link in by_suffix.items() if link != main)
    said = " ".join(outcome.said) if outcome.made and outcome.code == Exit.STAND_IN else ""
    return Row(
        name=outcome.name,
        folder=outcome.folder,
        link=main,
        others=others,
        sentence=outcome.sentence,
        note=said[:MOST_SAID] or None,
        orders=str(outcome.orders) if outcome.made else "–",
    )


def _link(file: str, up: str) -> str:
    if PurePosixPath(file).is_absolute():
        return PurePosixPath(file).as_uri()
    return quote(f"{up}/{file}")
