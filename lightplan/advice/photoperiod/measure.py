"""The least lamp light that makes a day long: none, more of an evening or morning, or a broken night."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from lightplan.clock import STEP_S
from lightplan.crops.day_length import rule_value

BREAK_H = rule_value("ni_hours")  # lamps on in the middle of the night (page); the design's own
LONG_DAY_PPFD = rule_value("low_intensity")  # least that long-day crops take for day (page)
SLIGHT_H = 0.05  # three minutes of day are not worth a lamp; judgement
CYCLE_MIN = 30
CYCLE_ON_MIN = rule_value("cyclic_6_24")  # of each half hour (page)
CYCLE_ON_PERENNIAL_MIN = rule_value("cyclic_10_20")  # (page)
# Lamps that strike at once; discharge and fluorescent ones are not switched every few minutes
# (cyclic_no_discharge, memory)
QUICK_LAMPS = ("led", "incandescent")


class Measure(Enum):
    NONE = "none"
    EXTENSION = "extension"
    INTERRUPTION = "interruption"
    CYCLIC = "cyclic"


@dataclass(frozen=True)
class LongDayTask:
    """A bench that wants a long day tonight.

    natural_h : day that plants see without its lamps. wanted_h : at least. light_h : hours that lamps burn
    for light anyhow. lamps_ppfd : at the plants, None without lamps. kind : of the lamps. minutes : whether
    they can be switched by the minute (from afar), not by pins of a quarter hour. by_timer : whether they
    can be switched by night. night_free : whether they may run through the middle of the night.
    """

    natural_h: float
    wanted_h: float
    light_h: float
    lamps_ppfd: float | None
    kind: str
    minutes: bool
    by_timer: bool
    night_free: bool
    perennial: bool


def least_measure(task: LongDayTask) -> Measure:
    """What takes the fewest lamp hours, light that is needed anyhow counted in.

    A night broken for 4 h counts as a long day whatever its length, so a day that lacks more than that is
    broken instead of drawn out. Lamps too weak to be taken for day are no measure.
    """
    lacking = task.wanted_h - task.natural_h
    if lacking <= SLIGHT_H or task.lamps_ppfd is None or task.lamps_ppfd < LONG_DAY_PPFD:
        return Measure.NONE
    broken = BREAK_H * cyclic_share(perennial=task.perennial) if is_cyclic(task) else BREAK_H
    can_break = task.by_timer and task.night_free
    if not can_break or max(lacking, task.light_h) <= max(broken, task.light_h):
        return Measure.EXTENSION
    return Measure.CYCLIC if is_cyclic(task) else Measure.INTERRUPTION


def is_cyclic(task: LongDayTask) -> bool:
    """Whether a broken night may be lit a few minutes in every half hour."""
    return task.minutes and task.kind.startswith(QUICK_LAMPS)


def cyclic_share(*, perennial: bool) -> float:
    """Share of the broken night that lamps burn: 6 min in 30, for perennials 10."""
    return (CYCLE_ON_PERENNIAL_MIN if perennial else CYCLE_ON_MIN) / CYCLE_MIN


def break_span(dark_s: float, light_s: float) -> tuple[float, float]:
    """The 4 h centred on a dark stretch, on whole quarter hours; UTC seconds."""
    start = round(((dark_s + light_s) / 2 - BREAK_H * 1800) / STEP_S) * STEP_S
    return float(start), float(start + BREAK_H * 3600)
