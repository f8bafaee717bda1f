"""House air against the handbook's balance, a stiff solver, limits and published ranges."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lightplan.heat.house_air import AUTOMATIC, PUT_OPEN, SHUT, Vents, house_heat
from lightplan.heat.house_body import house_body
from lightplan.site.models import Shape
from lightplan.tables import read_table
from tests.heat.runs import HOURS, HOUSE, OUTDOORS, SUN, heated, house_by_radau
from tests.house.houses import house

LONG = 400  # steps: four days, long past every start
ROWS = {row["rule_id"]: row for row in read_table("heat_and_shade")}


def settled(body, **inputs) -> float:
    """Air after four days of the same weather."""
    values = {"outdoor_c": 0.0, "sun_w_m2": 0.0} | inputs
    values["outdoor_c"] = np.full(LONG, values["outdoor_c"])
    return float(house_heat(body, **values)[-1])


def test_without_sun_and_heat_the_air_is_the_outdoors():
    assert settled(HOUSE, outdoor_c=7.3, start_c=30.0) == pytest.approx(7.3, abs=1e-9)
    # and a slow swing is followed at less than the time constant's lag, 60e3 / (9.3 + 1.15) s = 1.6 h
    air = house_heat(HOUSE, outdoor_c=OUTDOORS, sun_w_m2=0.0)
    assert air.max() == pytest.approx(OUTDOORS.max(), abs=1.0) and air.argmax() > OUTDOORS.argmax()


def test_full_ventilation_tends_to_the_outdoors():
    rises = [
        settled(replace(HOUSE, changes_open=n), outdoor_c=30, sun_w_m2=600, vents=PUT_OPEN)
        for n in (10, 100, 1000, 100000)
    ]
    assert rises == sorted(rises, reverse=True)
    assert rises[-1] == pytest.approx(30, abs=0.01)


def test_doubled_insulation_halves_the_conductive_loss():
    tight = replace(HOUSE, changes_closed=0.0, changes_open=0.0)
    thick = replace(tight, loss_w_m2k=tight.loss_w_m2k / 2)
    rise, doubled = (settled(body, sun_w_m2=200, vents=SHUT) for body in (tight, thick))
    assert doubled == pytest.approx(2 * rise, rel=1e-9)
    # and what holds 16 °C against frost is half: heat one watt short of it lets the air fall
    need = tight.loss_w_m2k * 26
    for body, watts in ((tight, need), (thick, need / 2)):
        assert settled(heated(body, 16, watts * 1.001), outdoor_c=-10) == pytest.approx(16, abs=1e-6)
        assert settled(heated(body, 16, watts * 0.9), outdoor_c=-10) == pytest.approx(13.4, abs=0.05)


def flat_house(side_m: float, eave_m: float, u: float, **changes):
    one = house(Shape.FLAT, width_m=side_m, length_m=side_m, eave_m=eave_m, **changes)
    pane = replace(one.glazing, u_w_m2k=u)
    return replace(one, glazing=pane, wall_glazing=pane, end_glazing=pane)


# ASABE EP406 form, constructed: dT = (1 − E) τ I / (U w + ρ cp V); heat_and_shade.csv bal_example and
# bal_closed. Exactly ρ cp = 1200 J/m³K there and 0.33 Wh/m³K here, 1 % apart in the vent term.
# A flat house 20 × 20 m and 2.5 m high has w = (400 + 200) / 400 = 1.5; V = N h / 3600.
@pytest.mark.parametrize(("row", "v_m3_m2_s"), [("bal_example", 0.041), ("bal_closed", 0.002)])
def test_steady_rise_of_the_handbook_form(row, v_m3_m2_s):
    changes = v_m3_m2_s * 3600 / 2.5
    body = house_body(
        flat_house(20, 2.5, 6.2, air_changes_closed=changes, air_changes_open=changes, heat_to_c=-50)
    )
    rise = settled(body, outdoor_c=10, sun_w_m2=0.7 * 800, evaporated=0.5) - 10
    assert rise == pytest.approx(float(ROWS[row]["value_low"]), rel=0.011)


def test_heat_loss_of_the_worked_example():
    # worked_examples.csv heat_loss, constructed: 400 m² × 4.0 W/m²K × (16 − −12) = 44,800 W.
    # 10 × 10 m floor, 7.5 m high: 100 + 4 × 75 = 400 m² of faces.
    for kw, holds in ((44.9, True), (40.0, False)):
        body = house_body(flat_house(10, 7.5, 4.0, air_changes_closed=0.0, can_heat_kw=kw))
        assert body.loss_w_m2k * body.floor_m2 == pytest.approx(1600)
        air = settled(body, outdoor_c=-12)
        assert (air == pytest.approx(16, abs=1e-6)) is holds
        assert air == pytest.approx(min(16, -12 + kw * 1000 / 1600), abs=0.01)


def test_fan_house_in_extreme_heat_stays_within_the_published_range():
    # Well designed fan houses, fans only, extreme heat: 10 to 20 °F (5.6 to 11.1 K) over the outdoors;
    # heat_and_shade.csv fan_house_peak, gh_management_text, read. Sun 950 W/m², a house that passes 0.62,
    # double film (U 3.95) on w = 1.6, one air change a minute, trays: 6.5 K. A third of the fans gives 16 K,
    # fans off 57 K; a full floor of plants (E 0.5) lies under the range with 4.7 K.
    row = ROWS["fan_house_peak"]
    body = replace(HOUSE, loss_w_m2k=1.6 * 3.95, air_w_m2k=0.95, changes_open=60.0)
    rise = settled(body, outdoor_c=37, sun_w_m2=0.62 * 950) - 37
    assert float(row["value_low"]) <= rise <= float(row["value_high"])


@pytest.mark.parametrize(
    ("body", "worst_k", "mean_k", "peak_k"),
    [
        (heated(HOUSE, 6.0), 0.4, 0.03, 0.03),
        (heated(HOUSE, 16.0, 60.0), 0.15, 0.03, 0.03),
        (replace(heated(HOUSE, 12.0), changes_open=60.0), 0.7, 0.1, 0.25),
    ],
    ids=["sides", "little heat", "fan"],
)
def test_stepper_against_a_stiff_solver(body, worst_k, mean_k, peak_k):
    """scipy's Radau through cloud that lets 30 or 110 % through by turns, 05:00 to 19:00."""
    of_day = slice(20, 76)
    sun = (SUN * np.random.default_rng(4).choice([0.3, 1.1], 96))[of_day]
    outdoors = OUTDOORS[of_day]
    expected = house_by_radau(body, outdoors, 0.7 * sun)
    start = max(float(outdoors[0]), body.heat_to_c)
    air = house_heat(body, outdoor_c=outdoors, sun_w_m2=sun, start_c=start)
    assert np.abs(air - expected).max() < worst_k
    assert np.abs(air - expected).mean() < mean_k
    assert air.max() == pytest.approx(expected.max(), abs=peak_k)


