"""What stands in a turned bench's way: each said where it holds, with its figures, and nowhere else."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from lightplan.advice.inversion import plan_inversion
from lightplan.advice.inversion.task import remark
from lightplan.inversion_plan import heated_for_seed, usual_crew
from lightplan.report.inversion_words import CALENDAR, CONFLICTS, calendar_words, conflict_words
from lightplan.report.units import Units
from lightplan.site.models import Batch, Stage
from tests.inversion.hot_site import START, air_of, dark_bench, hot_site, place_of, seed, sun_of

UNITS = Units(us=False, foot_candles=False)
DAYS = 40


def plan_of(site=None, bench=None, *, crop="petunia", wanted=(6.0, 10.0), first=1, last=7, **more):
    here = place_of(bench or dark_bench(), air_c=air_of(DAYS, 23, 5), sun_ppfd=sun_of(DAYS, 800.0))
    return plan_inversion(
        site or hot_site(), here, seed(crop, bench), first=first, last=last, wanted_mol=wanted, **more
    )


def told(plan, slug: str) -> list[dict]:
    return [dict(one.values) for one in plan.conflicts if one.slug == slug]


def powered(**changes):
    site = hot_site()
    return replace(site, power=replace(site.power, **changes))


def with_bench(number: int, **changes):
    site = hot_site()
    benches = list(site.benches)
    benches[number] = replace(benches[number], **changes)
    return replace(site, benches=tuple(benches))


@pytest.mark.parametrize(
    ("capacity_kw", "said"),
    [(12.0, None), (5.4, "shared-capacity"), (5.0, "over-capacity")],
)
def test_the_breaker(capacity_kw, said):
    """0.8 × (capacity − 4) kW for lamps: 6.4, 1.12, 0.8; its own draw 0.9, with the shed's 0.3 it is 1.2."""
    plan = plan_of(powered(capacity_kw=capacity_kw))
    for slug in ("shared-capacity", "over-capacity"):
        assert len(told(plan, slug)) == (slug == said)
    if said == "shared-capacity":
        assert told(plan, said)[0]["beside"] == pytest.approx(0.3)


def test_night_light_is_told_for_short_day_crops_under_the_same_roof_while_it_lasts():
    assert [one["crop"] for one in told(plan_of(), "night-light")] == ["cosmos_sulphureus"]
    (pots,) = hot_site().benches[1].batches
    long_day = replace(pots, crop="snapdragon")
    gone = replace(pots, from_date=START - timedelta(60), to_date=START)
    for changed in ({"house": "shed"}, {"batches": (long_day,)}, {"batches": (gone,)}):
        assert told(plan_of(with_bench(1, **changed)), "night-light") == []


def test_batches_that_are_there_on_those_dates():
    """Sown 2 to 8 June, petunia is up after 10 days and turned back 5 later: until 23 June."""

    def there(first: date, last: date) -> list[dict]:
        batch = Batch("tomato", Stage.SEEDLING, first, last, None, None, False)
        return told(plan_of(bench=replace(dark_bench(), batches=(batch,))), "batch-there")

    assert there(date(2026, 5, 1), date(2026, 6, 1)) == []
    assert [one["last"] for one in there(date(2026, 5, 1), date(2026, 6, 2))] == [date(2026, 6, 2)]
    assert len(there(date(2026, 6, 23), date(2026, 7, 1))) == 1
    assert there(date(2026, 6, 24), date(2026, 7, 1)) == []


def test_a_cover_that_does_not_last_the_dark():
    bench = dark_bench()
    lasting = {}
    for life in (None, 3, 14):
        covers = tuple(replace(c, life_h=life) if c.dark else c for c in bench.covers)
        lasting[life] = told(plan_of(bench=replace(bench, covers=covers)), "cover-life")
    assert lasting[None] == lasting[14] == []
    assert lasting[3][0]["life_h"] == 3 and lasting[3][0]["dark_h"] == pytest.approx(12, abs=1)


