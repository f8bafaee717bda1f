"""Answers in the services' own shapes, invented: the clear sky of a place, dimmed as asked."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np
import pandas as pd
from pvlib import irradiance

from lightplan.site.models import Site
from lightplan.sun import position, unix_seconds
from lightplan.weather.clear_sky import clear_sky_ghi

HOUR = pd.Timedelta(hours=1)


def above_air(site: Site, starts: pd.DatetimeIndex) -> np.ndarray:
    parts = [starts + HOUR * p for p in np.arange(0.05, 1, 0.1)]
    return np.mean(
        [
            np.asarray(irradiance.get_extra_radiation(at))
            * np.clip(np.sin(np.radians(position(site, unix_seconds(at))[1])), 0, None)
            for at in parts
        ],
        axis=0,
    )


def open_meteo(
    site: Site, first: datetime, days: int = 9, *, clearness: float = 0.2, offset_s: int = 0
) -> dict[str, Any]:
    """An hourly forecast from `first` (UTC) on, in which every hour has `clearness` of the clear sky."""
    stamps = pd.date_range(pd.Timestamp(first).tz_convert("UTC"), periods=24 * days, freq=HOUR)
    starts = stamps - HOUR
    light = (clear_sky_ghi(site, starts) * clearness).to_numpy()
    local = stamps + pd.Timedelta(seconds=offset_s)
    count = len(stamps)
    return {
        "latitude": round(site.latitude, 2),
        "longitude": round(site.longitude, 2),
        "elevation": site.elevation_m,
        "generationtime_ms": 1.0,
        "utc_offset_seconds": offset_s,
        "timezone": "GMT" if offset_s == 0 else str(site.timezone),
        "hourly_units": {
            "time": "iso8601",
            "shortwave_radiation": "W/m²",
            "diffuse_radiation": "W/m²",
            "terrestrial_radiation": "W/m²",
            "temperature_2m": "°C",
            "cloud_cover": "%",
            "wind_speed_10m": "m/s",
        },
        "hourly": {
            "time": [f"{t:%Y-%m-%dT%H:%M}" for t in local],
            "shortwave_radiation": [round(float(v), 1) for v in light],
            "diffuse_radiation": [round(float(v), 1) for v in light],
            "terrestrial_radiation": [round(float(v), 1) for v in above_air(site, starts)],
            "temperature_2m": [8.0 + (n % 24) / 4 for n in range(count)],
            "cloud_cover": [100] * count,
            "wind_speed_10m": [3.0] * count,
        },
    }


def nws_grid(site: Site, first: datetime, hours: int = 180, *, cover: float = 100.0) -> dict[str, Any]:
    start = first.astimezone(UTC)

    def spans(value: float) -> list[dict[str, Any]]:
        return [
            {"validTime": f"{(start + timedelta(hours=h)).isoformat()}/PT3H", "value": value}
            for h in range(0, hours, 3)
        ]

    return {
        "properties": {
            "updateTime": start.isoformat(),
            "validTimes": f"{start.isoformat()}/P7DT12H",
            "gridId": "TST",
            "gridX": "4",
            "gridY": "7",
            "skyCover": {"uom": "wmoUnit:percent", "values": spans(cover)},
            "temperature": {"uom": "wmoUnit:degC", "values": spans(9.0)},
        }
    }


def nws_point(site: Site) -> dict[str, Any]:
    return {
        "geometry": {"type": "Point", "coordinates": [site.longitude, site.latitude]},
        "properties": {
            "gridId": "TST",
            "gridX": 4,
            "gridY": 7,
            "forecastGridData": "https://api.weather.gov/gridpoints/TST/4,7",
        },
    }


def met_norway(site: Site, first: datetime, *, cover: float = 100.0) -> dict[str, Any]:
    start = first.astimezone(UTC)
    hours = [*range(60), *range(60, 240, 6)]
    series = []
    for h in hours:
        data: dict[str, Any] = {
            "instant": {"details": {"cloud_area_fraction": cover, "air_temperature": 9.0, "wind_speed": 2.0}}
        }
        if h < 59:
            data["next_1_hours"] = {"details": {"precipitation_amount": 0.0}}
        series.append({"time": f"{start + timedelta(hours=h):%Y-%m-%dT%H:%M:%SZ}", "data": data})
    return {
        "type": "Feature",
        "geometry": {"type": "Point", "coordinates": [site.longitude, site.latitude, 10]},
        "properties": {
            "meta": {
                "updated_at": f"{start:%Y-%m-%dT%H:%M:%SZ}",
                "units": {"cloud_area_fraction": "%", "air_temperature": "celsius", "wind_speed": "m/s"},
            },
            "timeseries": series,
        },
    }


def points_apart(body: dict[str, Any]) -> dict[str, Any]:
    return {**body, "latitude": body["latitude"] + 3.0}
