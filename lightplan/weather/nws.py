"""US National Weather Service: gridded cloud cover and temperature over intervals of one to twelve hours.

https://www.weather.gov/documentation/services-web-api (read June 2024) and recorded answers. Values hold from
the interval's start. There is no irradiance: light comes from the cover, with the wide band that it deserves.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from datetime import UTC, datetime, timedelta
from typing import Any
from urllib.parse import urlsplit, urlunsplit

import pandas as pd

from lightplan.site.models import Site, SourceName
from lightplan.weather.answer import Answer, Asked, Raw, Service
from lightplan.weather.cloud import CloudKind
from lightplan.weather.http import Client
from lightplan.weather.series import far_from, hours_of_intervals, in_celsius, in_unit, numbers, placed
from lightplan.weather.table import COLUMNS, SourceFault

API = "https://api.weather.gov"
ATTRIBUTION = "Forecast data: US National Weather Service; light worked out from its cloud cover"
POINT_FRESH = timedelta(days=14)  # which grid cell a place lies in hardly ever changes
FAR_DEG = 0.2

LAYERS = {
    "skyCover": "cloud_pct",
    "temperature": "temp_air_c",
    "windSpeed": "wind_m_s",
    "windGust": "gust_m_s",
}
PER_CENT = {"percent": 1.0}
M_S = {"km_h-1": 1 / 3.6, "m_s-1": 1.0}
INTERVAL = re.compile(
    r"(?P<start>[^/]+)/P(?:(?P<days>\d+)D)?(?:T(?:(?P<hours>\d+)H)?(?:(?P<minutes>\d+)M)?)?$"
)


def ask(site: Site, asked: Asked, client: Client, primary: bool) -> Raw:
    """The grid cell of the place, then its grid. An own `url` may be the service's host or a grid itself."""
    own = site.weather.url if primary else None
    if own is None and not site.weather.contact:
        raise SourceFault("wants to know who asks: set contact in [weather]")
    base = (own or API).rstrip("/")
    if "/gridpoints/" in base:
        return {"grid": client.get_json(base)}
    # at most four decimals, without zeros at the end: it redirects or refuses others
    place = f"{site.latitude:.4f}".rstrip("0").rstrip("."), f"{site.longitude:.4f}".rstrip("0").rstrip(".")
    point_url = base if "/points/" in base else f"{base}/points/{place[0]},{place[1]}"
    point = client.get_json(point_url, fresh=POINT_FRESH)
    if "skyCover" in _properties(point):
        return {"grid": point}
    try:
        grid = client.get_json(_grid_url(point, own))
    except SourceFault as fault:
        if "HTTP 404" not in str(fault):
            raise
        point = client.get_json(point_url, fresh=timedelta(0))  # the place may have moved to another cell
        grid = client.get_json(_grid_url(point, own))
    return {"point": point, "grid": grid}


def _properties(body: Any) -> Mapping[str, Any]:
    found = body.get("properties") if isinstance(body, dict) else None
    if not isinstance(found, dict):
        raise SourceFault("sends something other than its grid")
    return found


def _grid_url(point: Any, own: str | None) -> str:
    """The grid's address in a point's answer, on the grower's own host where one is given."""
    url = _properties(point).get("forecastGridData")
    if not isinstance(url, str) or not url.startswith(("http://", "https://")):
        raise SourceFault("names no grid for this place")
    if own is None:
        return url
    return urlunsplit((*urlsplit(own)[:2], *urlsplit(url)[2:]))


def read(raw: Raw, site: Site, asked_at: datetime) -> Answer:
    """The grid's hours, from its last issue on. Raises SourceFault."""
    grid = _properties(raw.get("grid"))
    _of_place(raw, grid, site)
    columns = {ours: _layer(grid.get(name), name) for name, ours in LAYERS.items()}
    table = placed(columns, tuple(COLUMNS))
    cover = table["cloud_pct"]
    if not cover.notna().any():
        raise SourceFault("sends no cloud cover")
    if cover.min() < 0 or cover.max() > 100:
        raise SourceFault("gives cloud cover beyond 0 to 100 %")
    return Answer(table=table, issued_at=_issued(grid, asked_at), cloud=CloudKind.FORECASTER)


def _of_place(raw: Raw, grid: Mapping[str, Any], site: Site) -> None:
    if "point" not in raw:
        return
    point = _properties(raw["point"])
    for key in ("gridId", "gridX", "gridY"):
        if key in point and key in grid and str(point[key]) != str(grid[key]):
            cell = " ".join(str(grid.get(k)) for k in ("gridId", "gridX", "gridY"))
            raise SourceFault(f"answers for another grid cell ({cell})")
    geometry = raw["point"].get("geometry")
    place = geometry.get("coordinates") if isinstance(geometry, dict) else None
    if not isinstance(place, list) or len(place) < 2:
        return
    if far_from((site.latitude, site.longitude), (place[1], place[0]), FAR_DEG):
        raise SourceFault(f"answers for another place ({place[1]}, {place[0]})")


def _layer(layer: object, name: str) -> pd.Series:
    """One layer by the hour; a layer that is absent or empty has no hours."""
    if not isinstance(layer, dict) or not isinstance(layer.get("values"), list):
        return pd.Series(dtype=float, index=pd.DatetimeIndex([], tz="UTC"))
    return hours_of_intervals(_spans(layer, name))


def _spans(layer: Mapping[str, Any], name: str) -> Iterator[tuple[datetime, datetime, float]]:
    rows = [row for row in layer["values"] if isinstance(row, dict)]
    values = numbers([row.get("value") for row in rows], len(rows), name)
    unit = layer.get("uom")
    if name == "temperature":
        values = in_celsius(values, unit)
    elif unit is not None:
        bare = str(unit).removeprefix("wmoUnit:").removeprefix("unit:")
        values = in_unit(values, bare, PER_CENT if name == "skyCover" else M_S, name)
    until: datetime | None = None
    for row, value in zip(rows, values, strict=True):
        start, end = _interval(row.get("validTime"))
        if until is not None and start < until:
            raise SourceFault(f"gives {start:%Y-%m-%d %H:%M} UTC twice in {name}")
        until = end
        if value == value:  # not nan
            yield start, end, float(value)


def _interval(text: object) -> tuple[datetime, datetime]:
    """`2026-01-05T12:00:00+00:00/PT3H` → from 12:00 to 15:00 UTC."""
    match = INTERVAL.match(str(text))
    try:
        start = datetime.fromisoformat(match["start"] if match else "")
    except ValueError:
        raise SourceFault(f'gives "{str(text)[:40]}" as a time') from None
    assert match is not None
    length = timedelta(**{unit: int(match[unit] or 0) for unit in ("days", "hours", "minutes")})
    if start.tzinfo is None or not length:
        raise SourceFault(f'gives "{str(text)[:40]}" as a time')
    if length > timedelta(days=20):
        raise SourceFault(f"gives an interval of {length.days} days")
    return start.astimezone(UTC), start.astimezone(UTC) + length


def _issued(grid: Mapping[str, Any], asked_at: datetime) -> datetime:
    try:
        issued = datetime.fromisoformat(str(grid.get("updateTime")))
    except ValueError:
        return asked_at
    return issued if issued.tzinfo else issued.replace(tzinfo=UTC)


SERVICE = Service(SourceName.NWS, ATTRIBUTION, ask, read, stale_h=12.0)
