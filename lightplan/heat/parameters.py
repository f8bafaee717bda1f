"""What the heat model takes for granted, in one record that thermometer readings can correct."""

from __future__ import annotations

from dataclasses import dataclass, replace

from lightplan.site.models import House

AIR_WH_M3K = 0.33  # heat of air; tables/heat_and_shade.csv heat_loss_formula (ASABE EP406, from memory)
SURFACES_M2K_W = 0.17  # both surfaces of a sheet or board: the same row
SOL_AIR_W_M2K = 17.0  # a sheet in the sun to the air above: heat_and_shade.csv sol_air (ASHRAE, from memory)


@dataclass(frozen=True)
class HeatParameters:
    """Planning values, all judgement unless said; readings correct the first four.

    sun, loss, air : factors on the sun's heat, on what surfaces pass, on air changes; 1 = as reckoned.
    uncertainty_k : how far a peak may lie from the figure, either way.
    evaporated_* : share of the sun's heat that goes into water (heat_and_shade.csv bal_formula; memory).
    leaf_k_per_1000_umol : leaf above the air of its tent.
    """

    sun: float = 1.0
    loss: float = 1.0
    air: float = 1.0
    uncertainty_k: float = 4.0
    evaporated_trays: float = 0.3
    evaporated_full_floor: float = 0.5
    house_j_m2k: float = 60e3  # per m² of floor
    medium_j_m2k: float = 40e3
    vent_band_k: float = 4.0  # above vent_at_c, from shut to fully open
    tent_closed_per_h: float = 1.0
    tent_propped_per_h: float = 20.0
    leaf_k_per_1000_umol: float = 6.0
    # House air that passes under a cover over a bench without a tent: 0.1 m/s through 0.45 m of height is
    # 0.1 × 0.45 × 1,200 J/m³K = 54 W/K for each metre of a bench 1.2 m wide, 45 W/m²K; under a sheet that
    # hangs down at its sides a quarter of it
    under_cloth_w_m2k: float = 45.0
    under_sheet_w_m2k: float = 11.0
    lamp_light_share: float = (
        0.5  # of a lamp's power in a tent that falls on the trays; the rest warms its air
    )
    lamp_above_share: float = 0.5  # of the power of lamps above a tent that gets into it
    # Wet medium to the air above it: 7.7 by ISO 6946 (1 / 0.13; memory) and what evaporation adds as it
    # warms, 4 of convection × Δ/γ = 0.393/0.067 (FAO-56 eq. 13 at 40 °C, where orders are decided)
    medium_w_m2k: float = 31.0
    tray_m2k_w: float = 0.1  # bottom of tray and bench
    opaque_w_m2k: float = 2.0  # knee walls, blind sides, gutters


UNCALIBRATED = HeatParameters()


def heat_parameters(house: House) -> HeatParameters:
    """What the model takes for granted of a house, with what its thermometer taught."""
    found = house.measured_heat
    if found is None:
        return UNCALIBRATED
    return replace(UNCALIBRATED, loss=found.loss, air=found.air, uncertainty_k=found.uncertainty_k)
