"""A changed site beside today's: light by month, lamps, heating and days that need a remedy."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lightplan.year.site_year import SiteYear
from lightplan.year.stretches import means

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Beside:
    """One house or bench before and after. *_mol : (months,) mean light of the days [mol m⁻² d⁻¹].

    A bench's light is sun and lamps. None on one side where it is new or gone.
    """

    id: str
    name: str
    today_mol: Array | None
    then_mol: Array | None


@dataclass(frozen=True)
class WhatIf:
    """changes : as asked. lamp_cost : with peak charges, None without prices. remedy_days : all benches."""

    changes: tuple[str, ...]
    today: SiteYear
    then: SiteYear
    houses: tuple[Beside, ...]
    benches: tuple[Beside, ...]

    @property
    def calibrated(self) -> bool:
        return all(one.calibrated for one in (*self.today.houses, *self.then.houses))

    @property
    def lamp_kwh(self) -> tuple[float, float]:
        return self.today.lamps.kwh, self.then.lamps.kwh

    @property
    def lamp_cost(self) -> tuple[float | None, float | None]:
        return self.today.lamps.cost, self.then.lamps.cost

    @property
    def heating_kwh(self) -> tuple[float, float]:
        return self.today.heating_kwh, self.then.heating_kwh

    @property
    def remedy_days(self) -> tuple[int, int]:
        return _remedies(self.today), _remedies(self.then)


def what_if(changes: tuple[str, ...], today: SiteYear, then: SiteYear) -> WhatIf:
    return WhatIf(
        changes,
        today,
        then,
        houses=_beside(
            {one.house.id: (one.house.name, one.light.inside_mol) for one in today.houses},
            {one.house.id: (one.house.name, one.light.inside_mol) for one in then.houses},
            today,
        ),
        benches=_beside(
            {one.bench.id: (one.bench.name, one.total_mol) for one in today.benches},
            {one.bench.id: (one.bench.name, one.total_mol) for one in then.benches},
            today,
        ),
    )


def _beside(
    before: dict[str, tuple[str, Array]], after: dict[str, tuple[str, Array]], year: SiteYear
) -> tuple[Beside, ...]:
    def monthly(found: tuple[str, Array] | None) -> Array | None:
        return None if found is None else means(found[1], year.months)

    return tuple(
        Beside(key, (after.get(key) or before[key])[0], monthly(before.get(key)), monthly(after.get(key)))
        for key in dict.fromkeys((*before, *after))
    )


def _remedies(year: SiteYear) -> int:
    return int(sum(one.heat.remedy.sum() for one in year.benches))