def test_days_on_which_nobody_is_there_at_the_plans_hours():
    site = hot_site()
    off = date(2026, 6, 10)
    crew = list(site.crew)
    crew[5], crew[6] = (420, 720), None  # Saturday a half day, Sunday none
    plan = plan_of(replace(site, days_off=frozenset({off, date(2026, 9, 1)}), crew=tuple(crew)))
    assert [one["dates"] for one in told(plan, "days-off")] == [(off,)]
    assert [(one["weekday"], one["hours"]) for one in told(plan, "crew-away")] == [(5, (420, 720)), (6, None)]
    assert told(plan_of(), "crew-away") == told(plan_of(), "days-off") == []


def test_light_is_short_where_the_minimum_is_not_met():
    """The lamps' night brings about 5.8 mol: enough for a minimum of 5, whatever the target."""
    assert told(plan_of(wanted=(5.0, 12.0)), "light-short") == []
    (short,) = told(plan_of(wanted=(9.0, 12.0)), "light-short")
    assert short["mol"] == pytest.approx(5.8, abs=0.3) and short["minimum"] == 9
    assert told(plan_of(wanted=None), "light-short") == []


def test_a_tent_that_stays_shut_no_shade_and_heat_too_warm_for_the_seed():
    plain = plan_of()
    assert not [one for slug in ("tent-fixed", "no-shade", "heating-too-warm") for one in told(plain, slug)]
    assert told(plan_of(bench=replace(dark_bench(), tent_opens=False)), "tent-fixed")
    assert told(plan_of(bench=replace(dark_bench(), tent=None, tent_opens=False)), "tent-fixed") == []
    boards = tuple(cover for cover in dark_bench().covers if cover.dark)
    assert told(plan_of(bench=replace(dark_bench(), covers=boards)), "no-shade")
    warm = replace(dark_bench(), heat_to_c=30.0)
    low, _ = seed("petunia").optimum_c
    turned_down, was = heated_for_seed(warm, seed("petunia"))  # bears 29 °C
    assert (turned_down.heat_to_c, was) == (low, 30.0)
    assert heated_for_seed(replace(warm, heat_to_c=24.0), seed("petunia"))[1] is None
    (warmer,) = told(plan_of(heating_c=was), "heating-too-warm")
    assert warmer == {"heat_to": 30.0, "limit": seed("petunia").limit_c}


def test_the_crew_is_there_when_it_is_on_most_days():
    site = hot_site()
    crew = ((390, 1050),) * 5 + ((420, 750), None)
    assert usual_crew(replace(site, crew=crew)) == (390, 1050)


def test_a_cool_room_is_told_only_where_it_is_too_hot_either_way():
    assert "cool-room" not in [one.kind for one in plan_of().alternatives]


def test_every_conflict_and_calendar_line_has_words():
    values = {
        "crop": "petunia", "stage": Stage.GERMINATION, "first": START, "last": START, "on": 420, "off": 1140,
        "latest": 400, "by_heat": True, "passed": 1200, "until": 1200, "peak_c": 30.0, "then_c": 28.0,
        "days_over": 3, "then_days": 1, "days": 7, "cover": "foil-board", "life_h": 3, "dark_h": 12.0,
        "weekday": 5, "hours": (420, 720), "usual": (360, 1170), "dates": (START,), "mol": 5.8, "sun": 0.1,
        "minimum": 8.0, "ppfd": 12.0, "wanted": 20.0, "limit": 29.0, "bench": "Pots", "draw": 0.9,
        "most": 0.8, "beside": 0.3, "heat_to": 30.0, "sown": START, "up": START, "vents": True, "after": 1140,
        "requirement": "light_needed", "each": ({"bench": "Pots", "crop": "petunia"},), "number": 1,
        "lamps": (1155, 360), "shade": "fleece",
    }  # fmt: skip
    for slug in CONFLICTS:
        told_words = conflict_words(remark(slug, START, **values), UNITS)
        assert told_words[0].isupper() and told_words.endswith(".") and "None" not in told_words
    for slug in CALENDAR:
        own = values | ({"cover": (420, 1140)} if slug == "turn" else {})
        own |= {"last": True} if slug == "most-up" else {}
        assert calendar_words(remark(slug, START, **own), UNITS).endswith(".")
