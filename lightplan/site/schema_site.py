"""The tables `[site]`, `[weather]` and `[power]`."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import AfterValidator, BeforeValidator, Field

from lightplan.site.models import Span
from lightplan.site.quantities import LENGTH, Unit
from lightplan.site.table import Table
from lightplan.site.values import (
    ANY_SPELLING,
    DAY_GROUPS,
    DAYS,
    Clock,
    Date,
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
        ge=-90, le=90, description="the latitude in degrees north (south is negative)"
    )
    longitude: Annotated[float, Unit("°")] = Field(
        ge=-180, le=180, description="the longitude in degrees east (west is negative)"
    )
    timezone: Text = Field(description="the time zone's IANA name, such as America/New_York")
    elevation_m: Annotated[float, LENGTH] = Field(
        0.0, ge=-500, le=6000, description="the height above the sea"
    )
    units: Annotated[Literal["us", "metric"] | None, ANY_SPELLING] = Field(
        None, description="the units of the sheet"
    )
    paper: Annotated[Literal["letter", "a4"] | None, ANY_SPELLING] = Field(
        None, description="the paper in the printer"
    )
    crew: CrewWeek = Field(
        ((390, 1080),) * 7, description="the hours when somebody is there to open and cover"
    )
    days_off: Annotated[tuple[Date, ...], Field(strict=False)] = Field(
        (), description="the dates when nobody comes"
    )
    horizon: Annotated[tuple[HorizonPoint, ...], Field(strict=False)] = Field(
        (), description="what stands on the horizon, as [azimuth, elevation] in degrees"
    )
    foot_candles: bool = Field(False, description="whether foot-candles stand beside PPFD")


class WeatherTable(Table):
    """`[weather]`: where weather comes from."""

    source: Annotated[SourceWord, ANY_SPELLING] = Field(
        "open-meteo", description="the source that weather comes from first"
    )
    then: Annotated[tuple[SourceWord, ...], Field(strict=False), ANY_SPELLING] = Field(
        (), description="other services to try"
    )
    url: Text | None = Field(None, description="another address of the same service")
    ensemble_url: Text | None = Field(None, description="the address of its ensemble")
    file: Text | None = Field(
        None, description="the weather or typical-year file (pvlib:NAME is one that pvlib ships)"
    )
    typical: Text | None = Field(None, description="a typical-year file beside a live source")
    clearness: Annotated[tuple[Index, ...] | None, Field(strict=False, min_length=12, max_length=12)] = Field(
        None, description="the monthly means of light over clear-sky light"
    )
    contact: Text | None = Field(None, description="the contact that some services ask for")
    api_key_env: Text | None = Field(
        None, description="the name of the environment variable that holds a key"
    )


class RateRow(Table):
    """One row of `rates`."""

    from_: Clock = Field(alias="from", description="the clock time it starts")
    to: Clock = Field(description="the clock time it ends (earlier than from: over midnight)")
    price: float = Field(ge=0, description="the price of a kWh")
    days: Weekdays = Field(frozenset(range(7)), description="the days of the week")
    months: Annotated[tuple[Month, ...], Field(strict=False, min_length=1)] = Field(
        tuple(range(1, 13)), description="the months as numbers"
    )


class PowerTable(Table):
    """`[power]`: tariff and capacity."""

    currency: Annotated[str, Field(min_length=1, max_length=8)] = Field(
        "USD", description="the currency of the prices"
    )
    capacity_kw: Annotated[float, Unit("kW")] = Field(18.0, gt=0, description="what the breaker carries")
    other_kw: Annotated[float, Unit("kW")] = Field(
        4.0, ge=0, description="what is always drawn besides lamps"
    )
    peak_price_per_kw: float = Field(
        0.0, ge=0, description="the monthly charge for each kW of the highest peak"
    )
    rates: Annotated[tuple[RateRow, ...], Field(strict=False)] = Field(
        (), description="the prices by hour (later rows win)"
    )
