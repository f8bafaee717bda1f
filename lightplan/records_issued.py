"""What was known on each morning: the weather that the sheets of those dates were made with."""

from __future__ import annotations

import io
import json
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import pandas as pd

from lightplan.records import FILE_NAME, open_records


@dataclass(frozen=True)
class IssuedForecast:
    """The weather a sheet was made with. low : factor of its first day's 10 % point."""

    table: pd.DataFrame
    low: float


def issued_forecasts(folder: Path, first: date, last: date) -> dict[date, IssuedForecast]:
    """Weather of the sheets of these dates, of each date's first sheet: what was known that morning.

    An absent file holds none. Raises RecordsError.
    """
    if not (folder / FILE_NAME).exists():
        return {}
    with open_records(folder) as db:
        rows = db.execute(
            "SELECT day, weather_csv, plan_json FROM plan WHERE day >= ? AND day <= ? ORDER BY made_at DESC",
            (first.isoformat(), last.isoformat()),
        ).fetchall()
    return {date.fromisoformat(day): _issued(weather, plan) for day, weather, plan in rows}


def _issued(weather_csv: str, plan_json: str) -> IssuedForecast:
    table = pd.read_csv(io.StringIO(weather_csv), index_col=0)
    table.index = pd.DatetimeIndex(pd.to_datetime(table.index, utc=True))
    outdoor = json.loads(plan_json)["outdoor"]
    low = outdoor["dli_low"] / outdoor["dli"] if outdoor["dli"] else 1.0
    return IssuedForecast(table.astype(float), float(low))
