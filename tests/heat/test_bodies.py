"""Areas, volumes and resistances of houses and benches against arithmetic done by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from lightplan.heat.bench_body import bench_body
from lightplan.heat.house_body import faces, house_body
from lightplan.heat.parameters import HeatParameters
from lightplan.house.shape import section_of
from lightplan.site.glazings import known_glazing
from lightplan.site.models import Insulation, Lamps, Place, Shape, Stage
from tests.crops.benches import bench_with
from tests.house.houses import house


def test_half_round_hoop():
    # half a circle of radius 4 m, 25 m long: πrL of roof, πr² of both ends, πr²L/2 of air
    hoop = house(Shape.HOOP, width_m=8.0, length_m=25.0, eave_m=0.0, ridge_m=4.0, arc="circle")
    total = sum(area for area, _ in faces(section_of(hoop, 0.05)))
    assert total == pytest.approx(math.pi * 4 * 25 + math.pi * 16, rel=2e-3)
    body = house_body(hoop)
    assert body.floor_m2 == pytest.approx(200)
    assert body.air_w_m2k == pytest.approx(0.33 * math.pi * 8 * 25 / 200, rel=2e-3)
    assert body.loss_w_m2k == pytest.approx(total * hoop.glazing.u_w_m2k / 200)


def test_opaque_faces_lose_heat_at_their_own_rate():
    # 10 × 20 m, 3 m eaves, flat: roof 200, sides 2 × 60, ends 2 × 30; knee wall 1 m: 60 m² of it
    flat = house(Shape.FLAT, width_m=10.0, length_m=20.0, eave_m=3.0)
    u = flat.glazing.u_w_m2k
    assert house_body(flat).loss_w_m2k == pytest.approx(380 * u / 200)
    knee = house_body(replace(flat, knee_wall_m=1.0))
    assert knee.loss_w_m2k == pytest.approx((320 * u + 60 * 2.0) / 200)
    blind = house_body(replace(flat, opaque=frozenset({"side-left", "end-a"})))
    assert blind.loss_w_m2k == pytest.approx((290 * u + 90 * 2.0) / 200)
    walls = house_body(replace(flat, wall_glazing=replace(flat.glazing, u_w_m2k=3.0)))
    assert walls.loss_w_m2k == pytest.approx((260 * u + 120 * 3.0) / 200)


def test_block_has_its_valleys():
    # three gables 6 m wide, eaves 3, ridge 4.5, gutters 0.2 m: 6 slopes of √(9 + 2.25) m, 2 gutters
    block = house(Shape.MULTISPAN, width_m=6.0, length_m=30.0, eave_m=3.0, ridge_m=4.5, spans=3, gutter_m=0.2)
    ends = 2 * (18.4 * 3 + 3 * 6 * 1.5 / 2)
    glass = 6 * math.sqrt(11.25) * 30 + 2 * 3 * 30 + ends
    expected = (glass * block.glazing.u_w_m2k + 2 * 0.2 * 30 * 2.0) / (18.4 * 30)
    assert house_body(block).loss_w_m2k == pytest.approx(expected)


def test_vents_never_close_by_opening():
    tight = house(Shape.FLAT, width_m=10.0, eave_m=3.0, air_changes_closed=3.0, air_changes_open=2.0)
    assert house_body(tight).changes_open == 3.0


TENTED = replace(
    bench_with(),
    area_m2=12.0,
    place=Place((0.5, 2.0), (3.0, 11.0)),
    tent=known_glazing("single-poly"),
    tent_height_m=0.5,
)


def test_insulation_adds_its_resistance_where_it_lies():
    # film 6.4 W/m²K; sides 2 × 0.5 × (1.5 + 8) / 12 of the bench; below 1 / (0.17 + 0.1) + R
    share = 9.5 / 12
    for where, r_below, r_sides in (
        ("under-and-sides", 0.9, 0.9),
        ("under", 0.9, 0.0),
        ("sides", 0.0, 0.9),
    ):
        body = bench_body(replace(TENTED, insulation=Insulation(where, 0.9)))
        assert 1 / body.below_w_m2k == pytest.approx(0.27 + r_below)
        assert share / body.sides_w_m2k == pytest.approx(1 / 6.4 + r_sides)
    square = bench_body(replace(TENTED, place=None))
    assert square.sides_w_m2k == pytest.approx(6.4 * 2 * 0.5 * 2 / math.sqrt(12))


def test_a_bench_without_a_tent_has_no_film():
    body = bench_body(replace(TENTED, tent=None))
    assert body.film_w_m2k is None and body.sides_w_m2k == 0


def test_lamps_in_the_tent_give_all_their_power_above_it_half():
    lamps = Lamps(90.0, 0.6, "led-white", "in-tent", "timer", 2, (), 30, 2, 400.0, 0, 0.5)
    inside = bench_body(replace(TENTED, lamps=lamps))
    assert inside.lamp_to_tray_w_m2 + inside.lamp_to_air_w_m2 == pytest.approx(0.5 * 600 / 12)
    above = bench_body(replace(TENTED, lamps=replace(lamps, place="above")))
    assert above.lamp_to_tray_w_m2 + above.lamp_to_air_w_m2 == pytest.approx(0.5 * 0.5 * 600 / 12)


def test_older_plants_evaporate_as_a_full_floor():
    assert [bench_body(TENTED, stage).evaporated for stage in (None, Stage.SEEDLING, Stage.FINISHING)] == [
        0.3,
        0.3,
        0.5,
    ]


def test_a_reading_can_correct_what_opaque_walls_lose():
    flat = house(Shape.FLAT, width_m=10.0, length_m=20.0, eave_m=3.0, knee_wall_m=1.0)
    wet = house_body(flat, HeatParameters(opaque_w_m2k=4.0))
    assert wet.loss_w_m2k - house_body(flat).loss_w_m2k == pytest.approx(60 * 2 / 200)
