"""A house's light as a sum of terms: what each weighs on a day, by hand."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from lightplan.learn.dirt import HouseDates, ageing, dirt, house_weights, jump, level, rate, soil_weights
from tests.learn.invented import FIRST, fitted, invented_site, reading

WASH = date(2026, 3, 1)
UNTIL = date(2027, 2, 1)
DATES = HouseDates((WASH,), FIRST, UNTIL)


def test_what_weighs_on_a_day_after_a_wash():
    """45 days on: a quarter of half a year's dirt, 45/120 of the rate, three steps and a bit of one."""
    day = WASH + timedelta(days=45)
    weights = dict(house_weights("glass", DATES, day))
    assert weights.pop(level("glass")) == 1.0
    assert weights.pop(ageing("glass")) == pytest.approx((day - FIRST).days / 365.25)
    assert weights.pop(dirt("glass")) == pytest.approx(45 / 180)
    assert weights.pop(rate("glass", WASH)) == pytest.approx(45 / 120)
    assert sorted(weights.values()) == pytest.approx([3 / 14, 1, 1, 1])
    assert all(str(WASH) in name for name in weights)  # none of the soil before it


def test_soil_stands_still_after_a_year():
    year, more = (soil_weights("glass", DATES, WASH + timedelta(days=n)) for n in (365, 500))
    assert year == more


def test_a_jump_is_gone_with_the_next_wash():
    jumped = HouseDates((WASH,), FIRST, UNTIL, jump=FIRST + timedelta(days=10))
    assert jump("glass") not in soil_weights("glass", jumped, FIRST + timedelta(days=9))
    assert soil_weights("glass", jumped, FIRST + timedelta(days=10))[jump("glass")] == 1.0
    assert jump("glass") not in soil_weights("glass", jumped, WASH)


def test_what_is_lost_since_a_wash_counts_the_site_files_own_dirt():
    """Read as reckoned all along, half a year after a wash: what is lost is `dirt_loss`, 8 % of the light."""
    site = invented_site()
    assert site.house("glass").dirt_loss == 0.08
    wash = FIRST
    held = [reading(site, n, wash + timedelta(days=6 * n), 1.0) for n in range(31)]
    found = fitted(site, held, wash + timedelta(days=180), washes={"glass": (wash,)})
    glass = next(h for h in found.houses if h.id == "glass")
    assert glass.dim is not None
    assert glass.dim[0] == pytest.approx(0.08, abs=0.01)
