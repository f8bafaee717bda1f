"""Open-Meteo: hourly light, split into beam and diffuse, quarter hours where its models have them, ensembles.

https://open-meteo.com/en/docs (read August 2026). How its answers are read: `open_meteo_answer.py`.
"""

from __future__ import annotations

import os
import re
from datetime import timedelta
from typing import Any

from lightplan.site.models import Site, SourceName
from lightplan.weather.answer import Asked, Raw, Service
from lightplan.weather.http import SECRET, Client
from lightplan.weather.open_meteo_answer import HOURLY, LIGHT, read
from lightplan.weather.table import SourceFault

FORECAST = "https://{}api.open-meteo.com/v1/forecast"
ENSEMBLE = "https://{}ensemble-api.open-meteo.com/v1/ensemble"
PAID = "customer-"
ATTRIBUTION = "Weather data by Open-Meteo.com (CC BY 4.0), processed"
MOST_DAYS_AHEAD = 15  # forecast days run from 0 to 16

# Boxes (south, north, west, east) where quarter hours are a model's own, ICON-D2 with AROME and HRRR;
# elsewhere they are drawn from the hours (domains from memory)
QUARTER_HOURS_IN = ((43.2, 58.0, -3.9, 20.3), (21.2, 52.6, -134.0, -61.0))

# the ensemble with hourly steps of its own; its name changed in summer 2026
ENSEMBLE_MODELS = ("icon_seamless_eps", "icon_seamless")


def ask(site: Site, asked: Asked, client: Client, primary: bool) -> Raw:
    """The forecast from the day before the sheet's on, and the ensemble where there is one.

    primary : whether `url`, `ensemble_url` and `api_key_env` of the site file are meant for this service.
    """
    choice = site.weather
    key = _key(choice.api_key_env) if primary else None
    own = choice.url if primary else None
    common = _common(site, asked)
    if key:
        common[SECRET] = key
    wanted = {**common, "hourly": ",".join(HOURLY)}
    if any(s <= site.latitude <= n and w <= site.longitude <= e for s, n, w, e in QUARTER_HOURS_IN):
        wanted["minutely_15"] = ",".join(LIGHT)
    prefix = PAID if key else ""
    raw: Raw = {"forecast": client.get_json(own_address(own, FORECAST.format(prefix)), wanted)}
    own_ensemble = choice.ensemble_url if primary else None
    if own is None or own_ensemble is not None:
        try:
            raw["ensemble"] = _ask_ensemble(
                own_address(own_ensemble, ENSEMBLE.format(prefix)), common, client
            )
        except SourceFault as fault:
            raw["ensemble_fault"] = str(fault)
    return raw


def _common(site: Site, asked: Asked) -> dict[str, str]:
    """Place and dates, from the day before on: yesterday is wanted for the score of its sheet.

    Dates and not `past_days`: those count from the service's own today, which need not be the sheet's.
    """
    first = asked.times[0].date()
    common = {
        "latitude": f"{site.latitude:.4f}",
        "longitude": f"{site.longitude:.4f}",
        "timezone": "GMT",  # its local times carry one offset all through, the one of the day of asking
        "start_date": (first - timedelta(days=1)).isoformat(),
        "end_date": min(asked.end.date(), first + timedelta(days=MOST_DAYS_AHEAD)).isoformat(),
        "wind_speed_unit": "ms",
    }
    if site.elevation_m:  # 0 is the site file's default: then theirs, from a map, is better
        common["elevation"] = f"{site.elevation_m:.0f}"
    return common


def own_address(own: str | None, usual: str) -> str:
    """The grower's own address as it is, with the usual path where it names a host alone."""
    if own is None:
        return usual
    path = "/" + usual.split("/", 3)[3]
    return own.rstrip("/") + path if re.fullmatch(r"https?://[^/?#]+/?", own) else own


def _key(variable: str | None) -> str | None:
    if variable is None:
        return None
    value = os.environ.get(variable, "").strip()
    if not value:
        raise SourceFault(f"needs its key, and the environment variable {variable} is not set")
    return value


def _ask_ensemble(url: str, common: dict[str, str], client: Client) -> Any:
    fault = SourceFault("was not asked")
    for model in ENSEMBLE_MODELS:
        try:
            return client.get_json(url, {**common, "models": model, "hourly": "shortwave_radiation"})
        except SourceFault as error:
            fault = error
            if "HTTP 400" not in str(error):  # 400: it does not know the model by this name
                break
    raise fault


SERVICE = Service(SourceName.OPEN_METEO, ATTRIBUTION, ask, read, stale_h=24.0)
