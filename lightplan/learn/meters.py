"""What a meter shows → photon flux, with how far the conversion may be off."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from lightplan.tables import read_table

LUX_PER_FOOT_CANDLE = 10.764  # 1 / 0.3048²
METER_SD = 0.05  # a hand-held meter's own error, in log; common practice (makers state 3 to 10 %)

UNITS = {"umol": "µmol", "lux": "lux", "fc": "foot-candles", "w": "W/m²", "w-par": "W/m² of PAR"}

# light a meter may stand in: (row of lamps.csv, spread of its lux factor in log).
# Sun and blue sky differ by 54/52; a white LED's 67 runs from 60 to 72 (both lamps.csv); the rest judgement.
SOURCES = {
    "sun": ("sunlight", 0.03),
    "blue-sky": ("blue_sky", 0.03),
    "led-white": ("led_white", 0.05),
    "led-red-blue": ("led_red_blue", 0.0),
    "hps": ("hps", 0.04),
    "metal-halide": ("metal_halide", 0.05),
    "fluorescent": ("fluorescent_cool_white", 0.05),
    "incandescent": ("incandescent", 0.05),
}

SUN_UMOL_PER_J = 2.018  # all sun on the horizontal; par_conversion.csv, faust_logan_2018
SUN_UMOL_PER_J_SD = 0.04  # clear 1.97 to overcast 2.10 (jacovides_hourly), as log


class NoConversion(ValueError):
    """This meter says nothing of photons in this light; the sentence says what would do."""


@dataclass(frozen=True)
class Photons:
    """umol_m2_s : photon flux. sd : of its logarithm, the meter's own error included; shared by all that
    this meter reads in this light."""

    umol_m2_s: float
    sd: float


def photons(value: float, unit: str, source: str = "sun") -> Photons:
    """Photon flux [µmol m⁻² s⁻¹] of what a meter shows in a kind of light.

    unit : of UNITS. source : of SOURCES. Raises NoConversion where the pair has no published factor.
    Factors: Thimijan & Heins 1983 (tables/lamps.csv), for sun on a pyranometer Faust & Logan 2018.
    """
    factor, spread = _factor(unit, source)
    return Photons(value * factor, (METER_SD**2 + spread**2) ** 0.5)


@cache
def _factor(unit: str, source: str) -> tuple[float, float]:
    row_name, lux_spread = SOURCES[source]
    row = next(r for r in read_table("lamps") if r["lamp"] == row_name)
    if unit == "umol":
        return 1.0, 0.0
    if unit in ("lux", "fc"):
        if not row["lux_per_umol"]:
            raise NoConversion(
                f"{UNITS[unit]} say nothing about the light of {source}: a meter that sees as eyes do is "
                "nearly blind to it. Use a meter in µmol."
            )
        per_lux = 1 / float(row["lux_per_umol"])
        return per_lux * (LUX_PER_FOOT_CANDLE if unit == "fc" else 1.0), lux_spread
    if unit == "w-par":
        return float(row["umol_per_j_par"]), 0.03
    if source not in ("sun", "blue-sky"):
        raise NoConversion(
            f"W/m² under {source} holds heat as well as light: give W/m² of PAR (--unit w-par) or µmol."
        )
    return SUN_UMOL_PER_J, SUN_UMOL_PER_J_SD
