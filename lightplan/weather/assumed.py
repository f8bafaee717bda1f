"""How wrong a forecast of a day's light is taken to be until the site's own scores replace it: one table.

The measure is that of `bands.py`: the standard deviation of a day's clearness on the logit scale. No service
states the error of its light and no pairs of forecast and measured light were at hand, so the rows by lead
are judgement. They are set between two measured marks: the light of a day whose cover is perfectly known
(0.59, 0.46, 0.44 by season, De Bilt 2000), and a day taken for the one before it, which no forecast need be
worse than.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np

from lightplan.site.models import Site

WINTER, BETWEEN, SUMMER = range(3)


@dataclass(frozen=True)
class AssumedError:
    """One row. lead_h : from the forecast's issue to noon of the day. by_season : WINTER, BETWEEN, SUMMER."""

    lead_h: float
    by_season: tuple[float, float, float]
    mark: str


# A day taken for the one before it: half the distance from the 10 to the 90 % point over 1.28, odd days of
# Lyngby 2016 (DTU, hourly global light), rounded.
AS_YESTERDAY = AssumedError(24.0, (1.70, 1.40, 1.20), "measured, Lyngby 2016, odd days")

BY_LEAD = (
    AssumedError(0.0, (0.50, 0.42, 0.36), "judgement"),
    AssumedError(24.0, (0.62, 0.52, 0.44), "judgement"),
    AssumedError(48.0, (0.74, 0.62, 0.53), "judgement"),
    AssumedError(72.0, (0.86, 0.72, 0.61), "judgement"),
    AssumedError(120.0, (1.10, 0.92, 0.78), "judgement"),
    AssumedError(168.0, (1.35, 1.12, 0.95), "judgement"),
    AssumedError(240.0, AS_YESTERDAY.by_season, "no skill left: as yesterday taken for today"),
)

# An error of a cloud curve is wider in winter as well: 0.59, 0.46, 0.44 over their mean
OF_CURVE = (1.2, 1.0, 0.85)


def season_of(site: Site, day: date) -> int:
    """WINTER in the four months around the winter solstice, SUMMER around the summer's, BETWEEN else."""
    month = day.month if site.latitude >= 0 else (day.month + 5) % 12 + 1
    return WINTER if month in (11, 12, 1, 2) else SUMMER if month in (5, 6, 7, 8) else BETWEEN


def assumed_measure(site: Site, day: date, lead_h: float) -> tuple[float, float]:
    """The assumed error of a day's light at a lead, and the season's factor on a cloud curve's error."""
    season = season_of(site, day)
    leads = [row.lead_h for row in BY_LEAD]
    return float(np.interp(lead_h, leads, [row.by_season[season] for row in BY_LEAD])), OF_CURVE[season]
