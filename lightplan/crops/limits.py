"""What the plants on a bench bear: light and temperature limits by stage, each with its mark."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from lightplan.crops.needs import NONE_GIVEN, Own, batches_on, emergence_window
from lightplan.crops.rows import germination_row, light_row, limit_rows, number
from lightplan.site.models import Batch, Bench, OwnNeeds, Stage

SHADE_CROPS = frozenset({"impatiens", "begonia_wax", "coleus", "primula"})
SOFT_DAYS = 10  # from emergence
LAST_DAYS = 7  # before the batch leaves: stage 4
WEAKEST_FIRST = ("memory", "judgement", "page", "site file")
STEPS_APART_C = 5.0  # between a grower's own lower step and the second


@dataclass(frozen=True)
class Limits:
    ppfd_umol_m2_s: float | None
    ppfd_minutes: int | None
    temperature_c: float | None  # the lower step
    temperature_minutes: int | None
    temperature_upper_c: float | None  # the second step
    temperature_upper_minutes: int | None
    mark: str  # "page" | "memory" | "judgement" | "site file"


@dataclass(frozen=True)
class _Row:
    """One row of the design's limit table: minutes borne over the PPFD limit, two temperature steps."""

    table_stage: str | None
    ppfd_minutes: int | None
    steps: tuple[tuple[float, int], ...]


# All but the species' own upper temperature: judgement (40 °C for seed: from memory)
SEED_KILL = (40.0, 0)
SEED_UPPER_MINUTES = 60
SOFT = _Row("stage_2", 60, ((32.0, 60), (38.0, 15)))
PLUG = _Row("stage_3", 120, ((35.0, 60), (40.0, 15)))
LAST = _Row("stage_4", 120, ((35.0, 60), (40.0, 15)))
GROWN = _Row("finish", 120, ((35.0, 120),))


def bench_limits(bench: Bench, day: date, own_needs: Own) -> Limits | None:
    """The strictest limits of the batches on a bench that day; None where nothing stands there."""
    each = [_limits_of(batch, day, own_needs) for batch in batches_on(bench, day)]
    if not each:
        return None
    light = min(each, key=lambda one: _strictness(one.ppfd_umol_m2_s, one.ppfd_minutes))
    heat = min(each, key=lambda one: _strictness(one.temperature_c, one.temperature_minutes))
    upper = min(each, key=lambda one: _strictness(one.temperature_upper_c, one.temperature_upper_minutes))
    return Limits(
        light.ppfd_umol_m2_s,
        light.ppfd_minutes,
        heat.temperature_c,
        heat.temperature_minutes,
        upper.temperature_upper_c,
        upper.temperature_upper_minutes,
        _weakest(light if light.ppfd_umol_m2_s is not None else heat, heat),
    )


def _weakest(*each: Limits) -> str:
    """The mark of the limit that rests on least: an order must not hide a rule of thumb."""
    return min((one.mark for one in each), key=WEAKEST_FIRST.index)


def seed_kill_lifted(bench: Bench, day: date, own_needs: Own) -> tuple[float, float, float] | None:
    """Where an own limit moves the second step past what kills seed: own limit, second step, that [°C].

    The second step stays 5 K above the lower one whatever the grower gives, so an own limit above 35 °C
    silences the warning at 40 °C. It is kept; the sheet has to say it.
    """
    for batch in batches_on(bench, day):
        own = own_needs.get((batch.crop, batch.stage), NONE_GIVEN)
        second = _limits_of(batch, day, own_needs).temperature_upper_c
        if batch.stage is Stage.GERMINATION and own.limit_c is not None and second is not None:
            kill_c, _ = SEED_KILL
            if second > kill_c:
                return own.limit_c, second, kill_c
    return None


def _strictness(limit: float | None, minutes: int | None) -> tuple[float, int]:
    """Sorts the lower limit first, of equal ones that borne for less time, none at all last."""
    return (float("inf") if limit is None else limit, minutes or 0)


def light_hurts_by_itself(bench: Bench, day: date) -> bool:
    """Whether a PPFD limit counts in cool air too: light itself hurts soft seedlings and shade crops."""
    return any(
        batch.crop in SHADE_CROPS or (batch.stage is not Stage.GERMINATION and limit_row(batch, day) is SOFT)
        for batch in batches_on(bench, day)
    )


def limit_row(batch: Batch, day: date) -> _Row:
    """Which row of the table holds for a batch past germination; the soft days win over the last ones."""
    if batch.stage is not Stage.SEEDLING:
        return GROWN
    window = emergence_window(batch) if batch.sown else None
    emerged = window[0] if window else batch.from_date
    if day < emerged + timedelta(days=SOFT_DAYS):
        return SOFT
    return LAST if day > batch.to_date - timedelta(days=LAST_DAYS) else PLUG


def _limits_of(batch: Batch, day: date, own_needs: Own) -> Limits:
    own = own_needs.get((batch.crop, batch.stage), NONE_GIVEN)
    if batch.stage is Stage.GERMINATION:
        seed = germination_row(batch.crop)
        known = number(seed, "temp_upper_c")
        upper = own.limit_c if known is None else known
        steps = ((upper, SEED_UPPER_MINUTES), SEED_KILL) if upper is not None else (SEED_KILL,)
        return _limits(own, None, None, steps, seed["checked"] if seed and known is not None else "memory")
    row = limit_row(batch, day)
    ppfd = None if batch.stage is Stage.HARDENING else upper_ppfd(batch.crop, row.table_stage or "")
    return _limits(own, ppfd, row.ppfd_minutes, row.steps, "judgement")


def _limits(
    own: OwnNeeds,
    ppfd: float | None,
    ppfd_minutes: int | None,
    steps: tuple[tuple[float, int], ...],
    mark: str,
) -> Limits:
    (lower_c, lower_min), second = steps[0], steps[1] if len(steps) > 1 else (None, None)
    upper_c, upper_min = second
    if own.limit_c is not None:
        lower_c = own.limit_c
        upper_c = None if upper_c is None else max(upper_c, lower_c + STEPS_APART_C)
    if own.limit_ppfd is not None:
        ppfd, ppfd_minutes = own.limit_ppfd, ppfd_minutes or PLUG.ppfd_minutes
    theirs = own.limit_c is not None and (ppfd is None or own.limit_ppfd is not None)
    return Limits(
        ppfd,
        ppfd_minutes if ppfd is not None else None,
        lower_c,
        lower_min,
        upper_c,
        upper_min,
        "site file" if theirs else mark,
    )


def upper_ppfd(crop: str, stage: str) -> float | None:
    """PPFD that a crop bears at a stage of `light_limits.csv` [µmol m⁻² s⁻¹], always the high column.

    Its own damage threshold, else its upper limit, else (from stage 4 on) the light table's upper PPFD,
    else the planning value of its group.
    """
    own = limit_rows(crop, stage)
    for kind in ("damage_above", "upper_limit"):
        found = [number(row, "ppfd_high_umol_m2_s") for row in own if row["kind"] == kind]
        high = [value for value in found if value is not None]
        if high:
            return min(high)
    if stage in ("stage_4", "finish"):
        known = number(light_row(crop), "upper_ppfd_umol_m2_s")
        if known is not None:
            return known
    shade = crop in SHADE_CROPS
    group = "shade_crop" if shade else "sun_crop"
    if stage != "finish":
        group += "_plug"
        stage = "stage_3" if shade and stage == "stage_4" else stage
    rows = [row for row in limit_rows(group, stage) if row["kind"] == "planning_upper"]
    return number(rows[0], "ppfd_high_umol_m2_s") if rows else None
