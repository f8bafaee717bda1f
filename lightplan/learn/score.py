"""How a day's sheet did: light forecast and come, what each bench got, and whether each order was right."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import date
from typing import Any


@dataclass(frozen=True)
class BenchScore:
    """A bench's day [mol]: sun as the sheet had it and as it came, lamps as ordered and done.

    reached : its minimum; None where the day asked for none. account : at the day's end, by what came.
    """

    id: str
    sun_told: float
    sun_came: float
    lamp_h: float
    lamp_mol: float
    minimum: float | None
    target: float | None
    reached: bool | None
    account: float | None

    @property
    def total(self) -> float:
        return self.sun_came + self.lamp_mol


@dataclass(frozen=True)
class OrderScore:
    """done : None where nobody told. right : by the light that came; None where that can't be judged."""

    number: int
    bench: str | None
    house: str
    action: str
    what: str
    done: bool | None
    right: bool | None
    why: str  # slug


@dataclass(frozen=True)
class AirScore:
    """A house's highest as the sheet had it and as it was read [°C]."""

    house: str
    told_c: float | None
    read_c: float | None


@dataclass(frozen=True)
class DayScore:
    """Outdoor light of the day [mol]: forecast with its 10 and 90 % points, and what came.

    kind : the weather's. observed_by : "logger" | "file" | "service". raw_mol : the forecast without the
    cloud correction that was in use. stretch : factor on the band that the site's past had taught by then.
    """

    day: date
    source: str
    kind: str
    observed_by: str
    forecast_mol: float
    low_mol: float
    high_mol: float
    came_mol: float
    clear_mol: float
    raw_mol: float
    benches: tuple[BenchScore, ...]
    orders: tuple[OrderScore, ...]
    air: tuple[AirScore, ...]
    stretch: float = 1.0

    @property
    def in_range(self) -> bool:
        return self.low_mol <= self.came_mol <= self.high_mol

    @property
    def judged(self) -> tuple[OrderScore, ...]:
        return tuple(o for o in self.orders if o.right is not None)

    @property
    def right(self) -> int:
        return sum(bool(o.right) for o in self.judged)


def score_json(score: DayScore) -> dict[str, Any]:
    text: dict[str, Any] = asdict(score) | {"day": score.day.isoformat()}
    return {key: round(value, 4) if isinstance(value, float) else value for key, value in text.items()}


def score_of(text: dict[str, Any]) -> DayScore:
    """The score that `score_json` wrote. Raises LookupError, TypeError or ValueError on anything else."""
    return DayScore(
        **{
            **text,
            "day": date.fromisoformat(text["day"]),
            "benches": tuple(BenchScore(**row) for row in text["benches"]),
            "orders": tuple(OrderScore(**row) for row in text["orders"]),
            "air": tuple(AirScore(**row) for row in text["air"]),
        }
    )


@dataclass(frozen=True)
class SeasonRecord:
    """Over all scored days. off : came over forecast less 1, mean; None where nothing was forecast."""

    days: int
    in_range: int
    off: float | None
    judged: int
    right: int
    minimum_days: int
    minimum_reached: int


def season_record(scores: tuple[DayScore, ...]) -> SeasonRecord:
    told, came = sum(s.forecast_mol for s in scores), sum(s.came_mol for s in scores)
    asked = [b.reached for s in scores for b in s.benches if b.reached is not None]
    return SeasonRecord(
        days=len(scores),
        in_range=sum(s.in_range for s in scores),
        off=came / told - 1 if told > 0 else None,
        judged=sum(len(s.judged) for s in scores),
        right=sum(s.right for s in scores),
        minimum_days=len(asked),
        minimum_reached=sum(asked),
    )
