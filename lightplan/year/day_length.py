"""When in the year each crop's day has to be made longer or shorter, by the natural day alone."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from lightplan.advice.photoperiod.season import crossed
from lightplan.advice.photoperiod.seen import DAY_SEEN_DEG, DAY_SEEN_SHORT_DAY_DEG, photoperiod_h
from lightplan.crops.day_length import DayAim, DayKind, day_aim
from lightplan.site.models import Batch, Site, Stage
from lightplan.twilight import nights
from lightplan.year.season import Crossing


def crossings_of(site: Site, dates: Sequence[date], crops: Iterable[str]) -> tuple[Crossing, ...]:
    """A line for each crop that is to flower by day length, in the order given. dates : of a whole year."""
    days: dict[float, NDArray[np.float64]] = {}
    found = []
    for crop in dict.fromkeys(crops):
        aim = _aim(site, crop, dates[0])
        if aim is None:
            continue
        angle = DAY_SEEN_SHORT_DAY_DEG if aim.kind is DayKind.SHORT else DAY_SEEN_DEG
        if angle not in days:
            days[angle] = natural_days_h(site, dates, angle)
        of_crop = crossed(dates, days[angle], kind=aim.kind, critical_h=aim.wanted_h)
        found.append(
            Crossing(
                crop=crop,
                critical_h=aim.wanted_h,
                dates=of_crop.dates,
                kind=aim.kind,
                needed=of_crop.needed,
                first=of_crop.first,
                last=of_crop.last,
                shortest_h=float(days[angle].min()),
                longest_h=float(days[angle].max()),
            )
        )
    return tuple(found)


def natural_days_h(site: Site, dates: Sequence[date], angle_deg: float) -> NDArray[np.float64]:
    """(dates,) hours of day that plants see without lamps and covers, by the night after each date."""
    of_year = nights(site, dates, angle_deg)
    spans = list(zip(of_year.dark_s.tolist(), of_year.light_s.tolist(), strict=True))
    return np.array(
        [  # in a polar night the dark goes on from one date's to the next's
            photoperiod_h(tuple(spans[max(n - 1, 0) : n + 2]), of_year.noon_s[n], of_year.next_noon_s[n])
            for n in range(len(spans))
        ]
    )


def _aim(site: Site, crop: str, day: date) -> DayAim | None:
    """What is wanted of it while it is finished, whenever that is; the grower's own values go first."""
    stages = [stage for stage in (Stage.FINISHING, Stage.GROWING_ON) if (crop, stage) in site.own_needs]
    stage = stages[0] if stages else Stage.FINISHING
    batch = Batch(crop, stage, day - timedelta(days=1), day, None, None, False)
    return day_aim(batch, day, site.own_needs)
