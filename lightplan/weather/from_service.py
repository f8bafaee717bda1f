"""A believed answer made into weather: light from cloud where there is none, a finer step, a band."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import pandas as pd

from lightplan.site.models import Site
from lightplan.weather.answer import Answer, Asked, Service
from lightplan.weather.bands import (
    BRIGHTEST_SEEN,
    NOTHING_LEARNED,
    SiteErrors,
    assumed_spread,
    clearness_of_days,
    spread_measure,
    with_members,
)
from lightplan.weather.clear_sky import clear_sky_ghi
from lightplan.weather.cloud import clearness_of_cover
from lightplan.weather.gaps import dark_hours_known
from lightplan.weather.series import HOUR
from lightplan.weather.steps import on_step
from lightplan.weather.table import HIGHEST_IRRADIANCE_W_M2, LIGHT, Kind, Weather

QUARTER = HOUR / 4
SAME_ENERGY = 0.10  # quarter hours are taken where their hour agrees with the hourly light as closely
SAME_W_M2 = 10.0

NOTE_CLOUD = "{} gives cloud, not light: today's light is known to a factor of about {:.1f} either way"
NOTE_LEAD = "the range of light is assumed from the forecast's age, not yet learned here"


def service_weather(
    service: Service,
    answer: Answer,
    site: Site,
    asked: Asked,
    *,
    earlier: Iterable[Answer],
    learned: SiteErrors,
) -> Weather:
    """Weather for the dates asked.

    earlier : the service's answers before this one, newest first; they fill hours already past that the
    service no longer gives. learned : what the site's scores have taught about the service.
    """
    table = _lit(answer, site, learned)
    known_from = asked.times[0]
    hours = pd.date_range(min(table.index[0], known_from), max(table.index[-1], asked.times[-1]), freq=HOUR)
    table = table.reindex(hours)
    past = hours < pd.Timestamp(asked.now)
    for older in earlier:
        if not table.loc[past & (hours >= known_from), "ghi_w_m2"].isna().any():
            break
        spare = _lit(older, site, learned).reindex(hours)
        take = past & table["ghi_w_m2"].isna().to_numpy() & spare["ghi_w_m2"].notna().to_numpy()
        table.loc[take] = spare.loc[take]
    yesterday = table[(hours < known_from) & table["ghi_w_m2"].notna().to_numpy()]
    table = dark_hours_known(table.loc[known_from : asked.times[-1]], site, asked)
    clear = clear_sky_ghi(site, pd.DatetimeIndex(table.index))
    clearness = clearness_of_days(table["ghi_w_m2"], clear, site, asked.dates)
    measure = np.array(
        [
            spread_measure(site, day, issued_at=answer.issued_at, cloud=answer.cloud, learned=learned)
            for day in asked.dates
        ]
    )
    spread = assumed_spread(asked.dates, clearness, measure)
    taken = 0
    if answer.members is not None:
        spread, taken = with_members(
            spread, answer.members, table["ghi_w_m2"], clear, site, wider=learned.spread
        )
    notes = list(answer.notes)
    if answer.cloud is not None:
        notes.append(NOTE_CLOUD.format(service.name.value, _either_way(spread.low[0], spread.high[0])))
    if not taken and learned == NOTHING_LEARNED:
        notes.append(NOTE_LEAD)
    if answer.quarters is not None:
        table = _with_quarters(table, answer.quarters, site)
    return Weather(
        table=table,
        source=service.name.value,
        kind=Kind.FORECAST,
        issued_at=answer.issued_at,
        attribution=service.attribution,
        fallback_reason=None,
        spread=spread,
        usual_dli_mol_m2_d=None,
        notes=tuple(notes),
        before=yesterday if len(yesterday) else None,
    )


def _either_way(low: float, high: float) -> float:
    return float(max(high, 1 / max(low, 0.1)))


def _lit(answer: Answer, site: Site, learned: SiteErrors) -> pd.DataFrame:
    """The answer's table with light in it: its own, or that of its cover under this site's clear sky."""
    table = answer.table
    if answer.cloud is None:
        return table
    layers = None
    if answer.layers is not None:
        low, middle, high = (answer.layers[name].to_numpy(dtype=float) / 100 for name in answer.layers)
        layers = (low, middle, high)
    cover = table["cloud_pct"].to_numpy(dtype=float) / 100
    of_cover = clearness_of_cover(cover, answer.cloud, layers) * learned.cloud_light
    clearness = np.minimum(of_cover, BRIGHTEST_SEEN)
    clear = clear_sky_ghi(site, pd.DatetimeIndex(table.index)).to_numpy()
    return table.assign(ghi_w_m2=clear * clearness)


def _with_quarters(table: pd.DataFrame, quarters: pd.DataFrame, site: Site) -> pd.DataFrame:
    """The table on quarter hours, with the service's own where a whole hour of them agrees with the hour."""
    fine = on_step(table, QUARTER, site)
    theirs = quarters.reindex(fine.index)
    by_hour = theirs["ghi_w_m2"].to_numpy(dtype=float).reshape(-1, 4)
    hourly = table["ghi_w_m2"].to_numpy(dtype=float)
    with np.errstate(invalid="ignore"):
        agree = np.abs(by_hour.mean(axis=1) - hourly) <= np.maximum(SAME_ENERGY * hourly, SAME_W_M2)
    fit = theirs[list(LIGHT)]
    fit = fit.isna() | ((fit >= 0) & (fit <= HIGHEST_IRRADIANCE_W_M2))
    sound = fit.to_numpy().all(axis=1).reshape(-1, 4).all(axis=1)
    take = np.repeat(agree & sound & np.isfinite(by_hour).all(axis=1), 4)
    columns = list(LIGHT)
    fine.loc[take, columns] = theirs.loc[take, columns]
    return fine
