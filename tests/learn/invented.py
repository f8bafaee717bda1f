"""Invented readings of houses whose true factors are known."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime, time, timedelta
from pathlib import Path

import numpy as np

from lightplan.calibrate import house_dates
from lightplan.learn.kinds import LampReading, LightReading
from lightplan.learn.light_fit import LightFound, fit_light
from lightplan.learn.light_terms import CLEAR_SKY_SD, HeldReading, prior_terms, spots_sd
from lightplan.site.models import Site
from lightplan.site.read import load_site
from tests.conftest import ROOT

OTTERMOSS = ROOT / "sample_sites" / "ottermoss"
FIRST = date(2026, 1, 12)


def invented_site(folder: Path = OTTERMOSS) -> Site:
    return load_site(folder).site


def reading(
    site: Site,
    number: int,
    day: date,
    ratio: float,
    *,
    house: str = "glass",
    share: float = 0.6,
    spots: int = 5,
    under: str | None = None,
    clear: bool = False,
    meter: str = "hand",
    sd: float = 0.05,
) -> HeldReading:
    """A reading that shows `ratio` times what the model gives."""
    at = datetime.combine(day, time(12), site.timezone)
    inside = 900 * share * ratio
    kept = LightReading(number, at, house, None, inside, None if clear else 900.0, spots, meter, sd, under)
    return HeldReading(kept, share, 900.0)


def fitted(
    site: Site,
    held: Sequence[HeldReading],
    today: date,
    *,
    lamps: Sequence[LampReading] = (),
    washes: dict[str, tuple[date, ...]] | None = None,
) -> LightFound:
    read = [(h.reading.house, h.reading.at.date()) for h in held]
    dates = house_dates(site, washes or {}, read, today)
    return fit_light(site, held, lamps, dates=dates, today=today)


def random_case(site: Site, seed: int, *, noise: float = 1.0) -> tuple[LightFound, dict[str, float]]:
    """A site whose truth is drawn from the prior, read a few times by a meter that errs as it is said to.

    noise : how many times as much as the model of a reading takes for granted.
    Gives what was found and the true log factors: houses on the last day, lamps, a cover.
    """
    chance = np.random.default_rng(seed)
    days = sorted(int(n) for n in chance.integers(0, 120, size=int(chance.integers(3, 10))))
    today = FIRST + timedelta(days=max(days) + int(chance.integers(0, 30)))
    washes = (
        {"glass": (FIRST + timedelta(days=int(chance.integers(1, 90))),)} if chance.random() < 0.5 else {}
    )
    houses = [h.id for h in site.houses]
    blank = [
        reading(
            site,
            n,
            FIRST + timedelta(days=d),
            1.0,
            house="glass" if n < 2 else str(chance.choice(houses)),
            spots=int(chance.choice([1, 5])),
            clear=bool(chance.random() < 0.3),
        )
        for n, d in enumerate(days)
    ]
    covered = replace(blank[-1], reading=replace(blank[-1].reading, house="glass", under="wet-paper"))
    blank[-1] = covered
    lamp = LampReading(99, datetime.combine(today, time(22), site.timezone), "plugs", 1.0, 5, "hand", 0.05)
    dates = house_dates(site, washes, [(h.reading.house, h.reading.at.date()) for h in blank], today)
    terms = prior_terms(site, blank, [lamp], dates)
    truth = {t.name: t.mean + t.sd * float(chance.standard_normal()) for t in terms}

    from lightplan.learn.dirt import house_weights
    from lightplan.learn.light_terms import meter_term, observed_light

    seen = []
    for held in blank:
        day = held.reading.at.date()
        weights = observed_light(held, dates[held.reading.house], day).weights
        sd = math.hypot(
            spots_sd(held.reading.spots), CLEAR_SKY_SD if held.reading.outside_umol is None else 0
        )
        log = sum(w * truth[name] for name, w in weights.items()) + noise * sd * chance.standard_normal()
        inside = held.reading.inside_umol * math.exp(log)
        seen.append(replace(held, reading=replace(held.reading, inside_umol=inside)))
    bench = next(b for b in site.benches if b.id == "plugs")
    assert bench.lamps is not None
    of_lamps = truth["lamps plugs"] + truth[meter_term(lamp)]
    of_lamps += noise * spots_sd(5) * chance.standard_normal()
    lamp = replace(lamp, umol=bench.lamps.ppfd_now_umol_m2_s * math.exp(of_lamps))
    found = fit_light(site, seen, [lamp], dates=dates, today=today)
    true = {
        h: sum(w * truth[name] for name, w in house_weights(h, dates[h], today).items())
        for h in {held.reading.house for held in seen}
    }
    return found, {**true, "lamps": truth["lamps plugs"], "cover": truth["cover wet-paper"]}
