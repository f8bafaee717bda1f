"""No cover that burns over a lit lamp, and light for the seed that needs it: from a site's file to JSON."""

from __future__ import annotations

import pytest

from tests.invented_range import FRIDAY, UNDER_TENT, bench, clock, of

SEED = {"stage": "germination", "sown": FRIDAY}
BOARD = f'{UNDER_TENT}\ntent_opens = false\ncovers = ["insulation-board"]'
LAMPS = "lamps = {{ ppfd = {ppfd}, power_kw = 0.6, {more}usual = [['00:00', '24:00']] }}"


def lamps(ppfd=90, more=""):
    return LAMPS.format(ppfd=ppfd, more=more)


def burning(plan, id="a") -> list[str]:
    """Starts of the steps of the sheet's day in which the lamps burn."""
    steps = plan["steps"][id]
    return [clock(t) for t, lit in zip(steps["time"][:96], steps["lamp_ppfd"], strict=False) if lit > 0]


@pytest.mark.parametrize("now", ["17:00", "18:00"])
def test_no_cover_that_burns_is_left_on_over_a_night_in_which_lamps_may_run(range_, now):
    """By eleven next day, when the crew comes, seed in the tent has died; today.s strong light is over."""

    def covered(keys):
        sheet = range_(
            bench("a", keys, crop="tomato", **SEED), site='crew = ["11:00", "18:00"]', sun=900.0, air_c=20.0
        )
        return of(sheet(FRIDAY, "--now", f"{FRIDAY}T{now}"), "a")["covers"]

    (cover,) = covered(BOARD)
    assert (clock(cover["on"]), clock(cover["off"])) == (now, "11:00")
    assert covered(f"{BOARD}\n{lamps()}") == []
    only_by_day = 'lamp_hours = ["12:00", "16:00"]'  # these can't burn under it
    assert len(covered(f"{BOARD}\n{lamps()}\n{only_by_day}")) == 1


@pytest.mark.parametrize(("cooling", "last"), [(60, "07:45"), (90, "07:15")])
def test_lamps_cool_before_a_cover_that_burns_goes_on_and_wait_till_it_is_surely_off(range_, cooling, last):
    """The seed wants more light than the sun gives it before the cover: its lamps burn till then."""
    keys = f"{BOARD}\nlight_for_seed_ppfd = 450\n{lamps(460, f'cooling_min = {cooling}, ')}"
    plan = range_(bench("a", keys, **SEED), sun=700.0, air_c=10.0)()
    (cover,) = of(plan, "a")["covers"]
    assert (clock(cover["on"]), clock(cover["off"])) == ("09:00", "17:00")
    lit = burning(plan)
    assert lit[0] == "00:00"
    assert max(t for t in lit if t < "09:00") == last
    assert min(t for t in lit if t > last) == "17:30"  # a timer would not wait for hands that are late
    by_hand = range_(bench("a", keys.replace("power_kw", "switch = 'hand', power_kw"), **SEED), sun=700.0)()
    assert "17:00" in burning(by_hand)


def test_the_caution_of_a_covered_lamp_comes_with_the_cover_alone(range_):
    keys = f"{BOARD}\nlight_for_seed_ppfd = 450\n{lamps(460)}"
    said = " ".join(range_(bench("a", keys, **SEED), sun=700.0, air_c=10.0)()["cautions"])
    assert "off and cool" in said
    said = " ".join(range_(bench("a", keys, **SEED), sun=60.0, air_c=5.0)()["cautions"])
    assert "off and cool" not in said


OVER_HOUSE = """
[cover.sheet]
transmittance = {transmittance}
dark = false
combustible = {burns}
night = true
where = "house"
"""


def over_house(burns, transmittance="[0.02, 0.1]"):
    return f'covers = ["sheet"]\n{OVER_HOUSE.format(burns=burns, transmittance=transmittance)}'


def test_a_house_cover_that_burns_keeps_the_lamps_of_every_bench_off(range_):
    """Seed that needs light in all hours: under a dim cover its lamps would burn at noon."""
    keys = f"tent_opens = false\n{UNDER_TENT}\nlight_for_seed_ppfd = 100\n{lamps(110)}"
    found = {}
    for burns in ("true", "false"):
        plan = range_(bench("a", keys, **SEED), house=over_house(burns), sun=800.0)()
        (cover,) = of(plan, "a")["covers"]
        assert cover["cover"] == "sheet"
        found[burns] = [t for t in burning(plan) if clock(cover["on"]) <= t < clock(cover["off"])]
    assert found["true"] == []
    assert "12:00" in found["false"]


def test_a_house_cover_counts_no_lamp_light_under_itself_if_it_burns(range_):
    """The minimum stands before the PPFD limit; under a cover that burns, lamps can't be had for it."""
    own = "[crop.petunia.seedling]\nminimum = 10\ntarget = 12\nlimit_ppfd = 300\n"
    keys = f"{lamps(400)}\nlamp_hours = ['08:00', '18:00']"
    over = {}
    for burns in ("true", "false"):
        row = of(range_(own + bench("a", keys), house=over_house(burns), sun=700.0)(), "a")
        (cover,) = row["covers"]
        over[burns] = clock(cover["on"]), clock(cover["off"])
    assert over["false"][1] >= "17:00"  # all of the strong light; the lamps under it make up for it
    assert over["true"][1] <= "15:30"  # what comes after it is left to the sun


def test_light_needing_seed_under_lamps_keeps_some_of_its_light_hours(range_):
    """Lamps may run within daylight only, and hands could keep the board on for all of it."""
    keys = f"{BOARD}\n{lamps()}\nlamp_hours = ['10:00', '15:00']\nlight_for_seed_ppfd = 10"
    hot = {"sun": 900.0, "air_c": 26.0, "from_h": 9, "to_h": 17}
    lit = {}
    for crop in ("petunia", "tomato"):
        plan = range_(bench("a", keys, crop=crop, **SEED), **hot)()
        steps = plan["steps"]["a"]
        assert of(plan, "a")["covers"]
        lights = zip(steps["time"][:96], steps["sun_ppfd"], steps["lamp_ppfd"], strict=False)
        lit[crop] = [clock(t) for t, sun, lamp in lights if sun + lamp >= 10 and clock(t) >= "06:30"]
    assert lit["petunia"]
    assert not lit["tomato"]  # seed that germinates in the dark stays under it
