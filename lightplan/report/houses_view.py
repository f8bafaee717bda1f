"""What the year's pages hold: finished words, figures and drawings."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup


@dataclass(frozen=True)
class HouseRow:
    name: str
    words: str
    light: Markup


@dataclass(frozen=True)
class MonthRow:
    """cells : a figure a month. last : of the year."""

    name: str
    cells: tuple[str, ...]
    last: str
    strong: bool = False


@dataclass(frozen=True)
class MonthTable:
    title: str
    key: str
    last: str
    rows: tuple[MonthRow, ...]


@dataclass(frozen=True)
class PlanMonth:
    title: str
    drawing: Markup
    words: tuple[str, ...]


@dataclass(frozen=True)
class PlanRow:
    name: str
    size: str
    compass: Markup
    sides: str
    months: tuple[PlanMonth, ...]
    benches: tuple[str, ...]


@dataclass(frozen=True)
class BenchRow:
    name: str
    place: str
    light: Markup
    heat: Markup | None
    heat_words: str


@dataclass(frozen=True)
class FigureRow:
    name: str
    cells: tuple[str, ...]


@dataclass(frozen=True)
class CalendarRow:
    name: str
    words: str
    weeks: Markup


@dataclass(frozen=True)
class OneLine:
    """lanes : what each lane of the drawing is for, from the top."""

    lanes: tuple[str, ...]
    drawing: Markup


@dataclass(frozen=True)
class FitCell:
    weeks: Markup
    words: str
    best: bool


@dataclass(frozen=True)
class FitRow:
    crop: str
    where: str
    cells: tuple[FitCell, ...]


@dataclass(frozen=True)
class FitTable:
    houses: tuple[str, ...]
    rows: tuple[FitRow, ...]


@dataclass(frozen=True)
class KeyBox:
    drawing: Markup
    words: str


@dataclass(frozen=True)
class WhatIfView:
    title: str
    uncalibrated: str | None
    table: MonthTable
    figures: tuple[FigureRow, ...]


@dataclass(frozen=True)
class HousesView:
    """few : so few houses that the plan may follow on the first page."""

    title: str
    site: str
    year: str
    paper: str
    few: bool
    sentence: str
    facts: tuple[str, ...]
    month_names: tuple[tuple[str, float], ...]
    top: str
    houses: tuple[HouseRow, ...]
    light_table: MonthTable
    share_tables: tuple[MonthTable, ...]
    plans: tuple[PlanRow, ...]
    plan_key: tuple[KeyBox, ...]
    bench_top: str
    benches: tuple[BenchRow, ...]
    lamp_heads: tuple[str, ...]
    lamp_rows: tuple[FigureRow, ...]
    lamp_note: str
    one_line: OneLine | None
    calendar: tuple[CalendarRow, ...]
    fit: tuple[FitTable, ...]
    fit_key: tuple[KeyBox, ...]
    moves: tuple[str, ...]
    moves_note: str
    what_if: WhatIfView | None
    footer: str
