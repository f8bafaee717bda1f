"""A bench as a body: its tent's film, insulation, heating, and what its lamps give off."""

from __future__ import annotations

import math
from dataclasses import dataclass

from lightplan.heat.parameters import AIR_WH_M3K, SURFACES_M2K_W, UNCALIBRATED, HeatParameters
from lightplan.site.models import Bench, Stage

IN_TRAYS = (Stage.GERMINATION, Stage.SEEDLING)  # later stages evaporate as a full floor


@dataclass(frozen=True)
class BenchBody:
    """Per m² of bench.

    film_w_m2k : U of the tent's film; None = no tent. sides_w_m2k : through the tent's sides.
    below_w_m2k : from the medium to the house air under the bench. air_w_m2k : what one air change per hour
    carries off. lamp_to_tray_w_m2, lamp_to_air_w_m2 : with all working lamps lit.
    """

    film_w_m2k: float | None
    sides_w_m2k: float
    below_w_m2k: float
    air_w_m2k: float
    heat_to_c: float | None
    heats_medium: bool  # bottom heat; else the tent's air is heated
    lamps_in_tent: bool  # else a cover keeps their light out too
    lamp_to_tray_w_m2: float
    lamp_to_air_w_m2: float
    evaporated: float


def bench_body(
    bench: Bench, stage: Stage | None = None, parameters: HeatParameters = UNCALIBRATED
) -> BenchBody:
    """A bench's heat per m². stage : of what stands on it; None = as seed trays."""
    around = bench.insulation
    r_below = around.r_m2k_w if around and around.where != "sides" else 0.0
    r_sides = around.r_m2k_w if around and around.where != "under" else 0.0
    film = None if bench.tent is None else bench.tent.u_w_m2k
    to_tray, to_air = _lamp_heat(bench, parameters)
    in_trays = stage is None or stage in IN_TRAYS
    return BenchBody(
        film_w_m2k=film,
        sides_w_m2k=0.0 if film is None else _side_share(bench) / (1 / film + r_sides),
        below_w_m2k=1 / (SURFACES_M2K_W + parameters.tray_m2k_w + r_below),
        air_w_m2k=AIR_WH_M3K * bench.tent_height_m,
        heat_to_c=bench.heat_to_c,
        heats_medium=bench.bottom_heat,
        lamps_in_tent=bench.lamps is not None and bench.lamps.place == "in-tent",
        lamp_to_tray_w_m2=to_tray,
        lamp_to_air_w_m2=to_air,
        evaporated=parameters.evaporated_trays if in_trays else parameters.evaporated_full_floor,
    )


def _side_share(bench: Bench) -> float:
    """Area of the tent's sides over the bench's; a bench without a place is taken as a square."""
    if bench.place is None:
        length = width = math.sqrt(bench.area_m2)
    else:
        length, width = (to - start for start, to in (bench.place.along_m, bench.place.across_m))
    return 2 * bench.tent_height_m * (length + width) / (length * width)


def _lamp_heat(bench: Bench, parameters: HeatParameters) -> tuple[float, float]:
    """What lit lamps give to trays and to the air over them [W/m²]; the house's own share is not here."""
    lamps = bench.lamps
    if lamps is None:
        return 0.0, 0.0
    power = lamps.power_kw * 1000 * lamps.working / bench.area_m2
    if lamps.place == "in-tent":
        return power * parameters.lamp_light_share, power * (1 - parameters.lamp_light_share)
    return power * parameters.lamp_above_share, 0.0
