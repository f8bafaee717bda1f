"""What a house loses beside geometry and clean glazing, each factor kept apart."""

from __future__ import annotations

import math
from dataclasses import dataclass, fields
from datetime import date

from lightplan.site.models import Bars, House

DIRT_GATHERS_DAYS = 180  # from a wash until the full `dirt_loss` lies on the glazing again; judgement


@dataclass(frozen=True)
class LossFactors:
    """Share of light kept by each cause, 1 = nothing lost."""

    frame: float = 1.0
    dirt: float = 1.0
    overhead: float = 1.0
    shade: float = 1.0

    @property
    def kept(self) -> float:
        """Share kept by all of them together."""
        return float(math.prod(getattr(self, field.name) for field in fields(self)))


def loss_factors(house: House, day: date) -> LossFactors:
    """What a house loses on one date. Whitewash counts at the middle of its range."""
    return LossFactors(
        frame=(1 - house.frame_loss) * (1 - _bars(house.bars)),
        dirt=1 - house.dirt_loss * _gathered(house.washed, day),
        overhead=math.prod(1 - row.loss for row in house.overhead if row.from_date <= day <= row.to_date),
        shade=math.prod(
            sum(row.cover.transmittance) / 2 for row in house.shade if row.from_date <= day <= row.to_date
        ),
    )


def _bars(bars: Bars | None) -> float:
    """Share of the roof behind bars, seen square on: their depth is not counted yet."""
    return 0.0 if bars is None else min(bars.width_m / bars.spacing_m, 1.0)


def _gathered(washed: date | None, day: date) -> float:
    """Share of the full dirt that lies on the glazing."""
    if washed is None or day < washed:
        return 1.0
    return min((day - washed).days / DIRT_GATHERS_DAYS, 1.0)
