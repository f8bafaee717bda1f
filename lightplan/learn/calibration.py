"""What a calibration holds: factors with their widths, ready to be kept and to be used."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass, fields
from datetime import date
from typing import Any

from lightplan.site.models import Measured

CHANGED = "site.toml tells it otherwise since it was measured; run lightplan calibrate again"


@dataclass(frozen=True)
class Factor:
    """A factor's middle and its 90 % interval. prior : the same before any reading. used : enough is known.

    why_not : what is missing, where it is not used.
    """

    middle: float
    low: float
    high: float
    prior_low: float
    prior_high: float
    readings: int
    used: bool
    why_not: str | None


@dataclass(frozen=True)
class HouseFound:
    """factor : on the computed transmission on the calibration's date. measured : the same for any date.

    dim : share of light lost since it was clean (middle, low, high); None where that is not known.
    is_dim : surely dimmer than its own past. jump : when its light changed at once, where it did.
    computed : share of an evenly grey sky's light at the floor that the model gives it.
    basis : names how the site file described it, since a factor holds for that alone.
    """

    id: str
    factor: Factor
    measured: Measured
    dim: tuple[float, float, float] | None
    is_dim: bool
    last_reading: date | None
    jump: date | None = None
    computed: float | None = None
    basis: str | None = None


@dataclass(frozen=True)
class HeatFound:
    """Factors on what surfaces pass and on air changes. uncertainty_k : of a peak, either way.

    basis : as of a house.
    """

    id: str
    loss: Factor
    air: Factor
    uncertainty_k: float
    basis: str | None = None


@dataclass(frozen=True)
class SourceFound:
    """What scored days taught about a weather source."""

    source: str
    days: int
    light: Factor
    spread: Factor


@dataclass(frozen=True)
class KeptOut:
    """A reading left out, and by how much it lies off the others [share]."""

    number: int
    why: str


@dataclass(frozen=True)
class Calibration:
    """lamp_ppfd : by bench, what the site file gave its lamps then [µmol m⁻² s⁻¹]."""

    houses: tuple[HouseFound, ...]
    lamps: tuple[tuple[str, Factor], ...]  # by bench, on its ppfd
    covers: tuple[tuple[str, Factor], ...]  # by name: the transmittance itself
    heat: tuple[HeatFound, ...]
    sources: tuple[SourceFound, ...]
    outliers: tuple[KeptOut, ...]
    next_reading: str | None
    made_on: date
    lamp_ppfd: tuple[tuple[str, float], ...] = ()


def changed_since(found: Calibration) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Ids of houses, and of benches for their lamps, whose factors went out of use with the site file."""

    def of_houses() -> Iterator[str]:
        yield from (h.id for h in found.houses if h.factor.why_not == CHANGED)
        yield from (h.id for h in found.heat if CHANGED in (h.loss.why_not, h.air.why_not))

    return tuple(dict.fromkeys(of_houses())), tuple(b for b, f in found.lamps if f.why_not == CHANGED)


def to_json(found: Calibration) -> dict[str, Any]:
    """Plain values, dates as text."""

    def plain(value: Any) -> Any:
        if isinstance(value, date):
            return value.isoformat()
        if isinstance(value, dict):
            return {key: plain(inner) for key, inner in value.items()}
        if isinstance(value, list | tuple):
            return [plain(inner) for inner in value]
        return round(value, 5) if isinstance(value, float) else value

    text: dict[str, Any] = plain(asdict(found))
    return text


def from_json(text: dict[str, Any]) -> Calibration:
    """The calibration that `to_json` wrote. Raises LookupError, TypeError or ValueError on anything else."""
    return Calibration(
        houses=tuple(_house(row) for row in text["houses"]),
        lamps=tuple((bench, _factor(row)) for bench, row in text["lamps"]),
        covers=tuple((name, _factor(row)) for name, row in text["covers"]),
        heat=tuple(
            HeatFound(
                row["id"],
                _factor(row["loss"]),
                _factor(row["air"]),
                float(row["uncertainty_k"]),
                row.get("basis"),
            )
            for row in text["heat"]
        ),
        sources=tuple(
            SourceFound(row["source"], int(row["days"]), _factor(row["light"]), _factor(row["spread"]))
            for row in text["sources"]
        ),
        outliers=tuple(KeptOut(int(row["number"]), row["why"]) for row in text["outliers"]),
        next_reading=text["next_reading"],
        made_on=date.fromisoformat(text["made_on"]),
        lamp_ppfd=tuple((bench, float(ppfd)) for bench, ppfd in text.get("lamp_ppfd", ())),
    )


def _factor(row: dict[str, Any]) -> Factor:
    return Factor(**{field.name: row[field.name] for field in fields(Factor)})


def _house(row: dict[str, Any]) -> HouseFound:
    measured = row["measured"]
    return HouseFound(
        id=row["id"],
        factor=_factor(row["factor"]),
        measured=Measured(
            level=float(measured["level"]),
            dirt=float(measured["dirt"]),
            per_year=float(measured["per_year"]),
            soil=float(measured["soil"]),
            since=date.fromisoformat(measured["since"]),
            until=date.fromisoformat(measured["until"]),
        ),
        dim=None if row["dim"] is None else (row["dim"][0], row["dim"][1], row["dim"][2]),
        is_dim=bool(row["is_dim"]),
        last_reading=date.fromisoformat(row["last_reading"]) if row["last_reading"] else None,
        jump=date.fromisoformat(row["jump"]) if row["jump"] else None,
        computed=row["computed"],
        basis=row.get("basis"),
    )
