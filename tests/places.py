"""Sites for tests: a bare place on earth without houses."""

from __future__ import annotations

from pathlib import Path
from zoneinfo import ZoneInfo

from lightplan.site.models import Site, SourceName, WeatherChoice


def bare_site(
    latitude: float,
    longitude: float,
    zone: str = "UTC",
    *,
    elevation_m: float = 0.0,
    source: SourceName = SourceName.CLEAR_SKY,
    file: str | None = None,
    folder: Path = Path(),
    horizon: tuple[tuple[float, float], ...] = (),
    clearness: tuple[float, ...] | None = None,
    then: tuple[SourceName, ...] = (),
    url: str | None = None,
    ensemble_url: str | None = None,
    typical: str | None = None,
    contact: str | None = "grower@example.org",
    api_key_env: str | None = None,
) -> Site:
    return Site(
        id="bare",
        folder=folder,
        name="Bare place",
        latitude=latitude,
        longitude=longitude,
        timezone=ZoneInfo(zone),
        elevation_m=elevation_m,
        us_units=False,
        paper="a4",
        crew=((390, 1080),) * 7,
        days_off=frozenset(),
        horizon=horizon,
        foot_candles=False,
        weather=WeatherChoice(
            source, then, url, ensemble_url, file, typical, clearness, contact, api_key_env
        ),
        power=None,
        houses=(),
        benches=(),
        own_needs={},
    )
