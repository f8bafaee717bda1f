"""Light readings as sums of terms: the house, a cover over the bench, the lamps, the meter."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from lightplan.learn.dirt import HouseDates, house_terms, house_weights
from lightplan.learn.kinds import LampReading, LightReading
from lightplan.learn.regression import Observed, Term
from lightplan.site.models import Bench, Cover, Site

# Noise of one reading, as log; judgement
SPOT_SD = 0.08  # from place to place on a bench or floor: bars' shadows, neighbours
OCCASION_SD = 0.05  # two looks minutes apart, the meter's tilt, the model's own error by direction
# A clear sky taken for the light outside. Cloudless hours as measured over the Ineichen sky with pvlib's
# turbidity map: 1.02 De Bilt, 1.03 Lyngby, 1.08 Payerne, 1.06 to 1.07 in a service's recordings. So it reads
# low, at one place much the same on all days (all such readings share that), and by haze from day to day
# (judgement).
CLEAR_SKY_LOG, CLEAR_SKY_PLACE_SD, CLEAR_SKY_SD = 0.045, 0.03, 0.05
PLACE_SD = 0.05  # of one bench or floor against what the model makes of it, the same each time; judgement
LOGGER_SD = 0.05  # a day's middle hours of two loggers, beside what the place they hang at does every day

LAMP_SD = 0.15  # what makers and ageing put between site.toml and the tray; judgement
LEAST_COVER_SD = 0.03  # of a cover that a table knows as one number
LEAST_PASSED = 0.005  # log of a share needs one


@dataclass(frozen=True)
class HeldReading:
    """A light reading and the share of the outdoor light that the model gives it. clear_umol : outdoors."""

    reading: LightReading
    share: float
    clear_umol: float
    logger: bool = False


def lamp_term(bench: str) -> str:
    return f"lamps {bench}"


def cover_term(name: str) -> str:
    return f"cover {name}"


def meter_term(reading: LightReading | LampReading) -> str:
    return f"meter {reading.meter}, {reading.sd:.4f}"


CLEAR_SKY = "clear sky"


def place_term(reading: LightReading) -> str:
    return f"place {reading.house}, {reading.bench or 'floor'}"


def covers_of(site: Site) -> tuple[Cover, ...]:
    every = [c for b in site.benches for c in b.covers] + [c for h in site.houses for c in h.covers]
    return tuple({c.name: c for c in every}.values())


def prior_terms(
    site: Site,
    held: Sequence[HeldReading],
    lamps: Sequence[LampReading],
    dates: Mapping[str, HouseDates],
) -> tuple[Term, ...]:
    """All unknowns of a site's light as the tables and the site file leave them."""
    meters = {meter_term(h.reading): h.reading.sd for h in held} | {meter_term(r): r.sd for r in lamps}
    places = {place_term(h.reading) for h in held if not h.logger}
    alone = any(h.reading.outside_umol is None for h in held)
    return (
        *(t for h in site.houses for t in house_terms(h, dates[h.id])),
        *(Term(lamp_term(b.id), 0.0, LAMP_SD) for b in site.benches if b.lamps is not None),
        *(_cover_prior(c) for c in covers_of(site)),
        *(Term(name, 0.0, sd) for name, sd in meters.items()),
        *(Term(name, 0.0, PLACE_SD) for name in sorted(places)),
        *([Term(CLEAR_SKY, CLEAR_SKY_LOG, CLEAR_SKY_PLACE_SD)] if alone else []),
    )


def _cover_prior(cover: Cover) -> Term:
    low, high = (math.log(max(end, LEAST_PASSED)) for end in cover.transmittance)
    return Term(cover_term(cover.name), (low + high) / 2, max((high - low) / 2 / 1.2816, LEAST_COVER_SD))


def spots_sd(spots: int) -> float:
    """Noise of a reading over so many spots."""
    return math.hypot(SPOT_SD / math.sqrt(spots), OCCASION_SD)


def observed_light(held: HeldReading, dates: HouseDates, day: date) -> Observed:
    """log(inside / outside) less the model's own = the house's terms, the place's, a cover's, a meter's."""
    reading = held.reading
    weights = dict(house_weights(reading.house, dates, day))
    noise = LOGGER_SD if held.logger else spots_sd(reading.spots)
    if held.logger:
        weights[meter_term(reading)] = 1.0  # the spot it hangs at, the same every day
    else:
        weights[place_term(reading)] = 1.0
    outside = reading.outside_umol
    if outside is None:
        outside = held.clear_umol
        weights |= {meter_term(reading): 1.0, CLEAR_SKY: 1.0}  # of a pair both cancel
        noise = math.hypot(noise, CLEAR_SKY_SD)
    group = f"house {reading.house}"
    if reading.under is not None:
        weights[cover_term(reading.under)] = 1.0
        group = cover_term(reading.under)
    value = math.log(reading.inside_umol / outside) - math.log(held.share)
    return Observed(reading.number, value, weights, noise, group, day)


def observed_lamps(reading: LampReading, bench: Bench, day: date) -> Observed:
    assert bench.lamps is not None
    weights = {lamp_term(bench.id): 1.0, meter_term(reading): 1.0}
    value = math.log(reading.umol / bench.lamps.ppfd_now_umol_m2_s)
    return Observed(reading.number, value, weights, spots_sd(reading.spots), lamp_term(bench.id), day)
