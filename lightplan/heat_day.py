"""Light, weather and lamps → the temperature of each house and bench on the sheet's day."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lightplan.advice.covers import States
from lightplan.clock import STEP_MIN, Grid, Window
from lightplan.crops.limits import Limits
from lightplan.dayplan import HouseDay, Note, Temperature
from lightplan.heat.bench_body import bench_body
from lightplan.heat.house_air import AUTOMATIC, SHUT
from lightplan.heat.house_body import HouseBody, house_body
from lightplan.heat.parameters import UNCALIBRATED, heat_parameters
from lightplan.heat.runs import BenchHeat, HouseHeat
from lightplan.house.transmission import HouseLight
from lightplan.light import BenchLight
from lightplan.site.models import Batch, Bench, House, Site, Stage
from lightplan.sky import Sky

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

FROST_MARGIN_K = 3.0  # house air this far under what it is heated to is said; the design's own
HARDENING_TOLD_BELOW_C = 4.0  # judgement
FULL_FLOOR_SHARE = 0.5  # of the floor under plants past the plug stage: counts as a full floor; judgement
UPPER_STEPS_MARK = "judgement"  # no second step of the limit table was read on a page
MUCH_K = UNCALIBRATED.vent_band_k  # from there vents are fully open, and shut ones worth an order or a line


@dataclass(frozen=True)
class HouseWarmth:
    """Air of a house (steps,): as its vents are run, and with vents opened as needed."""

    body: HouseBody
    air_c: Array
    vented_c: Array


@dataclass(frozen=True)
class BenchWarmth:
    """where : "medium" | "leaf" | "air". (steps,) as ordered, and with the tent closed and nothing drawn."""

    where: str
    temperature_c: Array
    open_c: Array


def steps_wanted(grid: Grid, window: Window | None) -> int:
    """Steps from the sheet's midnight to the end of its day and of its window."""
    end = int((grid.day == 0).sum())
    return end if window is None else min(max(end, grid.index(window.end)), len(grid))


def joules_per_umol(sky: Sky) -> Array:
    """Heat that comes with light [J µmol⁻¹]: glazing is taken to pass all of the sun as it passes PAR."""
    with np.errstate(divide="ignore", invalid="ignore"):
        found = (sky.beam_w_m2 + sky.diffuse_w_m2) / sky.ppfd_umol_m2_s
    return np.where(sky.ppfd_umol_m2_s > 0, found, 0.0)


def house_ready(
    site: Site,
    sky: Sky,
    *,
    house: House,
    house_light: HouseLight,
    light: Mapping[str, BenchLight],
    lit: Mapping[str, Mask],
    grid: Grid,
    steps: int,
) -> HouseHeat:
    """A house with a bench, ready to be run. light, lit : by bench; its benches' losses are the house's.

    Vents worked by hand stay shut. All lamps of a house warm it in the end, those in tents too.
    """
    benches = [b for b in site.benches if b.house == house.id]
    losses = light[benches[0].id].losses
    beam = sky.beam_w_m2 * house_light.beam(sky.zenith_deg, sky.azimuth_deg) * losses.beam
    sun = (beam + sky.diffuse_w_m2 * house_light.diffuse() * losses.diffuse)[:steps]
    body = house_body(house)
    lamps = np.zeros(steps)
    for bench in benches:
        if bench.lamps is not None and bench.id in lit:
            lamps += lit[bench.id][:steps] * bench.lamps.power_kw * 1000 * bench.lamps.working / body.floor_m2
    return HouseHeat(
        body=body,
        outdoor_c=sky.temp_air_c[:steps],
        sun_w_m2=sun,
        dry_w_m2=lamps,
        evaporated=_evaporated(benches, body, grid),
        vents=AUTOMATIC if house.vents_by == "automatic" else SHUT,
        parameters=heat_parameters(house),
    )


def house_warmth(house: HouseHeat) -> HouseWarmth:
    air = house.air_c()
    return HouseWarmth(house.body, air, air if house.vents is AUTOMATIC else house.air_c(vents=AUTOMATIC))


def _evaporated(benches: list[Bench], body: HouseBody, grid: Grid) -> float:
    grown = sum(b.area_m2 for b in benches if any(_is_grown(batch) for batch in _standing(b, grid)))
    full = grown >= FULL_FLOOR_SHARE * body.floor_m2
    return UNCALIBRATED.evaporated_full_floor if full else UNCALIBRATED.evaporated_trays


def _standing(bench: Bench, grid: Grid) -> tuple[Batch, ...]:
    return tuple(b for b in bench.batches if b.from_date <= grid.dates[0] <= b.to_date)


def _is_grown(batch: Batch) -> bool:
    return batch.stage not in (Stage.GERMINATION, Stage.SEEDLING)


