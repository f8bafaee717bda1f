"""The tables `[site]`, `[weather]`, `[power]`, `[glazing.X]`, `[cover.X]` and `[crop.X.STAGE]`."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal

from pydantic import AfterValidator, BeforeValidator, Field

from lightplan.site.models import Span
from lightplan.site.quantities import LENGTH, TEMPERATURE, Unit
from lightplan.site.table import Table
from lightplan.site.values import (
    DAY_GROUPS,
    DAYS,
    Clock,
    CrewHours,
    Date,
    Share,
    Text,
    Weekdays,
    crew_hours,
    refuse,
)

Crew = tuple[Span | None, ...]


def crew_week(value: object) -> Crew:
    """Hours for all days, or a table of days and groups of days; a single day goes before its group."""
    if not isinstance(value, dict):
        return (crew_hours(value),) * 7
    week: list[Span | None] = [None] * 7
    for key in sorted(value, key=lambda name: -len(DAY_GROUPS.get(str(name), ()))):
        if key not in DAY_GROUPS:
            raise refuse(f"{key} is not a day; use {', '.join(['mon_fri', 'sat_sun', *DAYS])}")
        for number in DAY_GROUPS[key]:
            week[number] = crew_hours(value[key])
    return tuple(week)


CrewWeek = Annotated[tuple[tuple[int, int] | None, ...], BeforeValidator(crew_week)]


def horizon_point(value: tuple[float, float]) -> tuple[float, float]:
    azimuth, elevation = value
    if not (0 <= azimuth <= 360 and 0 <= elevation < 90):
        raise refuse("give [azimuth 0 to 360, elevation of what stands there 0 to under 90] in degrees")
    return value


HorizonPoint = Annotated[tuple[float, float], Field(strict=False), AfterValidator(horizon_point)]
Month = Annotated[int, Field(ge=1, le=12)]
Index = Annotated[float, Field(gt=0, le=1.2)]
SourceWord = Literal["open-meteo", "nws", "met-norway", "file", "typical-year", "clear-sky"]


class SiteTable(Table):
    """`[site]`: the place and the people."""

    name: Text = Field(description="the name that heads the sheet")
    latitude: Annotated[float, Unit("°")] = Field(
        ge=-90, le=90, description="degrees north (south is negative)"
    )
    longitude: Annotated[float, Unit("°")] = Field(
        ge=-180, le=180, description="degrees east (west is negative)"
    )
    timezone: Text = Field(description="the time zone's IANA name, such as America/New_York")
    elevation_m: Annotated[float, LENGTH] = Field(0.0, ge=-500, le=6000, description="height above the sea")
    units: Literal["us", "metric"] | None = Field(None, description="units of the sheet")
    paper: Literal["letter", "a4"] | None = Field(None, description="paper in the printer")
    crew: CrewWeek = Field(
        ((390, 1080),) * 7, description="from when to when somebody is there to open and cover"
    )
    days_off: Annotated[tuple[Date, ...], Field(strict=False)] = Field(
        (), description="dates when nobody comes"
    )
    horizon: Annotated[tuple[HorizonPoint, ...], Field(strict=False)] = Field(
        (), description="hills, trees and buildings as [azimuth, elevation in degrees]"
    )
    foot_candles: bool = Field(False, description="show foot-candles beside PPFD")


class WeatherTable(Table):
    """`[weather]`: where weather comes from."""

    source: SourceWord = Field("open-meteo", description="where weather comes from first")
    then: Annotated[tuple[SourceWord, ...], Field(strict=False)] = Field(
        (), description="other services to try"
    )
    url: Text | None = Field(None, description="another address for the same service")
    ensemble_url: Text | None = Field(None, description="address of its ensemble")
    file: Text | None = Field(
        None, description="weather or typical-year file (pvlib:NAME for one that pvlib ships)"
    )
    typical: Text | None = Field(None, description="typical-year file to fall back on beside a live source")
    clearness: Annotated[tuple[Index, ...] | None, Field(strict=False, min_length=12, max_length=12)] = Field(
        None, description="twelve monthly means of light over clear-sky light"
    )
    contact: Text | None = Field(None, description="contact that some services ask for")
    api_key_env: Text | None = Field(None, description="name of the environment variable that holds a key")


class RateRow(Table):
    """One row of `rates`."""

    from_: Clock = Field(alias="from", description="clock time it starts")
    to: Clock = Field(description="clock time it ends (before `from`: over midnight)")
    price: float = Field(ge=0, description="price of a kWh")
    days: Weekdays = Field(frozenset(range(7)), description="days of the week")
    months: Annotated[tuple[Month, ...], Field(strict=False, min_length=1)] = Field(
        tuple(range(1, 13)), description="months as numbers"
    )


class PowerTable(Table):
    """`[power]`: tariff and capacity."""

    currency: Annotated[str, Field(min_length=1, max_length=8)] = Field(
        "USD", description="currency of the prices"
    )
    capacity_kw: Annotated[float, Unit("kW")] = Field(18.0, gt=0, description="what the breaker carries")
    other_kw: Annotated[float, Unit("kW")] = Field(
        4.0, ge=0, description="what is always drawn besides lamps"
    )
    peak_price_per_kw: float = Field(0.0, ge=0, description="monthly demand charge of a kW")
    rates: Annotated[tuple[RateRow, ...], Field(strict=False)] = Field(
        (), description="prices; later rows win"
    )


class LayerRow(Table):
    """One layer of an own glazing."""

    n: float = Field(gt=1, le=3, description="refractive index")
    normal_transmittance: float | None = Field(
        None, gt=0, le=1, description="share of light passed straight through at right angles"
    )
    extinction_per_m: Annotated[float | None, Unit("per m")] = Field(
        None, ge=0, description="extinction coefficient, per metre"
    )
    thickness_mm: Annotated[float | None, Unit("mm")] = Field(
        None, gt=0, le=200, description="thickness in mm"
    )


class GlazingTable(Table):
    """`[glazing.X]`: a glazing of the grower's own."""

    layers: Annotated[tuple[LayerRow, ...], Field(strict=False, min_length=1, max_length=6)] = Field(
        description="its layers from outside in"
    )
    haze: Share = Field(0.0, description="share of the passed light that is scattered")
    u_w_m2k: Annotated[float | None, Unit("W/m²K")] = Field(None, gt=0, le=20, description="heat loss")
    film: bool = Field(False, description="a plastic film, on which drops cost more light than on glass")


