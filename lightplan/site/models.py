"""The site as the rest of the program sees it: frozen records, SI units, every default filled in.

`lightplan.site.read` makes these from `site.toml`; nothing else builds them outside tests.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import Enum
from pathlib import Path
from zoneinfo import ZoneInfo

Minutes = int  # minutes after local midnight, so that 24:00 (1440) exists
Span = tuple[Minutes, Minutes]  # from, to; to > from (a span past midnight is two spans)


OWN = "site file"  # source and mark of what the grower gave


class Stage(Enum):
    GERMINATION = "germination"
    SEEDLING = "seedling"
    GROWING_ON = "growing-on"
    FINISHING = "finishing"
    HARDENING = "hardening"


class Shape(Enum):
    GABLE = "gable"
    HOOP = "hoop"
    GOTHIC = "gothic"
    MULTISPAN = "multispan"
    LEAN_TO = "lean-to"
    FLAT = "flat"
    SECTION = "section"  # an own outline given as `section = [[x, z], ...]`


class SourceName(Enum):
    OPEN_METEO = "open-meteo"
    NWS = "nws"
    MET_NORWAY = "met-norway"
    FILE = "file"
    TYPICAL_YEAR = "typical-year"
    CLEAR_SKY = "clear-sky"


@dataclass(frozen=True)
class Layer:
    """One layer of glazing. Either `normal_transmittance` or `extinction_per_m` with `thickness_mm`.

    webs : what the webs behind it, between it and the next layer, take from slanting light: they leave
    exp(−webs · tan of the angle of incidence), all of it straight on.
    """

    n: float
    normal_transmittance: float | None = None
    extinction_per_m: float | None = None
    thickness_mm: float | None = None
    webs: float = 0.0


@dataclass(frozen=True)
class Glazing:
    """A glazing: layers from outside in, the share of passed light that is scattered, heat loss."""

    name: str
    layers: tuple[Layer, ...]
    haze: float
    u_w_m2k: float
    is_film: bool  # plastic film: condensation costs more on it than on glass
    source: str  # keys of tables/SOURCES.md, or "site file"
    checked: str  # "page", "memory" or "site file"


@dataclass(frozen=True)
class Cover:
    """Anything laid or drawn over a bench or a house."""

    name: str
    transmittance: tuple[float, float]  # dark end, bright end
    dark: bool  # counts as full dark
    combustible: bool
    night: bool  # may be left on at night
    life_h: float | None  # how long it works (wet paper dries out); None = no end
    where: str  # "bench" | "house" | "outside"
    r_m2k_w: float  # thermal resistance it adds
    source: str
    checked: str


@dataclass(frozen=True)
class Overhead:
    """Hanging baskets and the like: a share of light lost between two dates (both included)."""

    loss: float
    from_date: date
    to_date: date


@dataclass(frozen=True)
class HouseShade:
    cover: Cover
    from_date: date
    to_date: date


@dataclass(frozen=True)
class Bars:
    spacing_m: float
    width_m: float
    depth_m: float


@dataclass(frozen=True)
class Measured:
    """What readings taught of a house's light, as logs of factors on the computed transmission.

    dirt : at its fullest. per_year : from `since` on, not drawn out past `until`.
    soil : what lies on it beside all that on `until`, until the next wash.
    """

    level: float
    dirt: float
    per_year: float
    soil: float
    since: date
    until: date


@dataclass(frozen=True)
class MeasuredHeat:
    """What thermometers taught of a house: factors on loss and on air changes; of a peak, either way [K]."""

    loss: float
    air: float
    uncertainty_k: float


@dataclass(frozen=True)
class House:
    id: str
    name: str
    shape: Shape
    width_m: float  # of one span
    length_m: float  # along the ridge
    eave_m: float
    ridge_m: float
    spans: int
    gutter_m: float
    ridge_azimuth_deg: float
    faces_deg: float | None  # lean-to only
    arc: str  # "ellipse" | "circle" (hoop)
    bulge_m: float | None  # gothic; None = 0.105 × chord
    section: tuple[tuple[float, float], ...] | None
    glazing: Glazing
    wall_glazing: Glazing
    end_glazing: Glazing
    opaque: frozenset[str]  # of "side-left", "side-right", "end-a" (at along_m = 0), "end-b"
    knee_wall_m: float
    frame_loss: float
    bars: Bars | None
    dirt_loss: float
    washed: date | None
    overhead: tuple[Overhead, ...]
    shade: tuple[HouseShade, ...]
    covers: tuple[Cover, ...]
    heat_to_c: float
    can_heat_kw: float | None
    vent_at_c: float
    venting: str  # none | door | sides | roof | roof-and-sides | fan
    vents_by: str  # "hand" | "automatic"
    air_changes_closed: float  # per hour
    air_changes_open: float
    measured: Measured | None = None  # by `calibrate`; never from the site file
    measured_heat: MeasuredHeat | None = None


@dataclass(frozen=True)
class Insulation:
    where: str
    r_m2k_w: float


@dataclass(frozen=True)
class Lamps:
    ppfd_umol_m2_s: float  # at the tray, all fixtures working
    power_kw: float
    kind: str
    place: str  # "in-tent" | "above"
    switch: str  # "timer" | "hand" | "remote"
    pairs: int
    usual: tuple[Span, ...]
    least_run_min: int
    starts: int
    sun_enough_ppfd_umol_m2_s: float
    cooling_min: int
    working: float  # share of fixtures that work

    @property
    def ppfd_now_umol_m2_s(self) -> float:
        """PPFD at the tray with the fixtures that work."""
        return self.ppfd_umol_m2_s * self.working


@dataclass(frozen=True)
class Batch:
    crop: str  # a name of the crop tables, synonyms resolved
    stage: Stage
    from_date: date
    to_date: date  # the last day it is there
    sown: date | None
    trays: int | None
    inverted: bool


@dataclass(frozen=True)
class Place:
    across_m: tuple[float, float]  # from the left wall
    along_m: tuple[float, float]  # from the end behind you


@dataclass(frozen=True)
class Bench:
    id: str
    house: str
    name: str
    area_m2: float
    height_m: float
    place: Place | None
    tent: Glazing | None
    tent_height_m: float
    tent_opens: bool
    insulation: Insulation | None
    bottom_heat: bool
    heat_to_c: float | None
    light_for_seed_ppfd_umol_m2_s: float
    stray_ppfd_umol_m2_s: float
    lamps: Lamps | None
    lamp_hours: tuple[Span, ...]
    covers: tuple[Cover, ...]
    batches: tuple[Batch, ...]


@dataclass(frozen=True)
class Rate:
    from_min: Minutes
    to_min: Minutes  # may be below from_min: over midnight
    price: float  # per kWh
    weekdays: frozenset[int]  # Monday = 0
    months: frozenset[int]  # January = 1


# Share of a breaker that a load on for 3 h or more may take: NFPA 70 articles 210.19, 210.20
# (tables/safety.csv, continuous80).
CONTINUOUS_SHARE = 0.8


@dataclass(frozen=True)
class Power:
    """Tariff and capacity. `rates` empty: no `[power]` prices were given, cost is unknown."""

    currency: str
    capacity_kw: float | None
    other_kw: float
    peak_price_per_kw: float
    rates: tuple[Rate, ...]  # later rows win

    @property
    def lamps_kw_at_most(self) -> float | None:
        """What all lamps together may draw: the continuous share of what else leaves of the breaker."""
        return None if self.capacity_kw is None else CONTINUOUS_SHARE * (self.capacity_kw - self.other_kw)


@dataclass(frozen=True)
class OwnNeeds:
    """A grower's own values for one crop and stage; None keeps the table's."""

    minimum: float | None = None
    target: float | None = None
    limit: float | None = None
    limit_ppfd: float | None = None
    limit_c: float | None = None
    dark_h: float | None = None
    most_in_hand: float | None = None
    most_owed: float | None = None
    flowering: str | None = None  # "hasten" | "hold-back" | "leave"
    critical_day_h: float | None = None


@dataclass(frozen=True)
class WeatherChoice:
    source: SourceName
    then: tuple[SourceName, ...]
    url: str | None
    ensemble_url: str | None
    file: str | None
    typical: str | None
    clearness: tuple[float, ...] | None  # twelve, DLI over clear-sky DLI
    contact: str | None
    api_key_env: str | None


@dataclass(frozen=True)
class Mail:
    """How the sheet is mailed. The password itself is never here."""

    to: tuple[str, ...]
    sender: str
    host: str
    port: int
    security: str  # "starttls" | "tls" | "none"
    user: str | None
    password_env: str | None
    ca_file: str | None


@dataclass(frozen=True)
class Deliver:
    """Where sheets go that are made unattended. keep : days whose sheets stay, None = all."""

    to_printer: bool = False
    printer: str | None = None
    copies: int = 1
    folder: str | None = None
    keep: int | None = None
    mail: Mail | None = None


@dataclass(frozen=True)
class Site:
    id: str  # the folder's name
    folder: Path
    name: str
    latitude: float
    longitude: float
    timezone: ZoneInfo
    elevation_m: float
    us_units: bool
    paper: str  # "letter" | "a4"
    crew: tuple[Span | None, ...]  # Monday..Sunday; None = nobody comes
    days_off: frozenset[date]
    horizon: tuple[tuple[float, float], ...]  # azimuth, obstruction elevation [degrees], by azimuth
    foot_candles: bool
    weather: WeatherChoice
    power: Power | None
    houses: tuple[House, ...]
    benches: tuple[Bench, ...]
    own_needs: dict[tuple[str, Stage], OwnNeeds]
    deliver: Deliver = Deliver()

    def house(self, house_id: str) -> House:
        return next(h for h in self.houses if h.id == house_id)

    def crew_on(self, day: date) -> Span | None:
        """Crew hours of a date [minutes after local midnight], or None on a day off."""
        return None if day in self.days_off else self.crew[day.weekday()]
