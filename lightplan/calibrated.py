"""The one seam where what readings taught enters every command: a site with its measured factors in it."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from lightplan.in_force import in_force
from lightplan.learn.calibration import Calibration, changed_since, from_json
from lightplan.records import RecordsError
from lightplan.records_learned import calibration_in_use
from lightplan.records_readings import readings
from lightplan.site.models import Bench, Cover, House, MeasuredHeat, Site


@dataclass(frozen=True)
class InUse:
    """site : as commands use it. found : the calibration in it, as far as it holds. trouble : why none could
    be read (found None), or what of it holds no more."""

    site: Site
    found: Calibration | None = None
    trouble: str | None = None


def calibrated(site: Site) -> InUse:
    """The site with the calibration in use and the washes on record; as it was where they can't be read."""
    try:
        site = with_washes(site)
        kept = calibration_in_use(site.folder)
    except RecordsError as error:
        return InUse(site, trouble=str(error))
    if kept is None:
        return InUse(site)
    try:
        found = from_json(kept)
    except (LookupError, TypeError, ValueError, json.JSONDecodeError):
        return InUse(site, trouble="The calibration on record can't be read; run lightplan calibrate again.")
    holds = in_force(site, found)
    return InUse(with_found(site, holds), holds, _changed_words(holds))


def _changed_words(found: Calibration) -> str | None:
    houses, benches = changed_since(found)
    names = [f"house {one!r}" for one in houses] + [f"the lamps of bench {one!r}" for one in benches]
    if not names:
        return None
    return (
        f"site.toml tells {', '.join(names)} otherwise than when calibrated on {found.made_on}: what was "
        "measured of them is not used. Run lightplan calibrate again."
    )


def as_calibrated(site: Site, in_use: InUse) -> Site:
    """A site that might be, with the factors of the one that is: both are corrected alike, so that they can
    be told beside each other."""
    try:
        site = with_washes(site)
    except RecordsError:
        return site
    return site if in_use.found is None else with_found(site, in_use.found)


def with_washes(site: Site) -> Site:
    """The site with every house's last wash on record. Raises RecordsError."""
    washed = washes_of(site)
    return replace(site, houses=tuple(_washed(house, washed[house.id]) for house in site.houses))


def washes_of(site: Site) -> dict[str, tuple[date, ...]]:
    """Every house's washes, of the site file and of the records, oldest first. Raises RecordsError."""
    found = {house.id: {house.washed} - {None} for house in site.houses}
    for row in readings(site.folder):
        if row.kind == "washed" and row.house in found:
            found[row.house].add(date.fromisoformat(row.detail["day"]))
    return {house: tuple(sorted(day for day in days if day)) for house, days in found.items()}


def washed_on(house: House, washes: Sequence[date], day: date) -> House:
    """The house as it was on a day, by its washes; soil that a later one took away is not laid on it."""
    found = house.measured
    if found is not None and any(day < wash <= found.until for wash in washes):
        found = replace(found, soil=0.0)
    return replace(house, washed=max((w for w in washes if w <= day), default=None), measured=found)


def site_on(site: Site, day: date) -> Site:
    """The site as its houses were washed on a past day. Raises RecordsError."""
    washes = washes_of(site)
    return replace(site, houses=tuple(washed_on(h, washes[h.id], day) for h in site.houses))


def _washed(house: House, washes: tuple[date, ...]) -> House:
    return replace(house, washed=washes[-1]) if washes else house


def with_found(site: Site, found: Calibration) -> Site:
    """The site with every factor that is known well enough; houses, benches and covers that are no more are
    passed over."""
    light = {h.id: h.measured for h in found.houses if h.factor.used}
    heat = {
        h.id: MeasuredHeat(
            h.loss.middle if h.loss.used else 1.0,
            h.air.middle if h.air.used else 1.0,
            h.uncertainty_k,
        )
        for h in found.heat
        if h.loss.used or h.air.used
    }
    lamps = {bench: factor.middle for bench, factor in found.lamps if factor.used}
    covers = {name: (factor.low, factor.high) for name, factor in found.covers if factor.used}

    def measured(cover: Cover) -> Cover:
        low, high = covers.get(cover.name, cover.transmittance)
        return replace(cover, transmittance=(low, min(high, 1.0)))

    return replace(
        site,
        houses=tuple(
            replace(
                house,
                measured=light.get(house.id),
                measured_heat=heat.get(house.id),
                covers=tuple(measured(c) for c in house.covers),
                shade=tuple(replace(s, cover=measured(s.cover)) for s in house.shade),
            )
            for house in site.houses
        ),
        benches=tuple(
            _brighter(
                replace(bench, covers=tuple(measured(c) for c in bench.covers)), lamps.get(bench.id, 1.0)
            )
            for bench in site.benches
        ),
    )


def _brighter(bench: Bench, factor: float) -> Bench:
    if bench.lamps is None or factor == 1.0:
        return bench
    return replace(bench, lamps=replace(bench.lamps, ppfd_umol_m2_s=bench.lamps.ppfd_umol_m2_s * factor))
