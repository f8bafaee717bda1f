"""What a plastic tent over a bench passes of the house's light.

First honest model: one flat sheet above the bench that the sun meets at its own angle, and that
light from the house's sky meets from all sides alike. Curved sides, folds and the light that the
house has already scattered out of the beam are left out.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lightplan.house.optics import hemispherical, stack_optics
from lightplan.site.models import Glazing


def tent_transmittance(glazing: Glazing, zenith_deg: ArrayLike) -> tuple[NDArray[np.float64], float]:
    """Shares of beam (shape of `zenith_deg`) and of diffuse light that a level sheet passes.

    What the sheet scatters still comes down, so haze takes nothing here.
    """
    cosines = np.maximum(np.cos(np.radians(zenith_deg)), 0.0)
    return stack_optics(glazing.layers, cosines).passed, hemispherical(glazing.layers)[0]
