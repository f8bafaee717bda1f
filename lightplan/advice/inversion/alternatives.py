"""Other ways out: cooler weeks, another bench, a cool room, each with its figures."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from lightplan.advice.inversion.task import Advice, Alternative, Array, Place, Seed, Way
from lightplan.advice.inversion.weeks import (
    ENOUGH_AT_MOST,
    NEEDED_OVER,
    WEEK,
    Unturned,
    days_too_hot,
    hotness,
    way_of,
)
from lightplan.crops.emergence import share_that_comes_up

USUAL_DAYS = 14  # that seed lies where no days to emerge are known; judgement


def days_in_medium(seed: Seed) -> int:
    """Days from sowing to the last emergence."""
    return USUAL_DAYS if seed.days is None else seed.days[1]


def alternatives_for(
    place: Place,
    seed: Seed,
    advice: Advice,
    *,
    kept: Unturned,
    inverted_c: Array,
    shaded_too: Sequence[tuple[str, Array]] = (),
    first: int,
    last: int,
    others: Sequence[tuple[Place, Unturned, bool]],
) -> tuple[Alternative, ...]:
    """first, last : numbers of the first and last date asked about. shaded_too : medium turned round with a
    shade over the whole house besides, by its name. others : benches, and whether they are taken then."""
    if advice is Advice.NOT_NEEDED:
        return ()
    found = []
    # where shade is enough, the first date that needs not even that
    by_itself = (kept.open_c,) if advice is Advice.SHADE else kept.media_c
    cool = _first_cool(place, seed, by_itself, first, NEEDED_OVER)
    if cool is not None and cool[0] > first:
        found.append(_of_way("wait", cool[1], place, sow_number=cool[0]))
    if advice is Advice.TOO_HOT:
        later = _first_cool(place, seed, (inverted_c,), first, ENOUGH_AT_MOST)
        if later is not None:
            found.append(_of_way("invert-later", later[1], place, sow_number=later[0]))
        found += _cool_room(seed)
    ways = [(name, way_of(place, seed, medium, first, last)) for name, medium in shaded_too]
    if ways:
        name, way = min(ways, key=lambda one: hotness(one[1]))
        found.append(replace(_of_way("house-shade", way, place, sow_number=None), cover=name))
    found += _benches(seed, others, first, last)
    return tuple(found)


def first_that_works(place: Place, seed: Seed, medium_c: Array, first: int) -> int | None:
    """Number of the first date from which a sowing is not too hot turned round, until it is up."""
    found = _first_cool(place, seed, (medium_c,), first, ENOUGH_AT_MOST)
    return None if found is None else found[0]


def _first_cool(
    place: Place, seed: Seed, media_c: Sequence[Array], first: int, most: float
) -> tuple[int, Way] | None:
    """The first sowing date whose days to the last emergence are not too hot one way or another.

    most : share of them that may be. Gives the date's number and the coolest way; None: none by the end.
    """
    lies = max(days_in_medium(seed), WEEK)
    sums = [np.concatenate([[0], np.cumsum(days_too_hot(place, seed, medium))]) for medium in media_c]
    for start in range(first, len(place.dates) - lies + 1):
        if any((over[start + lies] - over[start]) / lies <= most for over in sums):
            ways = (way_of(place, seed, medium, start, start + lies - 1) for medium in media_c)
            return start, min(ways, key=hotness)
    return None


def _of_way(kind: str, way: Way, place: Place, *, sow_number: int | None, busy: bool = False) -> Alternative:
    return Alternative(
        kind=kind,
        sow=None if sow_number is None else place.dates[sow_number],
        bench=place.bench.id,
        house=place.bench.house,
        peak_c=way.peak_c,
        hours_over=way.hours_over,
        days_over=way.days_over,
        days=way.days,
        comes_up=None if way.comes_up is None else way.comes_up[0],
        busy=busy,
    )


def _benches(
    seed: Seed, others: Sequence[tuple[Place, Unturned, bool]], first: int, last: int
) -> Iterator[Alternative]:
    """Other benches over the same dates, each open or under its best shade, coolest first."""
    found = []
    for place, kept, busy in others:
        way = min((way_of(place, seed, medium, first, last) for medium in kept.media_c), key=hotness)
        found.append((hotness(way), _of_way("other-bench", way, place, sow_number=None, busy=busy)))
    yield from (alternative for _, alternative in sorted(found, key=lambda one: one[0]))


def _cool_room(seed: Seed) -> Iterator[Alternative]:
    """A room held in the middle of what the seed likes best."""
    if seed.optimum_c is None:
        return
    kept_at = sum(seed.optimum_c) / 2
    yield Alternative(
        "cool-room",
        peak_c=kept_at,
        hours_over=0.0,
        days_over=0,
        days=days_in_medium(seed),
        comes_up=share_that_comes_up(seed.crop, kept_at),
    )
