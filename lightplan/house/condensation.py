"""Light lost to drops on the inside of cold glazing.

Drops form where the inner skin is colder than the dew point of the house's air, and stay until the
sun has dried them: on very cold, dull days all day (Buffington, Bucklin, Henley & McConnell, "Winter
ventilation and heating requirements of private fiberglass greenhouses for condensation control",
University of Florida IFAS: heaviest from sundown to several hours after sunrise).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from pvlib.atmosphere import tdew_from_rh

from lightplan.house.shape import taken_for_film
from lightplan.site.glazings import middle
from lightplan.site.models import OWN, House
from lightplan.tables import read_table

Array = NDArray[np.float64]

# Name of a glass: its material in glazing.csv. An own glazing that isn't film is taken for clear glass.
GLASS = {"single-glass": "float_glass", "low-iron-glass": "float_glass", "diffuse-glass": "diffuse_glass"}
NIGHT_HUMIDITY_PCT = 70.0  # of a heated house's air; the worked case of Buffington et al.
COOL_C, COOL_HUMIDITY_PCT = 10.0, 90.0  # a house kept cooler is damper; judgement
INSIDE_W_M2K = 8.3  # still air to a surface (ASHRAE Fundamentals; from memory)
DRIED_BY_WH_M2 = 1000.0  # of sun since midnight, outdoors: about three hours of a clear morning; judgement


def condensation_leaves(
    house: House, *, temp_air_c: Array, sun_wh_m2: Array, day: NDArray[np.int64]
) -> Array:
    """(steps,) share of light that drops leave.

    temp_air_c : outdoors. sun_wh_m2 : light of each step. day : number of each step's civil day, rising.
    House air is taken at its heating set point; nan temperatures count as mild.
    """
    wet = np.zeros(len(day), dtype=bool)
    coldest = dew_below_c(house)
    edges = np.concatenate([[0], np.flatnonzero(np.diff(day)) + 1, [len(day)]])
    for of_day in map(slice, edges[:-1].tolist(), edges[1:].tolist()):
        dried = np.cumsum(sun_wh_m2[of_day]) >= DRIED_BY_WH_M2
        coldest_yet = np.fmin.accumulate(np.where(np.isnan(temp_air_c[of_day]), np.inf, temp_air_c[of_day]))
        wet[of_day] = (coldest_yet < coldest) & ~dried
    return np.where(wet, 1 - wet_loss(house), 1.0)


def dew_below_c(house: House) -> float:
    """Outdoor air below which the inner skin lies under the dew point of the house's air [°C].

    Drops by the night sky's cold alone, in houses no warmer than outdoors, are not counted.
    """
    humidity = NIGHT_HUMIDITY_PCT if house.heat_to_c >= COOL_C else COOL_HUMIDITY_PCT
    dew_point = float(tdew_from_rh(house.heat_to_c, humidity))
    return house.heat_to_c - (house.heat_to_c - dew_point) * INSIDE_W_M2K / house.glazing.u_w_m2k


def wet_loss(house: House) -> float:
    """Share of light that drops on the roof take: `glazing.csv`, by what the roof is made of.

    Film is taken as films for houses are sold, anti-drop and some months old (judgement); what is
    neither film nor glass at the middle of 0.05 to 0.2 (from memory).
    """
    glazing = house.glazing
    if taken_for_film(house, glazing):
        return -_middle("polyethylene_anti_drop", "wet_condensed_minus_dry_3_months", "par_direct")
    glass = "float_glass" if glazing.source == OWN else GLASS.get(glazing.name)
    if glass is None:
        return _middle("condensation_droplets", "light_loss_fraction", "par_direct")
    lost = -_middle(glass, "wet_condensed_minus_dry", "par_hemispherical")  # of all light, not of what passes
    return max(lost, 0.0) / _middle(glass, "new_clean", "par_hemispherical")


def _middle(material: str, condition: str, column: str) -> float:
    """Middle of the range of a material's first row of that condition."""
    row = next(r for r in read_table("glazing") if (r["material"], r["condition"]) == (material, condition))
    return middle(row, column)
