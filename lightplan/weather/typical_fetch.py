"""A typical year for a place, fetched once: from the European PVGIS service, else from an archive's years.

PVGIS (European Commission, Joint Research Centre), https://joint-research-centre.ec.europa.eu/pvgis: typical
months picked by ISO 15927-4, read with pvlib's own reader. Elsewhere the archive of Open-Meteo: of each
month the year whose light is the middle one.
"""

from __future__ import annotations

import io
import json
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from lightplan.files import new_file, replace_file
from lightplan.site.models import Site
from lightplan.weather.answer import Answer, Asked
from lightplan.weather.clear_sky import clear_sky_ghi
from lightplan.weather.sense import believed
from lightplan.weather.series import hours_of_instants
from lightplan.weather.table import LIGHT, SourceFault, WeatherError, empty_table
from lightplan.weather.typical import COLUMN_OF, FETCHED_NAME, LEAST_DAYS, own_typical_year

PVGIS = "https://re.jrc.ec.europa.eu/api/v5_3/tmy"
ARCHIVE = "https://archive-api.open-meteo.com/v1/archive"
CREDIT_NAME = "typical-year.txt"  # who made it, beside it
PVGIS_CREDIT = "Typical year by PVGIS, European Commission Joint Research Centre (CC BY 4.0), processed"
ARCHIVE_CREDIT = "Typical year made from Open-Meteo.com's archive (CC BY 4.0)"
SAME_PLACE_DEG = 0.1  # how far an answer may lie from the place asked for
YEARS = 8  # of the archive; a month's middle of eight is steady enough; judgement
WHOLE_S = 50.0  # for both services together; `start` waits no longer
MOST_MISSING = 0.02  # of its hours without light known; judgement
YEAR = 2001  # the file's own year, which means nothing: it is used by month and day


def has_typical_year(site: Site) -> bool:
    """Whether the site has a typical year, named or fetched. One that is named but wrong counts: it is the
    grower's to put right."""
    try:
        return own_typical_year(site) is not None
    except WeatherError:
        return True


def fetch_typical_year(site: Site, this_year: int, whole_s: float = WHOLE_S) -> Path:
    """Fetch the year and put it into the site's folder, where none stands.

    this_year : not whole in the archive yet. Raises SourceFault with what each service said, OSError where
    the folder can't be written to.
    """
    from lightplan.weather.deadline import USUAL_PATIENCE, Deadline
    from lightplan.weather.http import Client  # brings the HTTP libraries

    deadline = Deadline(whole_s)
    faults: list[str] = []
    for name, look, made_by in (
        ("PVGIS", _from_pvgis, PVGIS_CREDIT),
        ("the archive of open-meteo", _from_archive, ARCHIVE_CREDIT),
    ):
        client = Client(
            site.folder / "cache",
            contact=site.weather.contact,
            patience=USUAL_PATIENCE,
            deadline=deadline.share(2 - len(faults)),
        )
        try:
            table = _checked(look(site, client, this_year), site)
        except SourceFault as fault:
            faults.append(f"{name} {fault}")
            continue
        path = site.folder / FETCHED_NAME
        text = table.round(2).rename_axis("time").to_csv(date_format="%Y-%m-%dT%H:%M+00:00")
        new_file(path, text.encode())
        replace_file(site.folder / CREDIT_NAME, f"{made_by}\n".encode())
        return path
    raise SourceFault("; ".join(faults))


def credit(folder: Path, name: str) -> str | None:
    """Whose data the fetched year is; None for a file of the grower's own."""
    if name != FETCHED_NAME:
        return None
    try:
        return (folder / CREDIT_NAME).read_text(encoding="utf-8").strip() or None
    except (OSError, UnicodeDecodeError):
        return None