def test_vents_open_by_the_degree():
    # constructed: with 24 °C to vent at and 4 K to open, vents half open at 26 °C. Sun that holds 26 °C then:
    half = 9.3 + 1.15 * (1 + 19 / 2)
    assert settled(HOUSE, outdoor_c=10, sun_w_m2=half * 16 / 0.7) == pytest.approx(26, abs=1e-6)
    shut, automatic, wide = (
        house_heat(HOUSE, outdoor_c=OUTDOORS, sun_w_m2=SUN, vents=vents)
        for vents in (SHUT, AUTOMATIC, PUT_OPEN)
    )
    day = (HOURS > 9) & (HOURS < 18)
    assert (shut >= automatic - 1e-9)[day].all() and (automatic >= wide - 1e-9)[day].all()
    assert shut.max() > automatic.max() + 8 > wide.max()
    cold = automatic < HOUSE.vent_at_c - 1
    assert np.allclose(shut[cold & (HOURS < 9)], automatic[cold & (HOURS < 9)])


def test_vents_opened_at_ten_cool_from_then_on():
    put_open = Vents(least=(HOURS > 10).astype(float), most=(HOURS > 10).astype(float))
    air = house_heat(HOUSE, outdoor_c=OUTDOORS, sun_w_m2=SUN, vents=put_open)
    shut = house_heat(HOUSE, outdoor_c=OUTDOORS, sun_w_m2=SUN, vents=SHUT)
    assert np.allclose(air[HOURS < 10], shut[HOURS < 10])
    assert (air[HOURS > 10.5] < shut[HOURS > 10.5] - 1).all()


def test_members_side_by_side_are_the_single_runs():
    shares = np.array([0.2, 0.7, 1.1])
    together = house_heat(heated(HOUSE, 14), outdoor_c=OUTDOORS, sun_w_m2=SUN[:, None] * shares)
    for column, share in enumerate(shares):
        alone = house_heat(heated(HOUSE, 14), outdoor_c=OUTDOORS, sun_w_m2=SUN * share)
        assert np.allclose(together[:, column], alone, atol=1e-9)
    block = house_heat(HOUSE, outdoor_c=OUTDOORS, sun_w_m2=SUN[:, None, None] * shares * np.ones((2, 1)))
    assert block.shape == (96, 2, 3)


@given(
    st.lists(
        st.tuples(st.floats(-30, 45), st.floats(0, 1000), st.floats(0, 1), st.floats(0, 1)),
        min_size=8,
        max_size=8,
    ),
    st.floats(-20, 20),
)
def test_nothing_is_colder_than_the_outdoors_nor_hotter_than_a_shut_house_can_get(steps, heat_to_c):
    """The maximum principle, whatever the weather jumps by: the stepper stays stable at 15 min."""
    outdoors, sun, a, b = (np.repeat(values, 3) for values in zip(*steps, strict=True))
    body = heated(HOUSE, heat_to_c)
    vents = Vents(np.minimum(a, b), np.maximum(a, b))
    air = house_heat(body, outdoor_c=outdoors, sun_w_m2=sun, vents=vents)
    shut = body.loss_w_m2k + body.air_w_m2k * body.changes_closed
    assert (air >= min(outdoors.min(), heat_to_c) - 1e-6).all()
    assert (air >= heat_to_c - 1e-6).all()
    assert (air <= max(outdoors.max() + 0.7 * sun.max() / shut, heat_to_c) + 1e-6).all()
