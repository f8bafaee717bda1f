"""What the page shows: finished words, figures and drawings. Templates only lay them out."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup


@dataclass(frozen=True)
class Head:
    weekday: str
    date: str
    year: str
    site: str
    sentence: str  # would do if nothing else were read
    stand_in: str | None  # "typical year, not a forecast"
    fallback: str | None  # what stood in for what, in words
    facts: tuple[tuple[str, str], ...]  # label, words


@dataclass(frozen=True)
class OrderRow:
    number: str
    time: str
    place: str
    house: str | None
    verb: str
    thing: str
    reason: str
    sure: str


@dataclass(frozen=True)
class Band:
    """A part of the crew's day with its orders; never empty."""

    title: str
    orders: tuple[OrderRow, ...]


@dataclass(frozen=True)
class SetRow:
    """What runs by itself since an earlier sheet."""

    place: str
    words: str


@dataclass(frozen=True)
class BenchRow:
    name: str
    stands: str  # crops and stages
    bar: Markup
    sum: str  # sun + lamps = day
    need: str  # minimum, target and limit, or hours of seed light
    account: str
    peak_ppfd: str
    peak_temperature: str
    day_length: str


@dataclass(frozen=True)
class BenchBlock:
    rows: tuple[BenchRow, ...]
    folded: tuple[str, ...]  # one line each: "Leave alone: …", "Empty: …"
    notes: tuple[str, ...]
    sum_heading: str
    peak_heading: str
    has_account: bool
    has_temperature: bool
    key: str


@dataclass(frozen=True)
class Lane:
    label: str
    after: str  # lamp times past the end of the strip, in words
    drawing: Markup


@dataclass(frozen=True)
class HouseStrip:
    name: str
    figures: str
    drawing: Markup
    lanes: tuple[Lane, ...]


@dataclass(frozen=True)
class StripBlock:
    houses: tuple[HouseStrip, ...]
    hours: tuple[tuple[str, str], ...]  # label, width in per cent
    crew: Markup | None
    crew_words: str
    key: str


@dataclass(frozen=True)
class WeekRow:
    day: str
    outdoors: str
    spread: str
    benches: str
    emerging: str


@dataclass(frozen=True)
class WeekBlock:
    rows: tuple[WeekRow, ...]
    has_emerging: bool
    usual: str | None


@dataclass(frozen=True)
class SheetView:
    title: str
    paper: str
    density: str  # roomy | snug | tight: how close the lines stand
    head: Head
    bands: tuple[Band, ...]
    no_orders: str | None  # what to say where there are no orders
    rule_of_thumb: str | None
    already_set: tuple[SetRow, ...]
    benches: BenchBlock
    strips: StripBlock
    week: WeekBlock | None
    emergence: tuple[str, ...]
    cautions: tuple[str, ...]
    light_unit: str  # of the boxes for readings
    temperature_unit: str
    footer: str
