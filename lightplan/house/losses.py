"""What a house loses beside geometry and clean glazing, each factor kept apart."""

from __future__ import annotations

import math
from dataclasses import dataclass, fields
from datetime import date

from lightplan.site.models import House


@dataclass(frozen=True)
class LossFactors:
    """Share of light kept by each cause, 1 = nothing lost."""

    frame: float = 1.0
    dirt: float = 1.0
    overhead: float = 1.0
    shade: float = 1.0
    condensation: float = 1.0
    snow: float = 1.0

    @property
    def kept(self) -> float:
        """Share kept by all of them together."""
        return float(math.prod(getattr(self, field.name) for field in fields(self)))


def loss_factors(
    house: House, day: date, *, temp_min_c: float | None = None, snow_m: float | None = None
) -> LossFactors:
    """What a house loses on one date."""
    return LossFactors(
        frame=1 - house.frame_loss,
        dirt=1 - house.dirt_loss,
        overhead=math.prod(1 - row.loss for row in house.overhead if row.from_date <= day <= row.to_date),
    )
