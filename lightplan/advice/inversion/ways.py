"""Medium temperature of a bench kept open, shaded, or turned round."""

from __future__ import annotations

import numpy as np

from lightplan.advice.inversion.task import Array, Mask, Place, Schedule, Seed, within
from lightplan.clock import STEP_MIN
from lightplan.heat.bench_air import Tent
from lightplan.heat.covers import absorbed, is_airy
from lightplan.site.models import Cover, Span

LAST_ROUND_MIN = 30  # before the crew goes: covers come off and tents open by then; judgement


def lit_for_seed(place: Place, seed: Seed) -> Mask:
    """When lamps light seed on a bench that is not turned round: while the sun alone does not."""
    if place.bench.lamps is None or not seed.lit_from_sowing:
        return np.zeros(len(place.minute), dtype=bool)
    allowed = np.zeros(len(place.minute), dtype=bool)
    for start, end in place.bench.lamp_hours:
        allowed |= within(place.minute, start, end)
    return allowed & (place.sun_ppfd < place.bench.light_for_seed_ppfd_umol_m2_s)


def _tent_off(place: Place) -> Tent:
    return Tent.ROLLED_BACK if place.bench.tent_opens else Tent.CLOSED


def open_medium_c(place: Place, seed: Seed) -> Array:
    """Tent off, vents open, nothing drawn."""
    lit = lit_for_seed(place, seed)
    nothing = np.zeros(len(lit), dtype=bool)
    return place.heat.felt_c(place.house_air(lit, None, nothing), lit=lit, tent=_tent_off(place))


def shades_of(place: Place) -> tuple[Cover, ...]:
    """What the grower has to shade with: covers that are not dark, over the bench or its house."""
    on_bench = (c for c in place.bench.covers if c.where == "bench")
    return tuple(c for c in (*on_bench, *place.house_covers) if not c.dark)


def dark_covers_of(place: Place) -> tuple[Cover, ...]:
    return tuple(c for c in place.bench.covers if c.dark and c.where == "bench")


def shaded_medium_c(place: Place, seed: Seed, shade: Cover) -> Array:
    """Open, under a shade while the crew is there; a cover known as a range at its bright end."""
    lit, passes = lit_for_seed(place, seed), shade.transmittance[1]
    drawn = within(place.minute, place.crew[0], place.crew[1] - LAST_ROUND_MIN)
    if shade.where != "bench":
        air = place.house_air(lit, shade, drawn)
        sun = np.where(drawn, passes, 1.0)
        return place.heat.felt_c(air, lit=lit, tent=_tent_off(place), sun_factor=sun)
    return place.heat.felt_c(
        place.house_air(lit, None, drawn),
        lit=lit,
        tent=_tent_off(place),
        passes=np.where(drawn, passes, 1.0),
        absorbs=np.where(drawn, absorbed(shade, passes), 0.0),
        r_m2k_w=np.where(drawn, shade.r_m2k_w, 0.0),
        airy=np.where(drawn & is_airy(shade), 1.0, 0.0),
    )


def inverted_medium_c(
    place: Place, schedule: Schedule, cover: Cover, *, over_house: Cover | None = None
) -> Array:
    """Dark under a closed tent and the cover by day, open and lit by night.

    over_house : drawn over the whole house for as long as the bench is dark.
    """
    covered, lit = schedule.covered(place.minute), schedule.lit(place.minute)
    return _covered_medium_c(place, covered, lit, cover, _tent_off(place), over_house)


def left_covered_c(place: Place, span: Span, cover: Cover) -> tuple[Array, Array]:
    """House air and medium were the cover to lie from one clock time to another, lamps off."""
    lit = np.zeros(len(place.minute), dtype=bool)
    covered = within(place.minute, *span)
    medium = _covered_medium_c(place, covered, lit, cover, _tent_off(place))
    return place.house_air(lit, None, lit), medium


def _covered_medium_c(
    place: Place, covered: Mask, lit: Mask, cover: Cover, opened: Tent, over_house: Cover | None = None
) -> Array:
    passes = cover.transmittance[1]
    assert not (covered & lit).any(), "lamps never burn under insulation"
    drawn = covered if over_house is not None else np.zeros(len(lit), dtype=bool)
    return place.heat.felt_c(
        place.house_air(lit, over_house, drawn),
        lit=lit,
        sun_factor=1.0 if over_house is None else np.where(drawn, over_house.transmittance[1], 1.0),
        tent=np.where(covered, Tent.CLOSED, opened),
        passes=np.where(covered, passes, 1.0),
        absorbs=np.where(covered, absorbed(cover, passes), 0.0),
        r_m2k_w=np.where(covered, cover.r_m2k_w, 0.0),
        airy=np.where(covered & is_airy(cover), 1.0, 0.0),
    )


def down_to_step(minutes: float) -> int:
    return int(minutes // STEP_MIN * STEP_MIN)


def up_to_step(minutes: float) -> int:
    return int(-(-minutes // STEP_MIN) * STEP_MIN)
