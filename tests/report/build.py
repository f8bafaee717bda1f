"""Hand-made DayPlans for the tests of the page. Growers, places and weather here are invented."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

from lightplan.clock import STEP_S, Grid, Window, at_local, grid_over, window_for
from lightplan.crops.needs import GerminationLight, Limits, Needs
from lightplan.dayplan import (
    Action,
    BatchDay,
    BenchDay,
    Certainty,
    DayAhead,
    DayPlan,
    Dli,
    HouseDay,
    Interval,
    LampDay,
    Note,
    Order,
    Outdoor,
    Reason,
    Series,
)
from lightplan.site.models import (
    Batch,
    Bench,
    Glazing,
    House,
    Lamps,
    Layer,
    Shape,
    Site,
    SourceName,
    Stage,
    WeatherChoice,
)
from lightplan.sky import SunTimes
from lightplan.weather.table import Kind, Spread, Weather

GLASS = Glazing("single-glass", (Layer(1.52, 0.9),), 0.0, 6.2, False, "invented", "site file")
FILM = Glazing("single-poly", (Layer(1.5, 0.88),), 0.3, 6.2, True, "invented", "site file")
LAMPS = Lamps(90.0, 0.6, "led-white", "above", "timer", 2, ((300, 480),), 30, 2, 400.0, 0, 1.0)


def house(number: int, name: str) -> House:
    return House(
        id=f"h{number}", name=name, shape=Shape.GABLE, width_m=9.1, length_m=29.0, eave_m=2.4, ridge_m=4.7, spans=1,
        gutter_m=0.2, ridge_azimuth_deg=90.0, faces_deg=None, arc="ellipse", bulge_m=None, section=None,
        glazing=GLASS, wall_glazing=GLASS, end_glazing=GLASS, opaque=frozenset(), knee_wall_m=0.0, frame_loss=0.12,
        bars=None, dirt_loss=0.05, washed=None, overhead=(), shade=(), covers=(), heat_to_c=16.0, can_heat_kw=None,
        vent_at_c=24.0, venting="sides", vents_by="hand", air_changes_closed=1.0, air_changes_open=20.0,
    )  # fmt: skip


def bench(
    number: int, name: str, house_id: str, batches: tuple[Batch, ...], lamps: Lamps | None = LAMPS
) -> Bench:
    return Bench(
        id=f"b{number}", house=house_id, name=name, area_m2=12.0, height_m=0.8, place=None, tent=None,
        tent_height_m=0.45, tent_opens=True, insulation=None, bottom_heat=False, heat_to_c=None,
        light_for_seed_ppfd_umol_m2_s=20.0, stray_ppfd_umol_m2_s=0.0, lamps=lamps, lamp_hours=((0, 1440),),
        covers=(), batches=batches,
    )  # fmt: skip


def batch(crop: str, stage: Stage, day: date, *, sown_days_ago: int | None = None) -> Batch:
    sown = None if sown_days_ago is None else day - timedelta(days=sown_days_ago)
    return Batch(crop, stage, day - timedelta(days=9), day + timedelta(days=20), sown, 24, False)


def site(houses: tuple[House, ...], benches: tuple[Bench, ...], **changes: object) -> Site:
    crew: tuple[tuple[int, int] | None, ...] = ((390, 1080),) * 7
    base = Site(
        id="invented-range", folder=Path("invented-range"), name="Fennel Hollow Growers", latitude=36.1,
        longitude=-79.8, timezone=ZoneInfo("America/New_York"), elevation_m=240.0, us_units=True, paper="letter",
        crew=crew, days_off=frozenset(), horizon=(), foot_candles=False,
        weather=WeatherChoice(SourceName.TYPICAL_YEAR, (), None, None, None, None, None, None, None),
        power=None, houses=houses, benches=benches, own_needs={},
    )  # fmt: skip
    return replace(base, **changes)  # type: ignore[arg-type]


def sun_over(grid: Grid, latitude: float, longitude: float, clearness: float) -> np.ndarray:
    """Outdoor PPFD from a bare-bones sun: declination by a cosine, clear sky by a power of the sine."""
    stamps = grid.times.tz_convert("UTC")
    day_of_year = np.asarray(stamps.dayofyear, dtype=float)
    hour = np.asarray(stamps.hour + stamps.minute / 60 + 0.125, dtype=float) + longitude / 15
    declination = np.radians(-23.44 * np.cos(2 * np.pi * (day_of_year + 10) / 365))
    phi = math.radians(latitude)
    sine = np.sin(phi) * np.sin(declination) + np.cos(phi) * np.cos(declination) * np.cos(
        np.pi * (hour - 12) / 12
    )
    return 2000 * np.clip(sine, 0, None) ** 1.15 * clearness


def sun_times(day: date, grid: Grid, ppfd: np.ndarray, zone: ZoneInfo) -> SunTimes:
    of_day = np.flatnonzero(grid.day == 0)
    lit = [k for k in of_day if ppfd[k] > 0]
    length = len(lit) / 4
    if len(lit) in (0, len(of_day)):
        return SunTimes(day, None, None, at_local(day, 720, zone), None, None, length)
    rise, fall = grid.moment(int(lit[0])), grid.moment(int(lit[-1]) + 1)
    half = timedelta(minutes=28)
    noon = grid.moment((int(lit[0]) + int(lit[-1]) + 1) // 2)
    return SunTimes(day, rise - half, rise, noon, fall, fall + half, length)


def lamp_times(
    day: date, zone: ZoneInfo, window: Window | None, *hours: tuple[int, int]
) -> tuple[Interval, ...]:
    """Clock spans of `day` [minutes; past 1440 = tomorrow] cut to the window."""
    if window is None:
        return ()
    found = [(at_local(day, a, zone), at_local(day, b, zone)) for a, b in hours]
    cut = [(max(a, window.start), min(b, window.end)) for a, b in found]
    return tuple((a, b) for a, b in cut if b > a)


def before(day: date, zone: ZoneInfo, window: Window | None, *hours: tuple[int, int]) -> tuple[Interval, ...]:
    end = window.start if window else at_local(day, 1440, zone)
    found = [(at_local(day, a, zone), min(at_local(day, b, zone), end)) for a, b in hours]
    return tuple((a, b) for a, b in found if b > a)


def length_h(intervals: tuple[Interval, ...]) -> float:
    return sum(b.timestamp() - a.timestamp() for a, b in intervals) / 3600


def day_plan(
    which: Site,
    day: date,
    *,
    clearness: float = 0.6,
    usual: float | None = 14.0,
    kind: Kind = Kind.FORECAST,
    now_min: int = 315,
    fallback: str | None = None,
    cautions: tuple[str, ...] = ("wet-electrics", "bright-lamps"),
) -> DayPlan:
    """A plan by simple rules: benches under target get lamps before dawn and after dusk."""
    zone = which.timezone
    now = at_local(day, now_min, zone)
    window = window_for(which, day, now)
    grid = grid_over(day, 4, zone)
    outdoor_ppfd = sun_over(grid, which.latitude, which.longitude, clearness)
    dli = np.bincount(grid.day, weights=outdoor_ppfd, minlength=4) * STEP_S / 1e6
    benches = tuple(
        _bench_day(which, b, day, grid, outdoor_ppfd, window, number)
        for number, b in enumerate(which.benches)
    )
    week = []
    for ahead in range(7):
        factor = (1.0, 0.6, 0.45, 1.1, 1.25, 0.9, 0.7)[ahead]
        week.append(
            DayAhead(
                day + timedelta(days=ahead),
                _outdoor(float(dli[0]) * factor, float(outdoor_ppfd.max())),
                tuple((b.bench.id, b.dli.sun * factor) for b in benches),
            )
        )
    one = np.ones(7)
    return DayPlan(
        site=which, day=day, generated_at=now, grid=grid, window=window,
        weather=Weather(
            table=pd.DataFrame(), source="open-meteo" if kind is Kind.FORECAST else kind.value, kind=kind,
            issued_at=now - timedelta(minutes=75) if kind is Kind.FORECAST else None,
            attribution="Weather data by an invented service, CC BY 4.0", fallback_reason=fallback,
            spread=Spread(tuple(day + timedelta(days=n) for n in range(7)), one * 0.7, one * 1.2, np.ones((1, 7))),
            usual_dli_mol_m2_d=usual,
        ),
        weather_age_h=1.25 if kind is Kind.FORECAST else None,
        sun=sun_times(day, grid, outdoor_ppfd, zone),
        outdoor=_outdoor(float(dli[0]), float(outdoor_ppfd[grid.day == 0].max())),
        houses=tuple(HouseDay(h, None, None) for h in which.houses),
        benches=benches, orders=_orders(which, benches, window, day), cautions=cautions, week=tuple(week),
    )  # fmt: skip


def _outdoor(dli: float, peak: float) -> Outdoor:
    return Outdoor(dli, dli * 0.72, dli * 1.2, peak)


NEEDS = {
    Stage.GERMINATION: (None, None, None),
    Stage.SEEDLING: (8.0, 10.0, 20.0),
    Stage.GROWING_ON: (10.0, 12.0, None),
    Stage.FINISHING: (10.0, 14.0, None),
    Stage.HARDENING: (8.0, 10.0, None),
}


def _bench_day(
    which: Site, b: Bench, day: date, grid: Grid, outdoor: np.ndarray, window: Window | None, number: int
) -> BenchDay:
    zone = which.timezone
    share = 0.52 + 0.03 * (number % 4)
    sun = outdoor * share
    sun_mol = float(sun[grid.day == 0].sum() * STEP_S / 1e6)
    stage = b.batches[0].stage if b.batches else None
    minimum, target, limit = NEEDS[stage] if stage else (None, None, None)
    hours: tuple[tuple[int, int], ...] = ()
    if b.lamps and stage is Stage.GERMINATION:
        hours = ((0, 1440), (1440, 2880))
    elif b.lamps and target and sun_mol < target and stage is not Stage.HARDENING:
        hours = ((300 - 15 * (number % 3), 510), (930, 1260), (1740 - 15 * (number % 3), 1950))
    set_before, ordered = before(day, zone, window, *hours), lamp_times(day, zone, window, *hours)
    lamp_ppfd = np.zeros(len(grid))
    for on, off in set_before + ordered:
        lamp_ppfd[grid.index(on) : grid.index(off)] = b.lamps.ppfd_umol_m2_s if b.lamps else 0.0
    lamp_mol = float(lamp_ppfd[grid.day == 0].sum() * STEP_S / 1e6)
    total = sun_mol + lamp_mol
    notes: list[Note] = []
    if b.batches and minimum and total < minimum:
        notes.append(
            Note(
                "minimum-missed",
                (
                    ("total", total),
                    ("minimum", minimum),
                    ("because", "lamp-hours" if b.lamps else "no-lamps"),
                ),
            )
        )
    if set_before:
        notes.append(Note("usual-assumed"))
    needs = None
    if b.batches:
        seed = GerminationLight(20.0, "light_needed") if stage is Stage.GERMINATION else None
        needs = Needs(
            minimum,
            target,
            limit,
            6.0,
            2.0,
            2.0,
            stage is not Stage.HARDENING,
            seed,
            None,
            ("invented",),
            "memory",
        )
    hours_lamps = length_h(ordered)
    return BenchDay(
        bench=b,
        batches=tuple(BatchDay(one, n == 0) for n, one in enumerate(b.batches)),
        needs=needs,
        limits=Limits(500.0 if stage is Stage.SEEDLING else None, 60, None, None, None, None, "judgement") if b.batches else None,
        transmission=share if outdoor[grid.day == 0].any() else None,
        dli=Dli(sun_mol, sun_mol, lamp_mol, total, sun_mol * 0.72 + lamp_mol, sun_mol * 1.2 + lamp_mol, minimum, target, limit),
        account_before=None, account_after=None,
        light_hours=24.0 if stage is Stage.GERMINATION else None,
        peak_ppfd_open=float(sun[grid.day == 0].max()), peak_ppfd_after=float(sun[grid.day == 0].max()),
        photoperiod_h=None,
        lamps=LampDay(set_before, ordered, hours_lamps, hours_lamps * 3600 * 90 / 1e6, hours_lamps * 0.6, None),
        covers=(), temperature=None, notes=tuple(notes), series=Series(sun, sun, lamp_ppfd, None),
    )  # fmt: skip


def _orders(
    which: Site, benches: tuple[BenchDay, ...], window: Window | None, day: date
) -> tuple[Order, ...]:
    if window is None:
        return ()
    found: list[tuple[datetime, Order]] = []
    for b in benches:
        place = {"house": b.bench.house, "bench": b.bench.id, "until": None, "odds": None}
        if b.bench.lamps and b.lamps.intervals:
            rule = (
                Reason("seed-light", 9.5, 24.0, "h")
                if b.dli.target is None
                else Reason("dli-short", b.dli.sun, b.dli.target, "mol")
            )
            found.append(
                (
                    window.start,
                    Order(
                        0,
                        window.start,
                        action=Action.SET_TIMER,
                        why=rule,
                        certainty=Certainty.SURE,
                        intervals=b.lamps.intervals,
                        **place,
                    ),
                )  # type: ignore[arg-type]
            )
        elif b.bench.lamps and b.dli.target:
            rule = Reason("enough-light", b.dli.sun, b.dli.target, "mol")
            place["odds"] = 0.65
            found.append(
                (
                    window.start,
                    Order(
                        0,
                        window.start,
                        action=Action.LEAVE_OFF,
                        why=rule,
                        certainty=Certainty.LIKELY,
                        **place,
                    ),
                )  # type: ignore[arg-type]
            )
        for one in b.batches:
            if one.batch.stage is Stage.GERMINATION and one.batch.sown:
                at = at_local(day, 960, which.timezone)
                days = (day - one.batch.sown).days
                place["odds"] = None
                found.append(
                    (
                        at,
                        Order(
                            0,
                            at,
                            action=Action.CHECK_EMERGENCE,
                            why=Reason("emergence-window", float(days), 7.0, "d"),
                            certainty=Certainty.LIKELY,
                            subject=one.batch.crop,
                            **place,
                        ),
                    )  # type: ignore[arg-type]
                )
    found.sort(key=lambda pair: pair[0].astimezone(UTC))
    return tuple(replace(order, number=n) for n, (_, order) in enumerate(found, start=1))


NAMES = (
    "Germination",
    "Plugs north",
    "Plugs south",
    "Old bench",
    "Aisle left",
    "Aisle right",
    "Far end",
    "By the door",
)
CROPS = (
    "petunia",
    "pepper",
    "impatiens",
    "tomato",
    "marigold_african",
    "pansy_viola",
    "snapdragon",
    "geranium_seed",
)
STAGES = (Stage.GERMINATION, Stage.SEEDLING, Stage.SEEDLING, Stage.GROWING_ON)
HOUSES = ("Glasshouse", "Long poly", "Hoop by the lane", "Block", "Lean-to", "Cold frame house")


def range_of(count: int, day: date, **changes: object) -> Site:
    """A site of `count` benches in as many houses as such a range would have."""
    houses = tuple(house(n, HOUSES[n]) for n in range(min(6, 1 + count // 3)))
    benches = []
    for n in range(count):
        name = NAMES[n] if n < len(NAMES) else f"Bench {n + 1}"
        stage = STAGES[n % 4]
        stands = (batch(CROPS[n % 8], stage, day, sown_days_ago=6 if stage is Stage.GERMINATION else None),)
        lamps: Lamps | None = LAMPS
        if n % 8 == 6:
            stands, lamps = (
                (batch(CROPS[6], Stage.GROWING_ON, day), batch(CROPS[5], Stage.SEEDLING, day)),
                None,
            )
        if n % 8 == 7:
            stands = ()
        benches.append(bench(n, name, houses[n % len(houses)].id, stands, lamps))
    benches.sort(key=lambda b: b.house)
    return site(houses, tuple(benches), **changes)


PLACES = {
    "greensboro": {},
    "east-anglia": {
        "name": "Marl Pit Nursery", "latitude": 52.4, "longitude": 1.1, "timezone": ZoneInfo("Europe/London"),
        "us_units": False, "paper": "a4",
    },
    "far-south": {
        "name": "Kōwhai Flat", "latitude": -45.9, "longitude": 170.4, "timezone": ZoneInfo("Pacific/Auckland"),
        "us_units": False, "paper": "a4",
    },
    "far-north": {
        "name": "Inland Fjord Growers", "latitude": 69.6, "longitude": 18.9, "timezone": ZoneInfo("Europe/Oslo"),
        "us_units": False, "paper": "a4",
    },
    "half-hour-zone": {
        "name": "Tamarind Terrace", "latitude": 18.5, "longitude": 73.9, "timezone": ZoneInfo("Asia/Kolkata"),
        "us_units": False, "paper": "a4",
    },
}  # fmt: skip
WINTER, SPRING, SUMMER = date(2026, 1, 10), date(2026, 4, 21), date(2026, 7, 15)


def samples() -> dict[str, DayPlan]:
    """The plans that the page is tried with."""
    us, gb, nz, no = (PLACES[k] for k in ("greensboro", "east-anglia", "far-south", "far-north"))
    return {
        "dull": day_plan(range_of(8, WINTER), WINTER, clearness=0.3),
        "good": day_plan(range_of(8, SPRING), SPRING, clearness=0.7, usual=40.0),
        "midsummer": day_plan(range_of(6, SUMMER, **gb), SUMMER, clearness=0.75, usual=38.0, kind=Kind.TYPICAL_YEAR, cautions=("typical-year",)),
        "south": day_plan(range_of(5, SUMMER, **nz), SUMMER, clearness=0.4, usual=8.0),
        "one": day_plan(range_of(1, WINTER, foot_candles=True), WINTER, clearness=0.5),
        "thirty": day_plan(range_of(30, WINTER), WINTER, clearness=0.35, fallback="No answer from open-meteo since 04:00; the forecast of yesterday 17:00 is used, 12 h old."),
        "polar-night": day_plan(range_of(3, date(2026, 12, 21), **no), date(2026, 12, 21), usual=0.0),
        "polar-day": day_plan(range_of(3, date(2026, 6, 21), **no), date(2026, 6, 21), usual=45.0),
        "clocks-forward": day_plan(range_of(3, date(2026, 3, 8)), date(2026, 3, 8), clearness=0.4, cautions=("timer-clock",)),
        "clocks-back": day_plan(range_of(3, date(2026, 11, 1)), date(2026, 11, 1), clearness=0.4, cautions=("timer-clock",)),
        "leap-day": day_plan(range_of(2, date(2028, 2, 29)), date(2028, 2, 29), clearness=0.5),
        "half-hour-zone": day_plan(range_of(4, WINTER, **PLACES["half-hour-zone"]), WINTER, clearness=0.6, usual=32.0),
        "nobody-comes": day_plan(range_of(3, WINTER, days_off=frozenset({WINTER})), WINTER, kind=Kind.CLEAR_SKY, cautions=("clear-sky-guess",)),
        "empty": day_plan(site((house(0, "Glasshouse"),), ()), WINTER, usual=None),
    }  # fmt: skip