def light_range(value: object) -> object:
    """`[dark end, bright end]`, or one number for both."""
    return [value, value] if isinstance(value, int | float) and not isinstance(value, bool) else value


class CoverTable(Table):
    """`[cover.X]`: a cover of the grower's own."""

    transmittance: Annotated[tuple[Share, Share], Field(strict=False), BeforeValidator(light_range)] = Field(
        description="share of light it passes, as [dark end, bright end]"
    )
    dark: bool | None = Field(None, description="counts as full dark")
    combustible: bool = Field(True, description="can burn: lamps under it stay off")
    night: bool = Field(False, description="may be left on at night")
    life_h: Annotated[float | None, Unit("h")] = Field(
        None, gt=0, description="hours it works (wet paper dries)"
    )
    where: Literal["bench", "house", "outside"] = Field("bench", description="where it is laid or drawn")
    r_m2k_w: Annotated[float, Unit("m²K/W")] = Field(
        0.0, ge=0, le=20, description="thermal resistance it adds"
    )


Mol = Annotated[float | None, Field(ge=0, le=80), Unit("mol m⁻² d⁻¹")]


class NeedsTable(Table):
    """`[crop.NAME.STAGE]`: the grower's own values; what is left out keeps the table's."""

    minimum: Mol = Field(None, description="least light of a day")
    target: Mol = Field(None, description="light to aim for in a day")
    limit: Mol = Field(None, description="most light of a day")
    limit_ppfd: Annotated[float | None, Unit("µmol m⁻² s⁻¹")] = Field(
        None, gt=0, le=2500, description="brightest light it bears"
    )
    limit_c: Annotated[float | None, TEMPERATURE] = Field(None, ge=5, le=60, description="hottest it bears")
    dark_h: Annotated[float | None, Unit("h")] = Field(
        None, ge=0, le=24, description="unbroken dark it needs"
    )
    most_in_hand: Mol = Field(None, description="most light carried over from bright days")
    most_owed: Mol = Field(None, description="most light owed from dull days")


def dates_in_order(from_date: date, to_date: date) -> bool:
    return from_date <= to_date
