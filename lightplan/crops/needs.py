"""Interface (being built)."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Needs:
    """What a bench needs in a day, from its batches and the grower's own values [mol m⁻² d⁻¹, h]."""

    minimum: float | None  # None in germination: no DLI need
    target: float | None
    limit: float | None
    dark_h: float  # unbroken dark that must be left
    most_in_hand: float
    most_owed: float
    lamps_allowed: bool  # hardening: no
    germination: GerminationLight | None
    photoperiod_class: str | None
    sources: tuple[str, ...]  # table keys or "site file"
    checked: str  # "page" | "memory" | "site file"


@dataclass(frozen=True)
class GerminationLight:
    """Light that seed wants: at least `ppfd_umol_m2_s` at the tray in every hour of the lamp hours."""

    ppfd_umol_m2_s: float
    requirement: str  # light_needed | light_beneficial | indifferent | dark_needed


@dataclass(frozen=True)
class Limits:
    ppfd_umol_m2_s: float | None
    ppfd_minutes: int | None
    temperature_c: float | None  # the lower step
    temperature_minutes: int | None
    temperature_upper_c: float | None  # the second step
    temperature_upper_minutes: int | None
    mark: str  # "page" | "memory" | "judgement" | "site file"
