"""What day length a crop answers to, and what is wanted of it at a stage."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from enum import Enum

from lightplan.crops.needs import is_finish
from lightplan.crops.rows import light_row, number
from lightplan.site.models import OWN, Batch, OwnNeeds, Stage
from lightplan.tables import read_table


class DayKind(Enum):
    SHORT = "short-day"
    LONG = "long-day"


@dataclass(frozen=True)
class DayClass:
    """How a crop answers to day length.

    low_h, high_h : days up to the one are surely short to it, from the other on surely long. obligate : it
    does not flower without. source, checked : of the critical length, a rule for most crops where the table
    has none of its own.
    """

    crop: str
    kind: DayKind
    low_h: float
    high_h: float
    obligate: bool
    source: str
    checked: str

    @property
    def flowers_h(self) -> float:
        """What is surely on its flowering side: at most this for short-day crops, else at least."""
        return self.low_h if self.kind is DayKind.SHORT else self.high_h

    @property
    def holds_h(self) -> float:
        """The length that surely holds flowering back."""
        return self.high_h if self.kind is DayKind.SHORT else self.low_h


@dataclass(frozen=True)
class DayAim:
    """What a batch wants of the day: SHORT at most, LONG at least `wanted_h`. flowers : to bring it on."""

    crop: str
    kind: DayKind
    wanted_h: float
    flowers: bool
    obligate: bool
    checked: str


def rule_value(rule_id: str, end: str = "low") -> float:
    """A value of `photoperiod_rules.csv`."""
    row = next(row for row in read_table("photoperiod_rules") if row["rule_id"] == rule_id)
    return float(row[f"value_{end}"])


# Where the table has no critical length, what holds for most crops: a night of 12 h is a short day, one under
# 10 h a long day (lopez_currey_2014, page)
FOR_MOST_H = {
    DayKind.SHORT: 24 - rule_value("long_night_short_day"),
    DayKind.LONG: 24 - rule_value("short_night_long_day"),
}
FOR_MOST_SOURCE = "lopez_currey_2014"


def day_class(crop: str) -> DayClass | None:
    """`crops_light.csv` photoperiod_class and critical length; None for day-neutral crops."""
    row = light_row(crop)
    name = row["photoperiod_class"] if row else ""
    kind = next(
        (k for k, word in ((DayKind.SHORT, "short_day"), (DayKind.LONG, "long_day")) if word in name), None
    )
    if row is None or kind is None:
        return None
    low, high = number(row, "critical_photoperiod_low_h"), number(row, "critical_photoperiod_high_h")
    own = low if low is not None else high
    usual = FOR_MOST_H[kind]
    return DayClass(
        crop=crop,
        kind=kind,
        low_h=usual if own is None else own,
        high_h=usual if own is None else (high if high is not None else own),
        obligate="obligate" in name,
        source=FOR_MOST_SOURCE if own is None else row["source"],
        # the table's critical lengths are from memory but where its checked_fields name them
        checked="page" if own is None or "critical_photoperiod" in row["checked_fields"] else "memory",
    )


FLOWERS_NOT_WANTED = ("vegetable_start",)  # leaves and bulbs are: long days bolt or bulb them


def day_aim(batch: Batch, day: date, own_needs: Mapping[tuple[str, Stage], OwnNeeds]) -> DayAim | None:
    """What is wanted of the day for a batch; None where it does not matter, or is left as it comes.

    Flowers are wanted from when a crop is grown by its finish values on (half of growing-on, finishing);
    plugs grow their leaves first, and vegetables are not to flower at all (judgement). `flowering` of the
    site file says otherwise, `critical_day_h` sets another length.
    """
    found = day_class(batch.crop)
    if found is None or batch.stage in (Stage.GERMINATION, Stage.HARDENING):
        return None
    own = own_needs.get((batch.crop, batch.stage), OwnNeeds())
    row = light_row(batch.crop)
    usual = is_finish(batch, day) and row is not None and row["crop_group"] not in FLOWERS_NOT_WANTED
    flowering = own.flowering or ("hasten" if usual else "leave")
    if flowering == "leave":
        return None
    flowers = flowering == "hasten"
    kind = found.kind if flowers else (DayKind.LONG if found.kind is DayKind.SHORT else DayKind.SHORT)
    wanted = found.flowers_h if flowers else found.holds_h
    return DayAim(
        crop=batch.crop,
        kind=kind,
        wanted_h=wanted if own.critical_day_h is None else own.critical_day_h,
        flowers=flowers,
        obligate=found.obligate,
        checked=found.checked if own.critical_day_h is None else OWN,
    )


def bench_aims(
    batches: Iterable[Batch], day: date, own_needs: Mapping[tuple[str, Stage], OwnNeeds]
) -> tuple[DayAim | None, tuple[DayAim, ...]]:
    """The aim that rules a bench on one date, and those that want the contrary.

    The strictest dark need holds (the design's rule for shared benches): a short day goes before a long one.
    """
    aims = [aim for batch in batches if (aim := day_aim(batch, day, own_needs)) is not None]
    short = [aim for aim in aims if aim.kind is DayKind.SHORT]
    long = [aim for aim in aims if aim.kind is DayKind.LONG]
    if short:
        return min(short, key=lambda aim: aim.wanted_h), tuple(long)
    return max(long, key=lambda aim: aim.wanted_h, default=None), ()
