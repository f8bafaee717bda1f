"""A typical year: hours of one made-up year, used by month and day for any date."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from pathlib import Path

import numpy as np
import pandas as pd
import pvlib
from numpy.typing import NDArray

from lightplan.site.models import Site, SourceName
from lightplan.weather.clear_sky import QUANTILES, STAND_IN_DULL, capped_normal_sample, clear_day_sums
from lightplan.weather.file import read_weather_csv
from lightplan.weather.table import Kind, Spread, Weather, WeatherError, check_table, empty_table

PVLIB_PREFIX = "pvlib:"
LEAST_DAYS = 330  # of a year by month and day, for a file to stand for a whole year
HOUR = pd.Timedelta(hours=1)
# Days about a date that tell what is usual when the light to come is weighed, its own left out; judgement
SEASON = tuple(n for n in range(-15, 16) if n != 0)
# The same where the days to come must not be told; longer, since days long gone are another season's, but few
# days tell little: of 31, 45, 61, 91 days and a year the least cost for what it leaves owed (replays of one
# house, seeds 12 to 17)
SEASON_SO_FAR = tuple(range(-45, 0))
NEAR_DAYS = 10  # days either side that tell how far a day may lie from the file's
SPREAD_SD = 0.15  # of the file's own day, for odds; judgement
MOL_PER_WH = 0.007265  # outdoor DLI from global radiation: Faust & Logan 2018 (read on a page)

FETCHED_NAME = "typical-year.csv"  # what `lightplan start` fetches

SNOW, SNOW_UNKNOWN_CM = "snow_m", 999  # EPW and TMY2 give whole centimetres, 999 for unknown
COLUMN_OF = {  # pvlib's names of TMY3 and EPW: ours
    "ghi": "ghi_w_m2",
    "dni": "dni_w_m2",
    "dhi": "dhi_w_m2",
    "temp_air": "temp_air_c",
    "wind_speed": "wind_m_s",
    "snow_depth": SNOW,
}
TMY2_COLUMN_OF = {
    "GHI": "ghi_w_m2",
    "DNI": "dni_w_m2",
    "DHI": "dhi_w_m2",
    "DryBulb": "temp_air_c",
    "Wspd": "wind_m_s",
    "SnowDepth": SNOW,
}
TMY2_TENTHS = ("DryBulb", "Wspd")  # TMY2 stores these in tenths


@dataclass(frozen=True)
class TypicalYear:
    """Rows at the start of each interval; `zone_hours` is the file's standard time."""

    name: str
    table: pd.DataFrame  # UTC index
    zone_hours: float

    @cached_property
    def by_clock(self) -> pd.DataFrame:
        """Hourly means by month, day and minute of the file's own standard time."""
        table = self.table if self.step >= HOUR else self.table.resample(HOUR).mean()
        local = self._local(pd.DatetimeIndex(table.index)).floor(HOUR)
        keyed = table.set_axis(_clock_keys(local), axis=0)
        return keyed[~keyed.index.duplicated()]

    def _local(self, times: pd.DatetimeIndex) -> pd.DatetimeIndex:
        return times + pd.Timedelta(hours=self.zone_hours)

    @property
    def step(self) -> pd.Timedelta:
        return pd.Timedelta(self.table.index[1] - self.table.index[0])

    def at(self, times: pd.DatetimeIndex) -> pd.DataFrame:
        """The year's rows for these interval starts (UTC, of any year; 29 February is the 28th)."""
        local = self._local(times)
        first = local.floor(HOUR)
        rows = self.by_clock.reindex(_clock_keys(first)).set_axis(times, axis=0)
        past = np.asarray((local - first) / HOUR, dtype=float)[:, None]
        if past.any():  # a zone of half hours: an hour of UTC takes a part of two of the file's
            then = self.by_clock.reindex(_clock_keys(first + HOUR)).set_axis(times, axis=0)
            return rows * (1 - past) + then * past
        return rows

    @property
    def days(self) -> int:
        """How many days of the year it holds."""
        return len(self._day_sums)

    def day_wh_m2(self, day: date) -> float:
        """Light of one day of the file's standard time."""
        return float(
            self._day_sums.get((day.month, 28 if (day.month, day.day) == (2, 29) else day.day), np.nan)
        )

    @cached_property
    def _day_sums(self) -> dict[tuple[int, int], float]:
        local = self._local(pd.DatetimeIndex(self.table.index))
        hours = self.step / pd.Timedelta(hours=1)
        sums = (self.table["ghi_w_m2"] * hours).groupby([local.month, local.day]).sum()
        return dict(zip(sums.index.to_flat_index(), sums.astype(float), strict=True))

    def near_wh_m2(self, day: date, days: int = NEAR_DAYS) -> NDArray[np.float64]:
        """Light of the days within `days` of this one, itself included."""
        found = [self.day_wh_m2(day + timedelta(days=n)) for n in range(-days, days + 1)]
        return np.array([v for v in found if np.isfinite(v)])

    def usual_dli(self, day: date) -> float:
        """Outdoor DLI [mol m⁻² d⁻¹] of the week around a date."""
        return float(self.near_wh_m2(day, 3).mean() * MOL_PER_WH)


