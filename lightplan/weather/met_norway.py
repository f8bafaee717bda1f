"""MET Norway Locationforecast 2.0: cloud cover by layer and temperature at instants, hourly, then six-hourly.

https://api.met.no/weatherapi/locationforecast/2.0 (documentation read March 2023) and recorded answers. All
times are UTC; `instant` holds at the time. There is no irradiance, and nothing before the last hour.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

import numpy as np
import pandas as pd

from lightplan.site.models import Site, SourceName
from lightplan.weather.answer import Answer, Asked, Raw, Service
from lightplan.weather.cloud import CloudKind
from lightplan.weather.http import Client
from lightplan.weather.open_meteo import own_address
from lightplan.weather.series import (
    DRAWN_H,
    HOUR,
    far_from,
    hours_of_instants,
    in_celsius,
    in_unit,
    moments,
    numbers,
    placed,
)
from lightplan.weather.table import COLUMNS, SourceFault

FORECAST = "https://api.met.no/weatherapi/locationforecast/2.0/complete"
ATTRIBUTION = "Based on data from MET Norway (CC BY 4.0); light worked out from its cloud cover"
TAIL_H = 6.0  # its step after about two and a half days
FAR_DEG = 0.2  # a sample with latitude and longitude exchanged has been seen

DETAILS = {
    "cloud_area_fraction": "cloud_pct",
    "air_temperature": "temp_air_c",
    "wind_speed": "wind_m_s",
    "wind_speed_of_gust": "gust_m_s",
}
LAYERS = ("cloud_area_fraction_low", "cloud_area_fraction_medium", "cloud_area_fraction_high")
UNITS = {"%": 1.0, "m/s": 1.0}


def ask(site: Site, asked: Asked, client: Client, primary: bool) -> Raw:
    own = site.weather.url if primary else None
    if own is None and not site.weather.contact:
        raise SourceFault("wants to know who asks: set contact in [weather]")
    place = {"lat": f"{site.latitude:.4f}", "lon": f"{site.longitude:.4f}"}  # five decimals are refused
    if site.elevation_m:  # 0 is the site file's default: then theirs, from a map, is better
        place["altitude"] = f"{site.elevation_m:.0f}"
    return {"forecast": client.get_json(own_address(own, FORECAST), place)}


def read(raw: Raw, site: Site, asked_at: datetime) -> Answer:
    """The forecast's hours, six-hourly instants joined by straight lines. Raises SourceFault."""
    body = raw.get("forecast")
    properties = body.get("properties") if isinstance(body, dict) else None
    if not isinstance(body, dict) or not isinstance(properties, dict):
        raise SourceFault("sends something other than its forecast")
    _of_place(body, site)
    series = properties.get("timeseries")
    steps = [step for step in series if isinstance(step, dict)] if isinstance(series, list) else []
    at = moments([step.get("time") for step in steps])
    details = [_details(step) for step in steps]
    drawn_h = np.array([DRAWN_H if "next_1_hours" in _mapping(s.get("data")) else TAIL_H for s in steps])
    # the first entry may be the coming hour: what it says is taken for the hour that runs
    at, details = at.insert(0, at[0] - HOUR), [details[0], *details]
    drawn_h = np.insert(drawn_h, 0, DRAWN_H)
    meta = _mapping(properties.get("meta"))
    units = _mapping(meta.get("units"))

    def hours(name: str) -> pd.Series:
        values = numbers([row.get(name) for row in details], len(details), name)
        if name == "air_temperature":
            return hours_of_instants(at, in_celsius(values, units.get(name)), drawn_h)
        return hours_of_instants(at, in_unit(values, units.get(name), UNITS, name), drawn_h)

    table = placed({ours: hours(name) for name, ours in DETAILS.items()}, tuple(COLUMNS))
    cover = table["cloud_pct"]
    if not cover.notna().any():
        raise SourceFault("sends no cloud cover")
    if cover.min() < 0 or cover.max() > 100:
        raise SourceFault("gives cloud cover beyond 0 to 100 %")
    layers = pd.DataFrame({name: hours(name).reindex(table.index) for name in LAYERS})
    return Answer(
        table=table,
        issued_at=_issued(meta, asked_at),
        cloud=CloudKind.MODEL,
        layers=layers if np.isfinite(layers.to_numpy()).all(axis=1).any() else None,
    )


def _mapping(value: object) -> Mapping[str, Any]:
    return value if isinstance(value, dict) else {}


def _of_place(body: Mapping[str, Any], site: Site) -> None:
    place = _mapping(body.get("geometry")).get("coordinates")
    if not isinstance(place, list) or len(place) < 2:
        return
    if far_from((site.latitude, site.longitude), (place[1], place[0]), FAR_DEG):
        raise SourceFault(f"answers for another place ({place[1]}, {place[0]})")


def _details(step: Mapping[str, Any]) -> Mapping[str, Any]:
    return _mapping(_mapping(_mapping(step.get("data")).get("instant")).get("details"))


def _issued(meta: Mapping[str, Any], asked_at: datetime) -> datetime:
    try:
        issued = datetime.fromisoformat(str(meta.get("updated_at")))
    except ValueError:
        return asked_at
    return issued if issued.tzinfo else issued.replace(tzinfo=UTC)


SERVICE = Service(SourceName.MET_NORWAY, ATTRIBUTION, ask, read, stale_h=24.0)
