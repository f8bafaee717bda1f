"""What Open-Meteo's JSON means. Radiation is the mean over the interval that ENDS at its stamp; temperature,
cover, wind and snow are instants at the stamp; gusts are the highest of the hour before.

https://open-meteo.com/en/docs (read August 2026) and recorded answers.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import datetime
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from lightplan.site.models import Site
from lightplan.weather.answer import Answer, Raw
from lightplan.weather.cloud import CloudKind
from lightplan.weather.series import (
    HOUR,
    far_from,
    hours_of_instants,
    hours_of_intervals,
    in_celsius,
    in_unit,
    moments,
    numbers,
    placed,
    step_of,
)
from lightplan.weather.table import COLUMNS, HIGHEST_IRRADIANCE_W_M2, SourceFault

LIGHT = {  # theirs: ours
    "shortwave_radiation": "ghi_w_m2",
    "direct_normal_irradiance": "dni_w_m2",
    "diffuse_radiation": "dhi_w_m2",
}
ABOVE_AIR = "terrestrial_radiation"
INSTANTS = {
    "temperature_2m": "temp_air_c",
    "cloud_cover": "cloud_pct",
    "snow_depth": "snow_m",
    "wind_speed_10m": "wind_m_s",
}
LAYERS = ("cloud_cover_low", "cloud_cover_mid", "cloud_cover_high")
GUSTS = "wind_gusts_10m"
HOURLY = (*LIGHT, ABOVE_AIR, *INSTANTS, *LAYERS, GUSTS)
DIRECT_FLAT = "direct_radiation"  # on the horizontal: an own address may ask it in place of the diffuse
MEMBER = re.compile(r"shortwave_radiation(_member\d+)?(_[a-z]\w*)?$")
NO_MODEL = re.compile(r"(low|mid|high|instant|member\d+|previous_day\d+)(_|$)")  # what else may follow a name

W_M2 = {"W/m²": 1.0, "W/m2": 1.0, "W m-2": 1.0}
PER_CENT = {"%": 1.0}
M_S = {"m/s": 1.0, "ms": 1.0, "km/h": 1 / 3.6, "mp/h": 0.44704, "mph": 0.44704, "kn": 0.514444}
UNITS: dict[str, Mapping[str, float]] = {
    **dict.fromkeys((*LIGHT, ABOVE_AIR, DIRECT_FLAT), W_M2),
    **dict.fromkeys(("cloud_cover", *LAYERS), PER_CENT),
    **dict.fromkeys(("wind_speed_10m", GUSTS), M_S),
    "snow_depth": {"m": 1.0, "ft": 0.3048, "cm": 0.01},
}

FAR_DEG, ENSEMBLE_FAR_DEG = 0.5, 1.0  # a grid cell's middle may lie that far from the site


def read(raw: Raw, site: Site, asked_at: datetime) -> Answer:
    """The forecast's hours. It carries no time of issue: that is the moment it was asked. Raises
    SourceFault."""
    body = _of_place(raw.get("forecast"), site, FAR_DEG)
    hourly = _Block(body, "hourly" if "hourly" in body or "minutely_15" not in body else "minutely_15")
    columns = _light(hourly)
    if not columns["ghi_w_m2"].notna().any() and (quarters := _quarters(body, whole=True)) is not None:
        columns = dict(quarters)
    columns |= {ours: hourly.instants(name) for name, ours in INSTANTS.items()}
    columns["gust_m_s"] = hourly.means(GUSTS)
    table = placed(columns, tuple(COLUMNS))
    no_light = not table["ghi_w_m2"].notna().any()  # with no cloud either it is refused where it is judged
    cloud = CloudKind.MODEL if no_light and table["cloud_pct"].notna().any() else None
    layers = pd.DataFrame({name: hourly.instants(name).reindex(table.index) for name in LAYERS})
    members, notes = _ensemble(raw, site)
    above = hourly.means(ABOVE_AIR)
    return Answer(
        table=table,
        issued_at=asked_at,
        cloud=cloud,
        layers=layers if layers.notna().all(axis=1).any() else None,
        quarters=_quarters(body) if cloud is None else None,
        members=members,
        above_air=above if above.notna().any() else None,
        notes=notes,
    )


class _Block:
    """One block of arrays beside their times, such as `hourly` with `hourly_units`."""

    def __init__(self, body: dict[str, Any], name: str) -> None:
        block, units = body.get(name), body.get(f"{name}_units")
        if not isinstance(block, dict):
            raise SourceFault(f"sends no {name} values")
        self.values = block
        self._units = units if isinstance(units, dict) else {}
        offset_s, in_utc = _offset(body)
        self.at = moments(block.get("time"), offset_s)
        self.step = step_of(self.at)
        holes = len(pd.date_range(self.at[0], self.at[-1], freq=self.step)) > len(self.at)
        if holes and not in_utc:
            # one offset serves its whole answer: a skipped hour means wall-clock times, wrong from there on
            raise SourceFault("gives wall-clock times across a clock change")

    def array(self, name: str) -> NDArray[np.float64]:
        """A variable's values; of several models the first that knows, time by time."""
        keys = [name] if name in self.values else [key for key in self.values if _model_of(key, name)]
        found = np.full(len(self.at), np.nan)
        for key in keys:
            found = np.where(np.isfinite(found), found, self._of_key(key, name))
        return found

    def _of_key(self, key: str, name: str) -> NDArray[np.float64]:
        found, unit = numbers(self.values[key], len(self.at), key), self._units.get(key)
        if name.startswith("temperature"):
            return in_celsius(found, unit)
        return in_unit(found, unit, W_M2 if MEMBER.match(name) else UNITS[name], key)

    def means(self, name: str, whole: bool = True) -> pd.Series:
        """Means over the interval before each stamp, labelled by its start; `whole`: over whole hours."""
        values, starts = self.array(name), self.at - self.step
        if (starts[0] - starts[0].floor("h")) % self.step:  # a zone of half hours: back to whole ones
            spans = zip(starts, self.at, values, strict=True)
            return hours_of_intervals((a, b, float(v)) for a, b, v in spans if np.isfinite(v))
        series = pd.Series(values, index=starts)
        if self.step < HOUR and whole:
            parts = series.resample("h")
            return parts.mean().where(parts.count() == HOUR / self.step)
        return series

    def instants(self, name: str) -> pd.Series:
        return hours_of_instants(self.at, self.array(name))


