"""What the page shows: finished words, figures and drawings. Templates only lay them out."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup


@dataclass(frozen=True)
class Head:
    weekday: str
    date: str
    site: str
    sentence: str  # would do if nothing else were read
    stand_in: str | None  # "typical year, not a forecast"
    fallback: str | None  # what stood in for what, in words
    facts: tuple[tuple[tuple[str, str], ...], ...]  # lines of label and words


@dataclass(frozen=True)
class OrderPlace:
    """One order's place and reason, with its own box to tick."""

    number: str
    name: str
    house: str
    reason: str | None  # None where the row has one for all
    sure: str
    figures: str = ""  # behind the name, where the row's reason is for all but they differ


AS_BEFORE = "As before"


@dataclass(frozen=True)
class AlsoDone:
    """What is done at the same place in the same moment, for the same reason, with its own box to tick."""

    number: str
    verb: str
    thing: str


@dataclass(frozen=True)
class OrderRow:
    """What is to be done at one time, at one place or several alike."""

    time: str
    verb: str
    thing: str
    now: str  # what happens as it is done; empty where that is plain
    reason: str | None  # shared by all places
    sure: str
    change: str | None  # what became of it since the day's first sheet
    places: tuple[OrderPlace, ...]
    also: tuple[AlsoDone, ...] = ()

    @property
    def differs(self) -> bool:
        """Whether it is new or another since the day's first sheet."""
        return self.change not in (None, AS_BEFORE)

    @property
    def pairs(self) -> tuple[tuple[OrderPlace, ...], ...]:
        """The places two by two, as they stand on the page."""
        return tuple(self.places[n : n + 2] for n in range(0, len(self.places), 2))


@dataclass(frozen=True)
class RoutineRow:
    """What is looked after at one time at several places: numbers and names, each with a box to tick."""

    time: str
    words: str
    places: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Band:
    """A part of the crew's day with its orders; never empty."""

    title: str
    orders: tuple[OrderRow, ...]
    routine: tuple[RoutineRow, ...] = ()


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
    notes: tuple[str, ...]  # benches to leave alone, empty ones, and what is to be known about the others
    sum_heading: str
    peak_heading: str
    has_account: bool
    has_day_length: bool
    has_temperature: bool
    more: str  # number of those columns, as the name of a width
    key: str

    @property
    def remarks(self) -> tuple[tuple[str, str], ...]:
        """The notes, each parted into what it is about and what it says."""
        return tuple(_parted(words) for words in self.notes)


def _parted(words: str) -> tuple[str, str]:
    lead, colon, rest = words.partition(": ")
    return (lead + ":", rest) if colon else ("", words)


@dataclass(frozen=True)
class Lane:
    label: str
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


@dataclass(frozen=True)
class WeekBlock:
    rows: tuple[WeekRow, ...]


@dataclass(frozen=True)
class SheetView:
    title: str
    paper: str
    density: str  # roomy | snug | tight | packed: how close the lines stand
    head: Head
    bands: tuple[Band, ...]
    second_look: str | None  # since when, and how much changed; None on a day's first sheet
    dropped: tuple[str, ...]  # orders of the first sheet that hold no more
    no_orders: str | None  # what to say where there are no orders
    rule_of_thumb: str | None
    no_work: tuple[str, ...]  # benches to be left as they are
    already_set: tuple[SetRow, ...]
    set_heading: str
    set_from: str | None  # said where the record has a gap
    benches: BenchBlock | None
    strips: StripBlock | None
    week: WeekBlock | None
    emergence: tuple[str, ...]
    cautions_beside: tuple[str, ...]  # those that find room beside the days ahead
    cautions_below: tuple[str, ...]  # the others, across the page
    below: tuple[tuple[str, str], ...]  # label and words: yesterday's score, what is measured
    meter: str | None  # when and where the meter tells most today
    light_unit: str  # of the boxes for readings
    temperature_unit: str
    footer: str
