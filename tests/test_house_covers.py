"""Covers drawn over a whole house: at the right end of their range, and only where they help."""

from __future__ import annotations

from tests.invented_range import bench, of, orders
from tests.test_covers_and_lamps import lamps, over_house

OWN = "[crop.petunia.seedling]\nminimum = 14\ntarget = 15\nlimit_ppfd = 500\n"


def drawn(plan) -> float:
    """Hours that a cover lies over the house."""
    on, off = orders(plan, "cover"), orders(plan, "uncover")
    if not on:
        return 0.0
    minutes = [int(o["time"][11:13]) * 60 + int(o["time"][14:16]) for o in (on[0], off[0])]
    return (minutes[1] - minutes[0]) / 60


def test_a_house_cover_is_planned_at_its_bright_end_for_the_limit_and_its_dark_end_for_the_minimum(range_):
    """One that may pass all of the light spares the plants nothing; one that may pass next to none of it
    lies for as long only as the minimum allows."""
    plans = {
        ends: range_(OWN + bench("a", ""), house=over_house("true", ends), sun=550.0)()
        for ends in ("[0.4, 1.0]", "[0.02, 0.6]", "[0.5, 0.5]")
    }
    assert drawn(plans["[0.4, 1.0]"]) == 0
    assert 1 <= drawn(plans["[0.02, 0.6]"]) < drawn(plans["[0.5, 0.5]"])
    for plan in plans.values():
        assert of(plan, "a")["dli"]["low"] >= 14
        assert bool(orders(plan, "leave-alone")) is (drawn(plan) == 0)


def test_a_house_cover_that_adds_nothing_to_what_is_done_at_the_benches_is_not_drawn(range_):
    """Hands go at three: the cloth holds the limit while it lies, nothing that comes off then does more."""
    house = over_house("true", "[0.4, 0.45]")
    kept = {"sun": 650.0, "site": 'crew = ["06:30", "15:00"]'}
    own_cloth = range_(bench("a", f'covers = ["shade-cloth-60"]\n{lamps()}'), house=house, **kept)()
    assert [c["cover"] for c in of(own_cloth, "a")["covers"]] == ["shade-cloth-60"]
    nothing = range_(bench("a", lamps()), house=house, **kept)()
    assert [c["cover"] for c in of(nothing, "a")["covers"]] == ["sheet"]
