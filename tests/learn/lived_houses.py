"""Houses that live day by day, in plain words of their own: nothing here asks how the fit writes a house.

What befalls a house is what lightplan/learn says it takes for possible (DEVELOPERS.md): the site file is off,
dust gathers at a rate and by chance until a wash, glazing ages, a bench differs from its house, a meter errs
the same way each time, a clear sky is brighter than the model's. Values are written here again, by hand.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from datetime import date, datetime, time, timedelta

import numpy as np

from lightplan.learn.kinds import LightReading
from lightplan.learn.light_fit import LightFound
from lightplan.learn.light_terms import HeldReading
from lightplan.site.models import Site
from tests.learn.invented import FIRST, fitted

Noise = Callable[[np.random.Generator], float]  # of standard deviation 1


def lived_house(chance: np.random.Generator, days: int, wash: int | None) -> list[float]:
    """The true log factor of a glasshouse on each day from its first reading on."""
    level, ageing = 0.12 * chance.standard_normal(), 0.02 * chance.standard_normal()
    more_dirt = 0.05 * chance.standard_normal()  # beside the site file's, at its fullest half a year on
    soil, rate = 0.0, 0.10 / 120 * chance.standard_normal()
    found = []
    for day in range(days + 1):
        if day == wash:
            soil, rate = 0.0, 0.10 / 120 * chance.standard_normal()
        elif day:
            soil += rate + 0.02 / math.sqrt(14) * chance.standard_normal()
        full = 1.0 if wash is None or day < wash else min((day - wash) / 180, 1.0)
        known = 0.0 if wash is None else more_dirt * full  # of a house never washed it is part of its level
        found.append(level + known + ageing * day / 365.25 + soil)
    return found


def lived_case(
    site: Site, seed: int, noise: Noise, *, tell_the_wash: bool = True
) -> tuple[LightFound, float, bool]:
    """What is found of a house read by hand some times, its true log factor on the last day, and whether it
    was washed. tell_the_wash False: a fit that knows of none."""
    chance = np.random.default_rng(10_000 + seed)
    read = sorted(int(n) for n in chance.integers(0, 150, size=int(chance.integers(3, 14))))
    read = [day - read[0] for day in read]
    today = read[-1] + int(chance.integers(0, 30))
    wash = int(chance.integers(1, max(today, 2))) if chance.random() < 0.5 else None
    truth = lived_house(chance, today, wash)
    benches = [b.id for b in site.benches if b.house == "glass"][:2]
    of_place = {bench: 0.05 * chance.standard_normal() for bench in (*benches, None)}
    meter, sky = 0.05 * chance.standard_normal(), 0.045 + 0.03 * chance.standard_normal()
    held = []
    for number, day in enumerate(read):
        bench = [*benches, None][int(chance.integers(len(benches) + 1))]
        spots, alone = int(chance.choice([1, 3, 5])), bool(chance.random() < 0.3)
        log = truth[day] + of_place[bench]
        log += 0.08 / math.sqrt(spots) * noise(chance) + 0.05 * noise(chance)
        if alone:
            log += meter + sky + 0.05 * noise(chance)
        at = datetime.combine(FIRST + timedelta(days=day), time(12), site.timezone)
        inside = 900 * 0.6 * math.exp(log)
        outside = None if alone else 900.0
        kept = LightReading(number, at, "glass", bench, inside, outside, spots, "hand", 0.05)
        held.append(HeldReading(kept, 0.6, 900.0))
    washes: dict[str, tuple[date, ...]] = {}
    if wash is not None and tell_the_wash:
        washes = {"glass": (FIRST + timedelta(days=wash),)}
    return fitted(site, held, FIRST + timedelta(days=today), washes=washes), truth[today], wash is not None


def even(chance: np.random.Generator) -> float:
    return float(chance.standard_normal())


def rough(chance: np.random.Generator) -> float:
    """Heavier in its tails than the fit takes for granted (Student, four degrees), of the same spread."""
    return float(chance.standard_t(4)) / math.sqrt(2)


def slipped(chance: np.random.Generator) -> float:
    """One look in thirty is a slip: the meter in a bar's shadow, or a cloud between the two looks."""
    return even(chance) + (float(chance.choice([-8.0, 8.0])) if chance.random() < 1 / 30 else 0.0)