def _clock_keys(local: pd.DatetimeIndex) -> NDArray[np.int64]:
    """month, day, minute of day as one number; 29 February counts as the 28th."""
    month, day = local.month.to_numpy(), local.day.to_numpy().copy()
    day[(month == 2) & (day == 29)] = 28
    return np.asarray((month * 100 + day) * 10_000 + local.hour * 60 + local.minute, dtype=np.int64)


def own_typical_year(site: Site) -> TypicalYear | None:
    """The typical year that a site names, else the one that `start` fetched; None where there is neither."""
    choice = site.weather
    if choice.source is SourceName.TYPICAL_YEAR and choice.file is not None:
        return read_typical_year(choice.file, site.folder)
    if choice.typical is not None:
        return read_typical_year(choice.typical, site.folder)
    if (site.folder / FETCHED_NAME).is_file():
        return read_typical_year(FETCHED_NAME, site.folder)
    return None


def read_typical_year(name: str, folder: Path) -> TypicalYear:
    """Read a TMY2, TMY3 or EPW file, or our own CSV of at least 330 days; `pvlib:NAME` is one pvlib ships.

    Raises WeatherError with one sentence.
    """
    path = (
        Path(pvlib.__file__).parent / "data" / name.removeprefix(PVLIB_PREFIX)
        if name.startswith(PVLIB_PREFIX)
        else folder / name
    )
    if not path.is_file():
        raise WeatherError(
            f'the typical year "{name}" is not there; give a TMY2, TMY3, EPW or CSV file beside site.toml.'
        )
    try:
        year = _read(path, name)
    except (ValueError, KeyError, IndexError, UnicodeDecodeError, pd.errors.ParserError) as error:
        if isinstance(error, WeatherError):
            raise
        raise WeatherError(
            f'"{name}" can\'t be read as a TMY2, TMY3, EPW or weather CSV file; check its format.'
        ) from error
    if (days := year.days) < LEAST_DAYS:
        raise WeatherError(f'"{name}" holds {days} days of the year; a typical year needs {LEAST_DAYS}.')
    return year


def _read(path: Path, name: str) -> TypicalYear:
    suffix = path.suffix.lower()
    if suffix == ".tm2":
        return _read_tmy2(path, name)
    if suffix == ".epw":
        data, meta = pvlib.iotools.read_epw(path)
        return _from_pvlib(data, COLUMN_OF, name, float(meta["TZ"]), pd.Timedelta(0))
    if _first_line(path).startswith("time"):
        return TypicalYear(name, read_weather_csv(path), 0.0)
    data, meta = pvlib.iotools.read_tmy3(path, map_variables=True, coerce_year=2001)
    return _from_pvlib(
        data, COLUMN_OF, name, float(meta["TZ"]), pd.Timedelta(hours=1)
    )  # labelled at the hour's end


def _first_line(path: Path) -> str:
    with path.open(encoding="utf-8-sig", errors="replace") as file:
        return file.readline().strip().strip('"').lower()


def _read_tmy2(path: Path, name: str) -> TypicalYear:
    data, meta = pvlib.iotools.read_tmy2(path)
    for column in TMY2_TENTHS:
        data[column] = data[column] / 10
    return _from_pvlib(data, TMY2_COLUMN_OF, name, float(meta["TZ"]), pd.Timedelta(0))


