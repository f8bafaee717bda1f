"""Vents, tents and covers into orders, the times they lie, and what is to be said of them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import UTC

import numpy as np
from numpy.typing import NDArray

from lightplan.advice.certainty import LIKELY
from lightplan.advice.covers import CoverPlan
from lightplan.clock import STEP, STEP_S, Grid, Window
from lightplan.dayplan import Action, BenchDay, Certainty, CoverTime, Note, Order, Reason, Sign
from lightplan.heat.bench_body import IN_TRAYS
from lightplan.laid import TENTS
from lightplan.new_order import Where, at_bench, certainty, new_order
from lightplan.records_covers import SHORT_DAY
from lightplan.records_laid import Laid
from lightplan.remedies import HouseDone, Remedies
from lightplan.site.models import Site
from lightplan.standing import Lying, NightCover, Standing

Array = NDArray[np.float64]

MOVE_OVER_MIN = 60.0  # weighed minutes over what kills, left by all else: trays are moved; judgement

SIGN_STEP = 10.0  # µmol m⁻² s⁻¹: as a meter is read

RULES = {"heat-kills": "temperature-limit", "heat": "temperature-limit", "light": "ppfd-limit"}
OVER = Reason("hot-hours-over")
THERE_ALREADY = Reason("already-set")
DAY_H = 24.0


def house_orders(
    houses: Mapping[str, HouseDone], site: Site, grid: Grid, window: Window | None
) -> tuple[Order, ...]:
    """For a house as a whole: its vents stand open from one moment to another, a cover is drawn over it."""
    found: list[Order] = []
    for house_id, done in houses.items():
        if done.vents is not None:
            why = Reason("vent-limit", done.vents.shut_c, site.house(house_id).vent_at_c, "c")
            on, off = grid.moment(done.vents.on), grid.moment(done.vents.off)
            found.append(new_order((house_id, None), on, Action.VENT, why, until=off))
        if done.cover is not None:
            found += _of_lying((house_id, None), done.cover, None)
        if window is not None:
            found += _by_night((house_id, None), done.night, done.left, window)
    return tuple(found)


def remedy_orders(day: BenchDay, standing: Standing, window: Window) -> list[Order]:
    """What hands do at a bench: open and close its tent, lay covers on and take them off, move its trays."""
    found: list[Order] = []
    night = standing.night
    goes_on = next((one for one in standing.lying if night and _goes_on(one, night)), None)
    for lying in standing.lying:
        lies = replace(lying, off=night.off) if night is not None and lying is goes_on else lying
        found += _of_lying(at_bench(day), lies, window)
    found.sort(key=lambda order: order.action is Action.CLOSE_TENT)  # after what lies on it is off
    plan = standing.plan
    in_trays = any(b.batch.stage in IN_TRAYS for b in day.batches)
    if plan is not None and plan.kills > MOVE_OVER_MIN and plan.odds >= LIKELY and in_trays:
        at = min((one.on for one in standing.lying if one.plan is not None), default=window.start)
        found.append(new_order(at_bench(day), at, Action.MOVE, why_of(plan), odds=plan.odds))
    own = [each for each in standing.left if not each.over_house]
    tonight = None if night is None or goes_on is not None or night.over_house else night
    return [*found, *_by_night(at_bench(day), tonight, own, window)]


def _goes_on(lying: Lying, night: NightCover) -> bool:
    """Laid on against heat or light, and it is to come off just when it is to go on for the night."""
    return not lying.is_over and lying.what == night.cover.name and lying.off == night.on


def _by_night(
    place: Where, night: NightCover | None, last: Iterable[NightCover], window: Window
) -> Iterator[Order]:
    """Dark covers that make a short day: off what lay by night, on what is to lie tonight."""
    for left in (each for each in last if not each.is_off and each.off < window.end):
        done = Reason("dark-done", left.dark_h, DAY_H - left.wanted_h, "h")
        yield new_order(place, left.off, Action.UNCOVER, done, subject=left.cover.name)
    if night is not None:
        why, name = _short_day(night), night.cover.name
        yield new_order(place, night.on, Action.COVER, why, until=night.off, subject=name)


def _short_day(night: NightCover) -> Reason:
    return Reason(SHORT_DAY, night.day_h, night.wanted_h, "h")


def _of_lying(where: Where, lying: Lying, window: Window | None) -> Iterator[Order]:
    """On, where it is ordered now; off, where the hands of this window take it off."""
    if lying.is_over:
        return
    is_tent = lying.what in TENTS
    subject = lying.what.removeprefix("tent-") if is_tent else lying.what
    if lying.plan is not None:
        action = Action.OPEN_TENT if is_tent else Action.COVER
        yield new_order(
            where,
            lying.on,
            action,
            why_of(lying.plan),
            until=lying.off,
            odds=lying.plan.odds,
            subject=subject,
            sign=sign_of(lying),
        )
    if window is None or lying.off < window.end:
        action = Action.CLOSE_TENT if is_tent else Action.UNCOVER
        odds = lying.plan.odds if lying.plan else None
        yield new_order(where, lying.off, action, OVER, odds=odds, subject=None if is_tent else subject)


def sign_of(lying: Lying) -> Sign | None:
    """What to look for where the order hangs on the sky."""
    plan = lying.plan
    if plan is None or plan.sign_ppfd is None or certainty(plan.odds) is Certainty.SURE:
        return None
    by = lying.on.astimezone(UTC) + (plan.sign_at - plan.on) * STEP
    return Sign(by.astimezone(lying.on.tzinfo), SIGN_STEP * math.floor(plan.sign_ppfd / SIGN_STEP))


def cover_times(standing: Standing) -> tuple[CoverTime, ...]:
    """Covers over a bench, its own and its house's, with the true moment from which they lie."""
    each = [one for one in standing.lying if one.what not in TENTS]
    each += [standing.over_house] if standing.over_house else []
    found = [
        CoverTime(
            one.what,
            one.on,
            one.off,
            THERE_ALREADY if one.plan is None else why_of(one.plan),
            None if one.plan is None else one.plan.odds,
        )
        for one in each
    ]
    for night in (*standing.left, *((standing.night,) if standing.night else ())):
        found.append(CoverTime(night.cover.name, night.on, night.off, _short_day(night), None))
    return tuple(sorted(found, key=lambda one: one.on))


def cover_notes(standing: Standing, bare_ppfd: Array, today: NDArray[np.bool_]) -> Iterator[Note]:
    """What covers cost on the sheet's day, and what even the best remedy leaves undone."""
    if any(one.what not in TENTS for one in standing.lying) or standing.over_house:
        cost = float((bare_ppfd - standing.sun_ppfd)[today].sum() * STEP_S / 1e6)
        if cost > 0:
            yield Note("cover-costs", (("cost", cost),))
    plan = standing.plan
    if plan is None:
        return
    if plan.under_minimum_mol > 0:
        yield Note("cover-under-minimum", (("short", plan.under_minimum_mol),))
    if plan.unheld > 0 and plan.odds >= LIKELY:
        yield Note("limit-not-held", (("ordered", plan.remedy is not None),))


def why_of(plan: CoverPlan) -> Reason:
    assert plan.rule is not None
    return Reason(RULES[plan.rule], plan.value, plan.limit, plan.unit)


def laid_times(remedies: Remedies) -> dict[str, tuple[Laid, ...]]:
    """What is opened and laid on, by bench, for the records."""
    return {
        bench: tuple(Laid(one.what, one.on, one.off) for one in done.standing.lying)
        for bench, done in remedies.benches.items()
    }