def bench_ready(bench: Bench, light: BenchLight, sky: Sky, *, grid: Grid, steps: int) -> BenchHeat | None:
    """A bench ready to be run; None where nothing stands there."""
    batches = _standing(bench, grid)
    if not batches:
        return None
    above, under = light.untented[:steps], light.open[:steps]
    with np.errstate(divide="ignore", invalid="ignore"):
        passes = np.where(above > 0, under / above, 0.0)
    youngest = min((batch.stage for batch in batches), key=list(Stage).index)
    return BenchHeat(
        where=where_felt(bench, batches),
        body=bench_body(bench, youngest),
        sun_w_m2=above * joules_per_umol(sky)[:steps],
        sun_ppfd=above,
        tent_passes=passes,
        lamp_ppfd=bench.lamps.ppfd_now_umol_m2_s if bench.lamps else 0.0,
    )


def bench_warmth(
    heat: BenchHeat,
    house_c: Array,
    *,
    open_heat: BenchHeat,
    open_house_c: Array,
    lit: Mask | Array | None,
    states: States | None = None,
) -> BenchWarmth:
    """Temperature of a bench with nothing drawn, and as it is ordered to stand (states : of one way).

    lit : (steps,) whether, or for which share of a step, its lamps burn.
    """
    burning = np.zeros(len(house_c), dtype=bool) if lit is None else lit[: len(house_c)]
    bare = open_heat.felt_c(open_house_c, lit=burning)
    if states is None:
        ordered = bare if heat is open_heat and house_c is open_house_c else heat.felt_c(house_c, lit=burning)
        return BenchWarmth(heat.where, ordered, bare)
    ordered = heat.felt_c(
        house_c,
        lit=burning,
        tent=states.tent[0],
        passes=states.passed[0],
        absorbs=states.absorbed[0],
        r_m2k_w=states.r_m2k_w[0],
        airy=states.airy[0],
    )
    return BenchWarmth(heat.where, ordered, bare)


def where_felt(bench: Bench, batches: tuple[Batch, ...]) -> str:
    """Seed feels its medium, plants under a tent their leaves, all others the air."""
    if any(batch.stage is Stage.GERMINATION for batch in batches):
        return "medium"
    return "air" if bench.tent is None else "leaf"


def house_day(house: House, warmth: HouseWarmth | None, grid: Grid) -> HouseDay:
    """Least and most of a house's air on the sheet's day; None for a house whose light is not reckoned."""
    if warmth is None:
        return HouseDay(house, None, None)
    today = warmth.air_c[: int((grid.day == 0).sum())]
    return HouseDay(house, float(today.min()), float(today.max()))


def temperature_of(warmth: BenchWarmth | None, house: House, grid: Grid) -> Temperature | None:
    """A bench's peak on the sheet's day, and how far it may lie from the figure."""
    if warmth is None:
        return None
    of_day = slice(0, int((grid.day == 0).sum()))
    today, bare = warmth.temperature_c[of_day], warmth.open_c[of_day]
    peak, at = float(today.max()), int(today.argmax())
    give = heat_parameters(house).uncertainty_k
    return Temperature(warmth.where, float(bare.max()), peak, peak - give, peak + give, grid.moment(at))


def heat_notes(
    house: House,
    warmth: HouseWarmth,
    bench: Bench,
    felt: BenchWarmth | None,
    *,
    limits: Limits | None,
    grid: Grid,
    from_step: int,
    opened: bool,
) -> Iterator[Note]:
    """What heat and cold a bench meets. from_step : the window's first, before which nothing can be done.

    opened : whether the house's vents are ordered open.
    """
    today = slice(0, int((grid.day == 0).sum()))
    if felt is not None and limits is not None:
        yield from _over_limit(felt, felt.temperature_c[today], limits)
    shut, vented = float(warmth.air_c[today].max()), float(warmth.vented_c[today].max())
    if felt is not None and not opened and shut > house.vent_at_c + MUCH_K and shut > vented:
        values = (("house", house.name), ("shut", shut), ("vented", vented), ("vent_at", house.vent_at_c))
        yield Note("vents-by-hand", values)
    coldest = float(warmth.air_c[from_step:].min()) if from_step < len(warmth.air_c) else np.inf
    if felt is not None and coldest < house.heat_to_c - FROST_MARGIN_K:
        yield Note("house-cold", (("low", coldest), ("heat_to", house.heat_to_c)))
    hardening = any(batch.stage is Stage.HARDENING for batch in _standing(bench, grid))
    if hardening and coldest < HARDENING_TOLD_BELOW_C:
        yield Note("hardening-cold", (("low", coldest), ("limit", HARDENING_TOLD_BELOW_C)))


def _over_limit(felt: BenchWarmth, today: Array, limits: Limits) -> Iterator[Note]:
    """The step of the limit that is passed for longer than it is borne, the upper one first."""
    for limit, borne, mark in (
        (limits.temperature_upper_c, limits.temperature_upper_minutes, UPPER_STEPS_MARK),
        (limits.temperature_c, limits.temperature_minutes, limits.mark),
    ):
        minutes = 0 if limit is None else int((today > limit).sum()) * STEP_MIN
        if minutes > (borne or 0):
            yield Note(
                "temperature-over-limit",
                (
                    ("where", felt.where),
                    ("limit", limit),
                    ("minutes", minutes),
                    ("mark", mark),
                ),
            )
            return