def _from_pvlib(
    data: pd.DataFrame, names: dict[str, str], name: str, zone_hours: float, label_after: pd.Timedelta
) -> TypicalYear:
    """Our table from pvlib's. Months come from different years, so the clock alone is kept, in one year."""
    local = pd.DatetimeIndex(data.index).tz_localize(None) - label_after
    one_year = pd.to_datetime(
        {"year": 2001, "month": local.month, "day": local.day, "hour": local.hour, "minute": local.minute}
    )
    times = pd.DatetimeIndex(one_year).tz_localize("UTC") - pd.Timedelta(hours=zone_hours)
    table = empty_table(times)
    for theirs, ours in names.items():
        if theirs in data:
            values = data[theirs].to_numpy(dtype=float)
            if ours == SNOW:
                values = np.where(values < SNOW_UNKNOWN_CM, values / 100, np.nan)
            table[ours] = values
    table = table.sort_index()
    table = table[~table.index.duplicated()]
    check_table(table, f'"{name}"')
    return TypicalYear(name, table, zone_hours)


def typical_spread(site: Site, year: TypicalYear, dates: tuple[date, ...], *, stands_in: bool) -> Spread:
    """10 and 90 % of the days within ±10 of each date, widened to hold the file's own day.

    The quantiles are the median-unbiased ones of Hyndman & Fan 1996 (Am. Stat. 50:361-365, type 8): with
    twenty days others leave a quarter of new days outside. stands_in : nobody looked at today's sky,
    although somebody was to: then it may be as dull as STAND_IN_DULL of a clear one, and odds follow the
    neighbours.
    """
    own = np.array([max(year.day_wh_m2(day), 1e-9) for day in dates])
    near = [year.near_wh_m2(day) for day in dates]
    low = np.minimum([_quantile(days, 0.1) for days in near] / own, 1.0)
    high = np.maximum([_quantile(days, 0.9) for days in near] / own, 1.0)
    if not stands_in:
        return Spread(dates, low, high, capped_normal_sample(site, dates, own, SPREAD_SD))
    low = np.minimum(low, STAND_IN_DULL * clear_day_sums(site, dates) / own)
    sample = np.array([np.quantile(days, QUANTILES) for days in near]).T / own
    return Spread(dates, low, high, sample)


def usual_clearness(
    site: Site, year: TypicalYear, dates: tuple[date, ...], season: tuple[int, ...] = SEASON
) -> tuple[tuple[float, ...], ...]:
    """For each of a row of dates, light over a clear sky's of the days of its season.

    season : which days these are, counted from the date.
    """
    first = dates[0] + timedelta(days=season[0])
    span = (dates[-1] - dates[0]).days + season[-1] - season[0] + 1
    around = tuple(first + timedelta(days=n) for n in range(span))
    clear = clear_day_sums(site, around)
    light = np.array([year.day_wh_m2(day) for day in around])
    known = np.isfinite(light) & (clear > 0)
    share = np.where(known, light, 0.0) / np.where(known, clear, 1.0)
    found = []
    for day in dates:
        own = (day - first).days
        found.append(tuple(float(share[own + n]) for n in season if known[own + n]))
    return tuple(found)


def _quantile(values: NDArray[np.float64], share: float) -> float:
    return float(np.quantile(values, share, method="median_unbiased"))


def typical_weather(
    site: Site,
    year: TypicalYear,
    times: pd.DatetimeIndex,
    dates: tuple[date, ...],
    *,
    stands_in: bool = False,
) -> Weather:
    """The year's own hours, taken as these dates' forecast; stands_in as for `typical_spread`."""
    return Weather(
        table=year.at(times),
        source="typical-year",
        kind=Kind.TYPICAL_YEAR,
        issued_at=None,
        attribution=f"Typical year {year.name.removeprefix(PVLIB_PREFIX)}",
        fallback_reason=None,
        spread=typical_spread(site, year, dates, stands_in=stands_in),
        usual_dli_mol_m2_d=year.usual_dli(dates[0]),
        usual_clearness=usual_clearness(site, year, dates[:1])[0],
    )
