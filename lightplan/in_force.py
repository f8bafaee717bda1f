"""What of a calibration still holds: a factor is on what the site file said then, and on nothing else."""

from __future__ import annotations

import hashlib
from dataclasses import replace

from lightplan.house.kept import GEOMETRY, GLAZINGS, OF_GLAZING
from lightplan.learn.calibration import CHANGED, Calibration, Factor, HeatFound, HouseFound
from lightplan.site.models import Bench, House, Site

OF_LIGHT = (*GEOMETRY, "frame_loss", "bars", "dirt_loss")
OF_HEAT = (*GEOMETRY, "venting", "air_changes_closed", "air_changes_open")
SAME_PPFD = 0.005  # µmol: what rounding in the records may move


def light_basis(house: House) -> str:
    """Names all of the site file that a house's light factor is on; what changes by itself is not in it."""
    parts = [repr(getattr(house, name)) for name in OF_LIGHT]
    parts += [repr([getattr(getattr(house, name), part) for part in OF_GLAZING]) for name in GLAZINGS]
    return _name([*parts, repr(sorted(house.opaque))])


def reading_basis(house: House, bench: Bench | None) -> str:
    """Names all that the model's share at a reading is reckoned from, its house as it was washed that day."""
    place = () if bench is None else (bench.place, bench.height_m, bench.tent, bench.tent_height_m)
    of_day = repr((house.washed, house.overhead, house.shade))
    return _name([light_basis(house), of_day, repr(place)])


def heat_basis(house: House) -> str:
    """The same of its heat factors."""
    parts = [repr(getattr(house, name)) for name in OF_HEAT]
    parts += [repr(getattr(house, name).u_w_m2k) for name in GLAZINGS]
    return _name([*parts, repr(sorted(house.opaque))])


def _name(parts: list[str]) -> str:
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()[:12]


def in_force(site: Site, found: Calibration) -> Calibration:
    """The calibration with every factor out of use whose house or lamps the site file tells otherwise now.

    site : as its file says. Whoever corrects the file by what was measured would else have it twice.
    """
    houses = {h.id: h for h in site.houses}
    ppfd = {b.id: b.lamps.ppfd_umol_m2_s for b in site.benches if b.lamps is not None}
    then = dict(found.lamp_ppfd)

    def light(one: HouseFound) -> HouseFound:
        same = one.id not in houses or one.basis in (None, light_basis(houses[one.id]))
        return one if same else replace(one, factor=_out(one.factor))

    def heat(one: HeatFound) -> HeatFound:
        same = one.id not in houses or one.basis in (None, heat_basis(houses[one.id]))
        return one if same else replace(one, loss=_out(one.loss), air=_out(one.air))

    def lamps(bench: str, factor: Factor) -> Factor:
        moved = abs(ppfd.get(bench, 0.0) - then.get(bench, ppfd.get(bench, 0.0)))
        return factor if moved <= SAME_PPFD else _out(factor)

    return replace(
        found,
        houses=tuple(light(one) for one in found.houses),
        heat=tuple(heat(one) for one in found.heat),
        lamps=tuple((bench, lamps(bench, factor)) for bench, factor in found.lamps),
    )


def _out(factor: Factor) -> Factor:
    return replace(factor, used=False, why_not=CHANGED) if factor.used else factor
