"""Light readings and what the model says of them → factors on houses, lamps and covers, all in one fit."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from lightplan.house.losses import DAYS_PER_YEAR
from lightplan.learn.calibration import Factor, HouseFound, KeptOut
from lightplan.learn.dirt import HouseDates, ageing, dirt, house_weights, level, soil_weights
from lightplan.learn.kinds import LampReading
from lightplan.learn.light_terms import (
    LAMP_SD,
    HeldReading,
    cover_term,
    covers_of,
    lamp_term,
    observed_lamps,
    observed_light,
    prior_terms,
)
from lightplan.learn.next_reading import candidates, most_helpful
from lightplan.learn.regression import Z90, Observed, Posterior, Term, evidence, posterior
from lightplan.site.models import Measured, Site

# What must be known before a factor is used; judgement
HOUSE_KNOWN_SD = 0.10
COVER_KNOWN_SD = 0.15
FEWEST_READINGS = 2
# a house is dim when it has likely lost over 8 %, and 9 times in 10 over 5 %; judgement
DIM_SHARE, DIM_AT_LEAST, DIM_SURE_SD = 0.08, 0.05, 1.2816
FEWEST_TO_JUMP = 2  # readings before it and after it
JUMP_FAR_LIKELIER = 5.0  # in log: 150 to 1; judgement


@dataclass(frozen=True)
class LightFound:
    posterior: Posterior
    houses: tuple[HouseFound, ...]
    lamps: tuple[tuple[str, Factor], ...]
    covers: tuple[tuple[str, Factor], ...]
    outliers: tuple[KeptOut, ...]
    next_reading: str | None


def fit_light(
    site: Site,
    held: Sequence[HeldReading],
    lamps: Sequence[LampReading],
    *,
    dates: Mapping[str, HouseDates],
    today: date,
) -> LightFound:
    """All light factors of a site from its readings. dates : of every house, washes with them."""
    bare = [h for h in held if h.reading.under is None]
    dates = {
        house.id: replace(
            dates[house.id],
            jump=_jump(site, [h for h in bare if h.reading.house == house.id], dates[house.id]),
        )
        for house in site.houses
    }
    found, none = _fitted(site, held, lamps, dates)
    return LightFound(
        posterior=found,
        houses=tuple(_house(h.id, site, found, none, dates[h.id], today) for h in site.houses),
        lamps=tuple(
            (b.id, _factor(found, none, {lamp_term(b.id): 1.0}, _count(found, lamp_term(b.id)), LAMP_SD, 1))
            for b in site.benches
            if b.lamps is not None
        ),
        covers=tuple(
            (c.name, _factor(found, none, {cover_term(c.name): 1.0}, n, COVER_KNOWN_SD, 1))
            for c in covers_of(site)
            if (n := _count(found, cover_term(c.name)))
        ),
        outliers=tuple(_kept_out(found, o) for o in found.outliers),
        next_reading=most_helpful(found, candidates(site, dates, today)),
    )


def _fitted(
    site: Site,
    held: Sequence[HeldReading],
    lamps: Sequence[LampReading],
    dates: Mapping[str, HouseDates],
) -> tuple[Posterior, Posterior]:
    """With the readings and without."""
    prior = prior_terms(site, held, lamps, dates)
    benches = {b.id: b for b in site.benches}
    observed = [
        *(
            observed_light(h, dates[h.reading.house], h.reading.at.astimezone(site.timezone).date())
            for h in held
        ),
        *(observed_lamps(r, benches[r.bench], r.at.astimezone(site.timezone).date()) for r in lamps),
    ]
    return posterior(prior, observed), posterior(prior, [])


def _jump(site: Site, own: Sequence[HeldReading], dates: HouseDates) -> date | None:
    """The day from which on a house's light was something else at once: the likeliest, if far likelier
    than none. One reading that fits neither before nor after makes no jump, it is an outlier.

    own : readings of the house that no cover lay over.
    """
    days = [h.reading.at.astimezone(site.timezone).date() for h in own]
    clean = dates.clean_at(dates.until)

    def told(by: HouseDates, of: Sequence[tuple[HeldReading, date]]) -> tuple[list[Term], list[Observed]]:
        readings = [h for h, _ in of]
        prior = prior_terms(site, readings, (), dict.fromkeys((h.id for h in site.houses), by))
        return list(prior), [observed_light(h, by, day) for h, day in of]

    def gain(day: date) -> float:
        """How much likelier, in log, over all readings but those that stand out even so."""
        jumped, every = replace(dates, jump=day), list(zip(own, days, strict=True))
        out = {(o.number, o.day) for o in posterior(*told(jumped, every)).outliers}
        kept = [(h, d) for h, d in every if (h.reading.number, d) not in out]
        if not enough(day, [d for _, d in kept]):
            return -math.inf
        return evidence(*told(jumped, kept)) - evidence(*told(dates, kept))

    def enough(day: date, read: Sequence[date]) -> bool:
        after, before = sum(d >= day for d in read), sum(clean <= d < day for d in read)
        return min(after, before) >= FEWEST_TO_JUMP

    tried = [day for day in sorted(set(days)) if enough(day, days)]
    best, day = max(((gain(day), day) for day in tried), default=(-math.inf, None))
    return day if best > JUMP_FAR_LIKELIER else None


def _count(found: Posterior, name: str) -> int:
    return sum(name in o.weights for o in found.kept)


def _factor(
    found: Posterior,
    none: Posterior,
    weights: Mapping[str, float],
    readings: int,
    known_sd: float,
    fewest: int = FEWEST_READINGS,
) -> Factor:
    """exp of a sum of terms; whether enough is known to use it, and if not what is missing."""
    mean, sd = found.of(weights)
    before, before_sd = none.of(weights)
    doubted = sorted(o.number for o in found.doubted if set(o.weights) & set(weights))
    why_not = None
    if readings == 0:
        why_not = "no reading yet"
    elif doubted:
        numbers = " and ".join(str(n) for n in doubted)
        one = "reading" if len(doubted) == 1 else "readings"
        why_not = f"{one} {numbers} cannot be squared with the rest; one more will tell"
    elif readings < fewest:
        why_not = f"{readings} reading, {fewest} are the least"
    elif sd > known_sd:
        why_not = f"known to ±{Z90 * sd:.0%} only"
    return Factor(
        middle=math.exp(mean),
        low=math.exp(mean - Z90 * sd),
        high=math.exp(mean + Z90 * sd),
        prior_low=math.exp(before - Z90 * before_sd),
        prior_high=math.exp(before + Z90 * before_sd),
        readings=readings,
        used=why_not is None,
        why_not=why_not,
    )


def _house(
    house: str, site: Site, found: Posterior, none: Posterior, dates: HouseDates, today: date
) -> HouseFound:
    own = [o for o in found.kept if level(house) in o.weights]
    last = max((o.day for o in own if o.day is not None), default=None)
    mean = {name: found.of({name: 1.0})[0] for name in (level(house), dirt(house), ageing(house))}
    dim, is_dim = _dim(house, site, found, dates, today)
    return HouseFound(
        id=house,
        factor=_factor(found, none, house_weights(house, dates, today), len(own), HOUSE_KNOWN_SD),
        measured=Measured(
            level=mean[level(house)],
            dirt=mean[dirt(house)],
            per_year=mean[ageing(house)],
            soil=found.of(soil_weights(house, dates, today))[0],
            since=dates.since,
            until=today,
        ),
        dim=dim if len(own) >= FEWEST_READINGS else None,
        is_dim=is_dim and len(own) >= FEWEST_READINGS,
        last_reading=last,
        jump=dates.jump,
    )


def _dim(
    house: str, site: Site, found: Posterior, dates: HouseDates, today: date
) -> tuple[tuple[float, float, float], bool]:
    """Share of its light that a house has lost since it was last clean, or since its first reading."""
    now = house_weights(house, dates, today)
    share = soil_weights(house, dates, today)
    share[ageing(house)] = (today - max(dates.clean_at(today), dates.since)).days / DAYS_PER_YEAR
    reckoned = 0.0
    if dates.washed_before(today) is not None:
        share[dirt(house)] = now[dirt(house)]
        reckoned = math.log(1 - site.house(house).dirt_loss * now[dirt(house)])
    mean, sd = found.of(share)
    lost = [1 - math.exp(reckoned + mean + z * sd) for z in (0.0, Z90, -Z90)]
    surely = 1 - math.exp(reckoned + mean + DIM_SURE_SD * sd)
    return (lost[0], lost[1], lost[2]), lost[0] > DIM_SHARE and surely > DIM_AT_LEAST


def _kept_out(found: Posterior, out: Observed) -> KeptOut:
    expected, _ = found.of(out.weights)
    off = math.exp(out.value - expected) - 1
    when = "" if out.day is None else f" on {out.day}"
    return KeptOut(
        out.number, f"{100 * abs(off):.0f} % {'above' if off > 0 else 'below'} what the others say{when}"
    )
