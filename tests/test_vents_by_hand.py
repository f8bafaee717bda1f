"""Vents worked by hand: when they are left open over a night, and what that makes of the air."""

from __future__ import annotations

import pytest

from tests.invented_range import SATURDAY, bench, clock, of, orders

SHORT_DAY = 'crew = ["06:30", "11:00"]'
GROWN = bench("a", "", sown="2026-04-01")


def night_of(c: float):
    return lambda hour: 20.0 if 8 <= hour < 20 else c


def vented(plan) -> tuple[str, str]:
    (order,) = orders(plan, "vent")
    return clock(order["time"]), order["until"][8:16]


@pytest.mark.parametrize(
    ("sun", "night_c", "house", "left_open"),
    [
        (350.0, 12.0, "", True),  # 33 °C with vents shut, a mild night: 10 K under the heating at most
        (350.0, 3.0, "", False),  # a cold one, and nothing dies of 33 °C
        (800.0, 2.0, "", True),  # 50 °C with vents shut kills, and the heating holds the house against them
        (800.0, 2.0, "can_heat_kw = 5", False),  # this one does not
    ],
)
def test_vents_are_left_open_where_the_night_allows_it(range_, sun, night_c, house, left_open):
    plan = range_(GROWN, site=SHORT_DAY, vents_by="hand", sun=sun, air_c=night_of(night_c), house=house)()
    _, until = vented(plan)
    assert until == (f"{SATURDAY[-2:]}T06:30" if left_open else "24T11:00")
    low = plan["houses"][0]["temperature_c"]["min"]
    assert low == pytest.approx(14, abs=0.01) or house


def test_vents_are_shut_as_the_hands_go_when_little_heat_is_still_to_come(range_):
    """From 17:00 the shut house passes 28 °C for less than two hours: no vents stay open for that."""
    site = 'crew = ["06:30", "17:00"]'
    plan = range_(GROWN, site=site, vents_by="hand", sun=800.0, air_c=night_of(12.0))()
    assert vented(plan)[1] == "24T17:00"
    after = of(plan, "a")["temperature_c"]["peak_after"]
    assert 28 < max(plan["steps"]["a"]["temperature_c"][17 * 4 : 19 * 4]) < 30 < after + 2


def test_vents_left_open_stay_open_and_do_not_follow_the_air(range_):
    """From 11:00 nobody moves them: by evening the air is nearer to outdoors than with automatic ones."""
    evening = slice(17 * 4, 19 * 4)
    kept = {"site": SHORT_DAY, "sun": 800.0, "air_c": night_of(12.0)}
    by_hand, automatic = (range_(GROWN, vents_by=by, **kept)() for by in ("hand", "automatic"))
    assert vented(by_hand)[1].endswith("06:30")
    put_open, following = (p["steps"]["a"]["temperature_c"][evening] for p in (by_hand, automatic))
    assert all(20 < a < b for a, b in zip(put_open, following, strict=True))
    assert following[0] - put_open[0] > 1.5
    # while hands are there both are opened as far as needed
    morning = slice(9 * 4, 11 * 4)
    a, b = (p["steps"]["a"]["temperature_c"][morning] for p in (by_hand, automatic))
    assert a == pytest.approx(b, abs=0.7)