def _from_pvgis(site: Site, client: Any, this_year: int) -> pd.DataFrame:
    import pvlib

    place = {"lat": f"{site.latitude:.4f}", "lon": f"{site.longitude:.4f}", "outputformat": "json"}
    body = client.get_json(PVGIS, {**place, "usehorizon": "0"})  # the site file has its own horizon
    try:
        data, _ = pvlib.iotools.read_pvgis_tmy(io.StringIO(json.dumps(body)), pvgis_format="json")
        location = body["inputs"]["location"]
        offset_h = float(location.get("irradiance_time_offset", 0.0))
        apart = max(abs(location["latitude"] - site.latitude), abs(location["longitude"] - site.longitude))
        data = data[~((data.index.month == 2) & (data.index.day == 29))]  # no year of 365 days has it
        at = pd.DatetimeIndex(data.index)
    except (ValueError, LookupError, TypeError, AttributeError):
        raise SourceFault("sends something other than its typical year") from None
    if apart > SAME_PLACE_DEG:
        raise SourceFault("answers for another place")
    clock = pd.DatetimeIndex(
        pd.to_datetime({"year": YEAR, "month": at.month, "day": at.day, "hour": at.hour, "minute": at.minute})
    ).tz_localize("UTC")
    if len(clock) < 24 * LEAST_DAYS or clock.has_duplicates:
        raise SourceFault("sends a typical year without all its hours")
    table = empty_table(pd.date_range(f"{YEAR}-01-01", periods=8760, freq="h", tz="UTC"))
    for theirs, ours in COLUMN_OF.items():
        if theirs not in data:
            continue
        # instants, light a little after the stamp; the year runs into itself at its end
        shift = pd.Timedelta(hours=offset_h if ours.endswith("w_m2") else 0.0)
        values = data[theirs].to_numpy(dtype=float)
        order = np.argsort(clock)
        moments = clock[order] + shift
        year = pd.Timedelta(days=365)
        hours = hours_of_instants(
            pd.DatetimeIndex([moments[-1] - year, *moments, moments[0] + year]),
            np.concatenate([values[order][-1:], values[order], values[order][:1]]),
        )
        table[ours] = hours.reindex(table.index)
    dark = clear_sky_ghi(site, pd.DatetimeIndex(table.index)).to_numpy() <= 0
    table.loc[dark, list(LIGHT)] = 0.0  # a line from the last instant of night to the first of day
    return table


def _from_archive(site: Site, client: Any, this_year: int) -> pd.DataFrame:
    """Twelve months, each from the year whose light of that month is the middle one of YEARS."""
    from lightplan.weather.open_meteo_answer import LIGHT as THEIR_LIGHT
    from lightplan.weather.open_meteo_answer import read

    asked = {
        "latitude": f"{site.latitude:.4f}",
        "longitude": f"{site.longitude:.4f}",
        "start_date": f"{this_year - YEARS}-01-01",
        "end_date": f"{this_year - 1}-12-31",
        "hourly": ",".join([*THEIR_LIGHT, "temperature_2m", "wind_speed_10m"]),
        "timezone": "GMT",
        "wind_speed_unit": "ms",
    }
    raw = {"forecast": client.get_json(ARCHIVE, asked)}
    table = read(raw, site, datetime(this_year, 1, 1, tzinfo=UTC)).table
    months = []
    for month in range(1, 13):
        rows = table[pd.DatetimeIndex(table.index).month == month]
        by_year = rows["ghi_w_m2"].groupby(pd.DatetimeIndex(rows.index).year)
        whole = by_year.count() >= 27 * 24
        sums = by_year.mean()[whole].sort_values()
        if sums.empty:
            raise SourceFault(f"has no whole month {month} in its years")
        chosen = rows[pd.DatetimeIndex(rows.index).year == sums.index[(len(sums) - 1) // 2]]
        months.append(chosen)
    year = pd.concat(months)
    at = pd.DatetimeIndex(year.index)
    year = year[~((at.month == 2) & (at.day == 29))]
    year.index = pd.DatetimeIndex([moment.replace(year=YEAR) for moment in pd.DatetimeIndex(year.index)])
    hours = pd.date_range(f"{YEAR}-01-01", periods=8760, freq="h", tz="UTC")
    return pd.DataFrame(year.reindex(hours))


def _checked(table: pd.DataFrame, site: Site) -> pd.DataFrame:
    """The year, if its light fits the sun of the place and it lacks next to nothing."""
    index = pd.DatetimeIndex(table.index)
    end = index[-1].to_pydatetime()
    believed(Answer(table, end), site, Asked(index, (index[0].date(),), end, end))
    if table["ghi_w_m2"].isna().mean() > MOST_MISSING:
        raise SourceFault("sends a typical year without all its light")
    if not table["temp_air_c"].notna().all():
        raise SourceFault("sends a typical year without its temperatures")
    return table
