"""Light readings that can't be: each caught before it is stored, and said in one sentence."""

from __future__ import annotations

from dataclasses import dataclass

from lightplan.learn.meters import LUX_PER_FOOT_CANDLE, UNITS
from lightplan.problems import InputError

LOWEST_SUN_DEG = 5.0  # under it shares of light are mostly walls and haze; judgement
DARK_SUN_DEG = -6.0  # civil twilight's end: lamps alone are read after it
BRIGHTER_THAN_CLEAR = 1.6  # cloud edges and a model that reads 8 % low; judgement
CLEAR_WITHIN = (0.7, 1.35)  # of the clear sky: what may still be called a clear day; judgement
UNIT_SLIP = (6.0, 18.0)  # about 10.764, the foot-candle in lux
MOST_LAMP_SLIP = 4.0  # what lamps read over what the site file says; judgement


@dataclass(frozen=True)
class Moment:
    """sun_deg : true height of the sun. clear_umol : outdoors under a clear sky. expected_umol : reckoned
    at the place under a clear sky, None where it is not known. clock : as the grower writes it."""

    clock: str
    sun_deg: float
    clear_umol: float
    expected_umol: float | None = None


@dataclass(frozen=True)
class Seen:
    """A light reading in µmol with the unit it was typed in. clear : said to be a clear day."""

    inside_umol: float
    outside_umol: float | None
    unit: str
    clear: bool


def check_light(seen: Seen, moment: Moment) -> None:
    """Raises InputError for a day's reading that can't be."""
    if moment.sun_deg < LOWEST_SUN_DEG:
        where = "below the horizon" if moment.sun_deg < 0 else f"only {moment.sun_deg:.0f}° above the horizon"
        raise InputError(
            f"At {moment.clock} the sun is {where}, so this is no reading of daylight: look at the date and "
            "the clock, or enter it as a reading of the lamps."
        )
    if seen.inside_umol <= 0 or (seen.outside_umol is not None and seen.outside_umol <= 0):
        raise InputError("A reading of 0 by day tells of the meter, not of the house: leave it out.")
    if seen.outside_umol is None:
        if not seen.clear:
            raise InputError(
                "A reading inside alone says nothing without the light outside: give --outside as well, or "
                "--clear if the sky was clear all round the sun."
            )
        _check_unit(seen, seen.inside_umol, moment.expected_umol or moment.clear_umol, "inside")
        if seen.inside_umol > moment.clear_umol * BRIGHTER_THAN_CLEAR:
            raise InputError(
                f"{seen.inside_umol:.0f} µmol inside is more than a clear sky gives outside at "
                f"{moment.clock} ({moment.clear_umol:.0f} µmol): look at the unit and the clock."
            )
        return
    _check_unit(seen, seen.outside_umol, moment.clear_umol, "outside")
    if seen.outside_umol > moment.clear_umol * BRIGHTER_THAN_CLEAR:
        raise InputError(
            f"{seen.outside_umol:.0f} µmol outside is more than a clear sky gives at {moment.clock} "
            f"({moment.clear_umol:.0f} µmol): look at the unit and the clock."
        )
    if seen.inside_umol > seen.outside_umol:
        raise InputError(
            f"Inside ({seen.inside_umol:.0f} µmol) is brighter than outside ({seen.outside_umol:.0f} µmol): "
            "were the two swapped, were lamps on, or did a cloud pass between?"
        )
    if seen.clear and not CLEAR_WITHIN[0] <= seen.outside_umol / moment.clear_umol <= CLEAR_WITHIN[1]:
        raise InputError(
            f"{seen.outside_umol:.0f} µmol outside is not a clear sky at {moment.clock} (that would be about "
            f"{moment.clear_umol:.0f} µmol): leave --clear out, or look at the unit and the clock."
        )


def _check_unit(seen: Seen, umol: float, likely_umol: float, where: str) -> None:
    """Lux entered as foot-candles or the other way round: ten times too much, or too little when clear."""
    if seen.unit not in ("lux", "fc") or likely_umol <= 0:
        return
    ratio = umol / likely_umol
    as_lux = umol / LUX_PER_FOOT_CANDLE
    if seen.unit == "fc" and ratio > BRIGHTER_THAN_CLEAR and as_lux < likely_umol * BRIGHTER_THAN_CLEAR:
        raise InputError(
            f"So many {UNITS['fc']} {where} would be {umol:.0f} µmol, {ratio:.0f} times what the sun gives "
            f"at {seen_clock(seen)}: the number looks like lux ({as_lux:.0f} µmol), give --unit lux."
        )
    if seen.unit == "lux" and seen.clear and UNIT_SLIP[0] < 1 / ratio < UNIT_SLIP[1]:
        raise InputError(
            f"So many lux {where} would be {umol:.0f} µmol, a tenth of what a clear day gives: the number "
            f"looks like foot-candles ({umol * LUX_PER_FOOT_CANDLE:.0f} µmol), give --unit fc."
        )


def seen_clock(seen: Seen) -> str:
    return "noon on a clear day" if seen.clear else "that hour"


def check_lamps(umol: float, *, sun_deg: float, clock: str, meant_umol: float, unit: str) -> None:
    """Raises InputError for lamps read with daylight or in another unit. meant_umol : site file's."""
    if sun_deg > DARK_SUN_DEG:
        raise InputError(
            f"At {clock} there is still daylight (sun at {sun_deg:.0f}°): read the lamps after dark, "
            "or give the clock time that it was."
        )
    if umol <= 0:
        raise InputError("A reading of 0 under lamps: were they on, and was the meter's cap off?")
    if umol > meant_umol * MOST_LAMP_SLIP:
        slip = " The number looks like lux: give --unit lux." if unit == "fc" else ""
        raise InputError(
            f"{umol:.0f} µmol is {umol / meant_umol:.0f} times the {meant_umol:.0f} that site.toml has for "
            f"these lamps; look at the unit, or correct site.toml.{slip}"
        )
