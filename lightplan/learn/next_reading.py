"""Which reading would teach most."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from lightplan.learn.dirt import HouseDates, house_weights
from lightplan.learn.light_terms import PLACE_SD, cover_term, lamp_term, spots_sd
from lightplan.learn.meters import METER_SD
from lightplan.learn.regression import Posterior
from lightplan.site.models import Site

WORTH_IT = 0.0004  # of log variance: narrowing a factor known to ± 3 % no more than by a third; judgement
# What a narrower factor is worth beside a house's, for each of its benches; judgement
LAMPS_WORTH, COVER_WORTH = 0.5, 0.02  # a part of a bench's light; drawn on few days
MANY_SPOTS = 5


@dataclass(frozen=True)
class Candidate:
    """target : the factor it is taken for. weights, sd : of the reading itself. worth : of the factor."""

    words: str
    target: Mapping[str, float]
    weights: Mapping[str, float]
    sd: float
    worth: float


def most_helpful(found: Posterior, candidates: Sequence[Candidate]) -> str | None:
    """The one that narrows what matters most; None where none is worth the walk."""
    gains = [(found.narrowed(c.target, c.weights, c.sd) * c.worth, c.words) for c in candidates]
    gain, words = max(gains, default=(0.0, ""))
    return words if gain >= WORTH_IT else None


def candidates(site: Site, dates: Mapping[str, HouseDates], today: date) -> list[Candidate]:
    """Readings that could be taken next: five spots at noon, lamps after dark, a rough cover."""
    five = spots_sd(MANY_SPOTS)
    found = []
    for house in site.houses:
        weights = house_weights(house.id, dates[house.id], today)
        benches = sum(b.house == house.id for b in site.benches)
        words = f"clear noon, {house.name}, five spots inside and one look outside"
        # on the floor, where nobody may have read yet
        found.append(Candidate(words, weights, weights, math.hypot(five, PLACE_SD), 1.0 * benches))
    for bench in site.benches:
        if bench.lamps is not None:
            weights = {lamp_term(bench.id): 1.0}
            words = f"after dark, lamps of {bench.name}, five spots"
            found.append(Candidate(words, weights, weights, math.hypot(five, METER_SD), LAMPS_WORTH))
        for cover in bench.covers:
            target = {cover_term(cover.name): 1.0}
            weights = {**house_weights(bench.house, dates[bench.house], today), **target}
            words = f"noon, {bench.name} under {cover.name}, five spots and one look outside"
            found.append(Candidate(words, target, weights, five, COVER_WORTH))
    return found
