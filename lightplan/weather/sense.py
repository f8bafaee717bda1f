"""Is an answer believable? Its units, hours and place are held against the sun, which is known."""

from __future__ import annotations

import numpy as np
import pandas as pd
from pvlib import irradiance

from lightplan.site.models import Site
from lightplan.sun import position, unix_seconds
from lightplan.weather.answer import Answer, Asked
from lightplan.weather.clear_sky import clear_sky_ghi
from lightplan.weather.series import step_of
from lightplan.weather.table import SourceFault, WeatherError, check_table

LONGEST = pd.Timedelta(days=400)  # a forecast holds days; a year of an archive passes here too
PARTS = 4  # looks at the sun within an interval
DARK_DEG = -1.5  # sun's height below which no service has light; refraction and rounding stay above it
DARK_W_M2 = 5.0
OVER_AIR_W_M2 = 30.0  # an hour's light may not pass the light above the air by more (rounding, sub-steps)
DAY_OVER_CLEAR = 1.25  # a day's light over the Ineichen clear sky, which reads up to 8 % low; judgement
NEVER_UNDER = (
    0.02  # of the clear sky over all hours of two days or more: thickest overcast is 0.05; judgement
)
SUN_APART = 0.06  # a service's light above the air may differ from ours; an hour's shift makes 0.2 and more


def believed(answer: Answer, site: Site, asked: Asked) -> Answer:
    """The answer, if it makes sense for this place and covers some of the time that orders rest on.

    Raises SourceFault with a phrase that follows the service's name.
    """
    try:
        check_table(answer.table)
    except WeatherError as error:
        raise SourceFault(f"is not believed: {error}".rstrip(".")) from None
    index = pd.DatetimeIndex(answer.table.index)
    if index[-1] - index[0] > LONGEST:
        raise SourceFault("is not believed: its times lie years apart")
    step = step_of(index)
    above, highest_sun = _above_air(site, index, step)
    light = answer.table["ghi_w_m2"]
    if answer.cloud is None:
        _hours_fit(light, above, highest_sun)
        _amount_fits(light, clear_sky_ghi(site, index, step), site)
        if answer.above_air is not None:
            _sun_fits(answer.above_air.reindex(index), above)
    _covers(answer.table["ghi_w_m2" if answer.cloud is None else "cloud_pct"], asked)
    return answer


def _above_air(site: Site, index: pd.DatetimeIndex, step: pd.Timedelta) -> tuple[pd.Series, pd.Series]:
    """Light above the air on the horizontal [W/m²] and the sun's greatest height [degrees] by interval."""
    at = [index + step * (part + 0.5) / PARTS for part in range(PARTS)]
    heights = [position(site, unix_seconds(moment))[1] for moment in at]
    ends = [position(site, unix_seconds(moment))[1] for moment in (index, index + step)]
    light = [
        np.asarray(irradiance.get_extra_radiation(moment)) * np.clip(np.sin(np.radians(height)), 0, None)
        for moment, height in zip(at, heights, strict=True)
    ]
    return pd.Series(np.mean(light, axis=0), index=index), pd.Series(
        np.max([*heights, *ends], axis=0), index=index
    )


def _hours_fit(light: pd.Series, above: pd.Series, highest_sun: pd.Series) -> None:
    by_night = light[(highest_sun < DARK_DEG) & (light > DARK_W_M2)]
    if len(by_night):
        at = f"{by_night.index[0]:%Y-%m-%d %H:%M} UTC"
        raise SourceFault(f"is not believed: {by_night.iloc[0]:.0f} W/m² at {at}, when it is night")
    over = light[light > above + OVER_AIR_W_M2]
    if len(over):
        raise SourceFault(
            f"is not believed: {over.iloc[0]:.0f} W/m² at {over.index[0]:%Y-%m-%d %H:%M} UTC, "
            "more than there is above the air"
        )


def _amount_fits(light: pd.Series, clear: pd.Series, site: Site) -> None:
    known = light.notna()
    local = pd.DatetimeIndex(light.index).tz_convert(site.timezone).date
    sums, most = light[known].groupby(local[known]).sum(), clear[known].groupby(local[known]).sum()
    bright = sums[(most > 0) & (sums > DAY_OVER_CLEAR * most + 2 * OVER_AIR_W_M2)]
    if len(bright):
        day = bright.index[0]
        raise SourceFault(f"is not believed: {day} would be {sums[day] / most[day]:.1f} times a clear day")
    if len(sums) >= 2 and most.sum() > 0 and sums.sum() < NEVER_UNDER * most.sum():
        raise SourceFault("is not believed: hardly any light on any day; its unit must be another")


def _sun_fits(theirs: pd.Series, ours: pd.Series) -> None:
    both = theirs.notna()
    total = ours[both].sum()
    if total > 0 and float((theirs - ours)[both].abs().sum() / total) > SUN_APART:
        raise SourceFault("is not believed: its sun is not the sun of this place and these hours")


def _covers(values: pd.Series, asked: Asked) -> None:
    """Refuse an answer without a single known hour in the time that orders rest on."""
    if not values.notna().any():
        raise SourceFault("sends neither light nor cloud")
    index = pd.DatetimeIndex(values.index)
    until = pd.Timestamp(asked.needed_until)
    inside = (index >= asked.times[0]) & (index < until)
    if not values[inside].notna().any():
        gives = f"{index[0]:%Y-%m-%d} to {index[-1]:%Y-%m-%d}"
        raise SourceFault(f"has nothing for {asked.dates[0]} (it gives {gives})")
