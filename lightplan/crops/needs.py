"""What a bench needs in a day, from its batches, the tables and the grower's own values."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta

from lightplan.crops.rows import dark_rule, germination_row, light_row, limit_rows, number
from lightplan.site.models import Batch, Bench, OwnNeeds, Stage

LIGHT_FROM_SOWING = ("light_needed", "light_beneficial")
NONE_GIVEN = OwnNeeds()


@dataclass(frozen=True)
class GerminationLight:
    """Light that seed wants: at least `ppfd_umol_m2_s` at the tray in every hour of the lamp hours."""

    ppfd_umol_m2_s: float
    requirement: str  # light_needed | light_beneficial | indifferent | dark_needed


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
class BenchNeeds:
    """The batches on a bench on one date, what they need together, and what is to be said of them."""

    batches: tuple[Batch, ...]
    needs: Needs | None  # None: nothing stands there, or no value is known
    governs: Batch | None  # the one that sets the target
    notes: tuple[tuple[str, dict[str, object]], ...] = field(default=())


Own = dict[tuple[str, Stage], OwnNeeds]
Said = tuple[str, dict[str, object]]


def batches_on(bench: Bench, day: date) -> tuple[Batch, ...]:
    return tuple(batch for batch in bench.batches if batch.from_date <= day <= batch.to_date)


def emergence_window(batch: Batch) -> tuple[date, date] | None:
    """First and last day on which seedlings are looked for; None where no days are known."""
    row = germination_row(batch.crop)
    low, high = number(row, "days_low"), number(row, "days_high")
    if low is None or high is None:
        return None
    sown = batch.sown or batch.from_date
    return sown + timedelta(days=int(low)), sown + timedelta(days=int(high))


def bench_needs(bench: Bench, day: date, own_needs: Own) -> BenchNeeds:
    """Needs of a bench on one date: highest minimum and target, strictest limit and dark of its batches."""
    batches = batches_on(bench, day)
    if not batches:
        return BenchNeeds((), None, None)
    each = [_needs_of(batch, bench, day, own_needs) for batch in batches]
    known = [(batch, needs) for batch, needs in zip(batches, each, strict=True) if needs is not None]
    notes = tuple(_notes(batches, each, day))
    if not known:
        return BenchNeeds(batches, None, batches[0], notes)
    governs = max(known, key=lambda pair: pair[1].target or -1.0)[0]
    own = [_own(batch, own_needs) for batch, _ in known]
    return BenchNeeds(batches, _together([needs for _, needs in known], own), governs, notes)


def _own(batch: Batch, own_needs: Own) -> OwnNeeds:
    return own_needs.get((batch.crop, batch.stage), NONE_GIVEN)


def _needs_of(batch: Batch, bench: Bench, day: date, own_needs: Own) -> Needs | None:
    own = _own(batch, own_needs)
    row = light_row(batch.crop)
    sprouting = batch.stage is Stage.GERMINATION
    part = "finish" if is_finish(batch, day) else "plug"
    minimum, target, limit = (
        (None, None, None)
        if sprouting
        else (
            number(row, f"{part}_dli_min_mol_m2_d"),
            number(row, f"{part}_dli_target_low_mol_m2_d"),
            number(row, "upper_dli_mol_m2_d"),
        )
    )
    minimum = minimum if own.minimum is None else own.minimum
    target = target if own.target is None else own.target
    if target is not None and minimum is not None and own.target is None:
        target = max(minimum, target)  # an own minimum above the table's target takes it along
    if target is not None:
        minimum = target if minimum is None else min(minimum, target)
    if not sprouting and target is None:
        return None
    room = 0.0 if target is None or minimum is None else target - minimum  # carry: judgement of the design
    seed = germination_row(batch.crop) if sprouting else None
    dark = dark_rule(batch.crop)
    given = own.minimum is not None and own.target is not None
    source = seed or row
    tables = () if given or source is None else tuple(source["source"].split(";"))
    if not sprouting and own.dark_h is None:
        tables += tuple(dark["source"].split(";"))
    return Needs(
        minimum=minimum,
        target=target,
        limit=limit if own.limit is None else own.limit,
        dark_h=(0.0 if sprouting else float(dark["value_low"])) if own.dark_h is None else own.dark_h,
        most_in_hand=room if own.most_in_hand is None else own.most_in_hand,
        most_owed=room if own.most_owed is None else own.most_owed,
        lamps_allowed=batch.stage is not Stage.HARDENING,
        germination=_seed_light(batch, bench, day, seed),
        photoperiod_class=row["photoperiod_class"] or None if row else None,
        sources=tuple(dict.fromkeys((*(("site file",) if own != NONE_GIVEN else ()), *tables))),
        checked="site file" if given or source is None else source["checked"],
    )


def is_finish(batch: Batch, day: date) -> bool:
    """Whether a finished plant's columns of the light table hold, or else a plug's."""
    if batch.stage in (Stage.GROWING_ON, Stage.HARDENING):
        length = (batch.to_date - batch.from_date).days + 1
        return 2 * (day - batch.from_date).days >= length
    return batch.stage is Stage.FINISHING


def _seed_light(batch: Batch, bench: Bench, day: date, row: dict[str, str] | None) -> GerminationLight | None:
    """Light from sowing for seed that wants it, for the rest from the first day seedlings may show."""
    if batch.stage is not Stage.GERMINATION:
        return None
    requirement = (row["light_requirement"] if row else "") or "indifferent"
    window = emergence_window(batch)
    first_lit = batch.sown or batch.from_date
    if requirement not in LIGHT_FROM_SOWING and window is not None:
        first_lit = window[0]
    return GerminationLight(bench.light_for_seed_ppfd_umol_m2_s, requirement) if day >= first_lit else None


def _together(each: list[Needs], own: list[OwnNeeds]) -> Needs:
    """One need for a shared bench. What may be carried over is what lies between its minimum and target."""
    if len(each) == 1:
        return each[0]
    seeds = [needs.germination for needs in each if needs.germination is not None]
    classes = [needs.photoperiod_class for needs in each if needs.photoperiod_class]
    strict_class = next((name for name in classes if "short_day" in name), classes[0] if classes else None)
    ruling = max(each, key=lambda needs: needs.target or -1.0)
    minimum, target = _most(needs.minimum for needs in each), _most(needs.target for needs in each)
    room = 0.0 if minimum is None or target is None else target - minimum
    return Needs(
        minimum=minimum,
        target=target,
        limit=min((needs.limit for needs in each if needs.limit is not None), default=None),
        dark_h=max(needs.dark_h for needs in each),
        most_in_hand=_least((given.most_in_hand for given in own), room),
        most_owed=_least((given.most_owed for given in own), room),
        lamps_allowed=any(needs.lamps_allowed for needs in each),
        germination=max(seeds, key=lambda seed: seed.ppfd_umol_m2_s) if seeds else None,
        photoperiod_class=strict_class,
        sources=tuple(dict.fromkeys(key for needs in each for key in needs.sources)),
        checked="memory" if any(needs.checked == "memory" for needs in each) else ruling.checked,
    )


def _most(values: Iterable[float | None]) -> float | None:
    return max((value for value in values if value is not None), default=None)


def _least(values: Iterable[float | None], otherwise: float) -> float:
    return min((value for value in values if value is not None), default=otherwise)


def _notes(batches: tuple[Batch, ...], each: list[Needs | None], day: date) -> Iterator[Said]:
    if len({batch.crop for batch in batches}) > 1:
        yield "batches-share", {"crops": tuple(dict.fromkeys(batch.crop for batch in batches))}
    for batch, needs in zip(batches, each, strict=True):
        if needs is None:
            yield "no-needs", {"crop": batch.crop}
            continue
        for other, others in zip(batches, each, strict=True):
            if others is None or needs.target is None or others.limit is None or batch is other:
                continue
            if needs.target > others.limit:
                values = {
                    "crop": batch.crop,
                    "other": other.crop,
                    "target": needs.target,
                    "limit": others.limit,
                }
                yield "batches-conflict", values
        if batch.stage is Stage.GERMINATION:
            yield from _seed_notes(batch, day)


def _seed_notes(batch: Batch, day: date) -> Iterator[Said]:
    row = germination_row(batch.crop)
    window = emergence_window(batch)
    if row and row["light_requirement"] == "dark_needed" and window and day < window[0]:
        yield "seed-wants-dark", {"crop": batch.crop}
        return
    own = [r for r in limit_rows(batch.crop, "stage_1") if r["original_unit"] != "percent_shade"]
    rows = own or list(limit_rows("any_plug", "stage_1"))
    yield "lit-chamber", {"ppfd": float(rows[0]["ppfd_high_umol_m2_s"])}