def _model_of(key: str, name: str) -> str | None:
    """The model that `cloud_cover_icon_d2` adds to a name; None where it is another variable."""
    rest = key.removeprefix(f"{name}_")
    return None if rest == key or NO_MODEL.match(rest) else rest


def _light(block: _Block, whole: bool = True) -> dict[str, pd.Series]:
    """Light under our names; of global, diffuse and direct on the horizontal two make the third."""
    found = {ours: block.means(name, whole) for name, ours in LIGHT.items()}
    direct = block.means(DIRECT_FLAT, whole)
    whole_light, diffuse = found["ghi_w_m2"], found["dhi_w_m2"]
    found["ghi_w_m2"] = whole_light.combine_first(direct + diffuse)
    found["dhi_w_m2"] = diffuse.combine_first((whole_light - direct).clip(lower=0.0))
    return found


def _offset(body: dict[str, Any]) -> tuple[float, bool]:
    """What its ISO times are ahead of UTC [s], and whether they are UTC themselves."""
    offset, zone = body.get("utc_offset_seconds"), body.get("timezone", "GMT")
    if offset is None and zone in ("GMT", "UTC"):
        return 0.0, True
    if isinstance(offset, bool) or not isinstance(offset, (int, float)):
        raise SourceFault("gives no offset of its times from UTC")
    return float(offset), zone in ("GMT", "UTC") and offset == 0


def _of_place(body: Any, site: Site, far_deg: float) -> dict[str, Any]:
    """The one answer of this place: a question about several places is answered by a list."""
    if isinstance(body, list):
        body = next((part for part in body if isinstance(part, dict) and not _far(part, site, far_deg)), None)
    if not isinstance(body, dict):
        raise SourceFault("sends no answer for this place")
    if body.get("error"):
        raise SourceFault(f"refuses the question: {str(body.get('reason'))[:120]}")
    if _far(body, site, far_deg):
        raise SourceFault(f"answers for another place ({body['latitude']:.2f}, {body['longitude']:.2f})")
    return body


def _far(body: dict[str, Any], site: Site, far_deg: float) -> bool:
    place = (body.get("latitude"), body.get("longitude"))
    return far_from((site.latitude, site.longitude), place, far_deg)


def _quarters(body: dict[str, Any], whole: bool = False) -> pd.DataFrame | None:
    """Light by the quarter hour (`whole`: by the hour from these); None where there is none or it can't be
    read: the hours stand alone then."""
    try:
        block = _Block(body, "minutely_15")
        return pd.DataFrame(_light(block, whole)) if block.step == HOUR / 4 else None
    except SourceFault:
        return None


def _ensemble(raw: Raw, site: Site) -> tuple[pd.DataFrame | None, tuple[str, ...]]:
    fault = raw.get("ensemble_fault")
    if "ensemble" in raw:
        try:
            return _members(_of_place(raw["ensemble"], site, ENSEMBLE_FAR_DEG)), ()
        except SourceFault as error:
            fault = str(error)
    if fault is None:
        return None, ()
    return None, (f"open-meteo's ensemble {fault}: the range of light is assumed from the lead time",)


def _members(body: dict[str, Any]) -> pd.DataFrame:
    """Global light by the hour, a column for each member, the control among them."""
    block = _Block(body, "hourly")
    if block.step != HOUR:
        raise SourceFault("gives its members in steps other than the hour")
    stem = "shortwave_radiation"
    names = [
        name
        for name in block.values
        if name == stem or name.startswith(f"{stem}_member") or _model_of(name, stem) is not None
    ]
    if not names:
        raise SourceFault("sends no members")
    members = pd.DataFrame({name: block.means(name) for name in names}).dropna(axis=1, how="all")
    if (members < 0).any(axis=None) or (members > HIGHEST_IRRADIANCE_W_M2).any(axis=None):
        raise SourceFault("gives members that can't be light in W/m²")
    return members
