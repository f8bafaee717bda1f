"""A file with only what must be there: every other key takes the default that the contract states."""

from __future__ import annotations

import pytest

from lightplan.site.models import Shape, SourceName
from lightplan.site.settle import AIR_CHANGES_OPEN
from tests.site.texts import SMALLEST, changed, problems_of, site_of, with_line


def test_site_defaults() -> None:
    site = site_of(SMALLEST)
    assert (site.elevation_m, site.us_units, site.paper, site.foot_candles) == (0, False, "a4", False)
    assert site.crew == ((390, 1080),) * 7  # 06:30 to 18:00
    assert (site.days_off, site.horizon, site.own_needs) == (frozenset(), (), {})
    assert site.power is None
    weather = site.weather
    assert (weather.source, weather.then) == (SourceName.OPEN_METEO, ())
    assert {weather.url, weather.file, weather.typical, weather.clearness, weather.contact} == {None}


def test_a_typical_year_under_either_key() -> None:
    for key in ("file", "typical"):
        weather = site_of(SMALLEST + f'[weather]\nsource = "typical-year"\n{key} = "year.epw"\n').weather
        assert weather.file == "year.epw"
    assert site_of(SMALLEST + '[weather]\ntypical = "year.epw"\n').weather.file is None


def test_house_defaults() -> None:
    house = site_of(SMALLEST).houses[0]
    assert (house.name, house.spans, house.knee_wall_m, house.opaque) == ("glass", 1, 0, frozenset())
    assert (house.frame_loss, house.dirt_loss, house.bars, house.washed) == (0.12, 0.05, None, None)
    assert house.wall_glazing == house.end_glazing == house.glazing
    assert (house.overhead, house.shade, house.covers) == ((), (), ())
    assert (house.heat_to_c, house.vent_at_c, house.can_heat_kw) == (16, 24, None)
    assert (house.venting, house.vents_by) == ("sides", "hand")
    assert (house.air_changes_closed, house.air_changes_open) == (1, 20)


def test_bench_defaults() -> None:
    bench = site_of(SMALLEST).benches[0]
    assert (bench.name, bench.height_m, bench.place, bench.tent) == ("b", 0.8, None, None)
    assert (bench.tent_height_m, bench.tent_opens, bench.bottom_heat, bench.heat_to_c) == (
        0.45,
        True,
        True,
        None,
    )
    assert (bench.light_for_seed_ppfd_umol_m2_s, bench.stray_ppfd_umol_m2_s) == (20, 0)
    assert (bench.insulation, bench.lamps, bench.covers, bench.batches) == (None, None, (), ())
    assert bench.lamp_hours == ((0, 1440),)


def test_lamps_defaults() -> None:
    lamps = site_of(with_line("lamps = { ppfd = 90, power_kw = 0.6 }", after="area_m2")).benches[0].lamps
    assert lamps is not None
    assert (lamps.kind, lamps.place, lamps.switch, lamps.pairs, lamps.usual) == (
        "led-white",
        "above",
        "timer",
        2,
        (),
    )
    assert (lamps.least_run_min, lamps.starts, lamps.sun_enough_ppfd_umol_m2_s) == (30, 2, 400)
    assert (lamps.cooling_min, lamps.working) == (0, 1)


def test_lamps_hang_in_a_tent_where_there_is_one() -> None:
    lines = 'tent = "single-poly"\nlamps = { ppfd = 90, power_kw = 0.6 }'
    lamps = site_of(with_line(lines, after="area_m2")).benches[0].lamps
    assert lamps is not None and lamps.place == "in-tent"


def test_power_defaults_once_there_is_a_power_table() -> None:
    power = site_of(SMALLEST + "[power]\n").power
    assert power is not None
    assert (power.currency, power.capacity_kw, power.other_kw, power.peak_price_per_kw) == ("USD", 18, 4, 0)
    assert power.rates == ()
    assert power.lamps_kw_at_most == pytest.approx(0.8 * 14)


def test_own_materials_and_batches() -> None:
    layer = "{ n = 1.5, normal_transmittance = 0.8 }"
    text = SMALLEST + (
        "[[bench.batch]]\ncrop = 'petunia'\nstage = 'germination'\nfrom = 2026-01-20\nto = 2026-02-03\n"
        f"[glazing.one]\nlayers = [{layer}]\n[glazing.two]\nlayers = [{layer}, {layer}]\n"
        "[cover.cloth]\ntransmittance = [0.2, 0.5]\n[cover.lid]\ntransmittance = [0, 0.02]\n"
    )
    text = with_line('covers = ["cloth", "lid"]', after="area_m2", text=text)
    site = site_of(changed('glazing = "single-glass"', 'glazing = "one"\nend_glazing = "two"', text))
    house, bench = site.houses[0], site.benches[0]
    assert (house.glazing.haze, house.glazing.u_w_m2k, house.end_glazing.u_w_m2k) == (0, 6.2, 3.7)
    cloth, lid = bench.covers
    assert (cloth.dark, lid.dark) == (False, True)  # a cover is dark at 0.02 and less
    assert (cloth.combustible, cloth.night, cloth.life_h, cloth.where) == (True, False, None, "bench")
    batch = bench.batches[0]
    assert (batch.sown, batch.trays, batch.inverted) == (None, None, False)


@pytest.mark.parametrize(("venting", "rate"), AIR_CHANGES_OPEN.items())
def test_open_air_changes_follow_venting(venting: str, rate: float) -> None:
    house = site_of(with_line(f'venting = "{venting}"', after="glazing")).houses[0]
    assert house.air_changes_open == rate
    assert house.vents_by == ("automatic" if venting == "fan" else "hand")


def test_the_contract_s_air_changes() -> None:
    assert list(AIR_CHANGES_OPEN.values()) == [2, 4, 20, 20, 40, 60]


@pytest.mark.parametrize(
    ("zone", "us", "paper"),
    [
        ("America/New_York", True, "letter"),
        ("US/Eastern", True, "letter"),
        ("Pacific/Honolulu", True, "letter"),
        ("America/Puerto_Rico", True, "letter"),
        ("Pacific/Guam", True, "letter"),
        ("America/Toronto", False, "letter"),
        ("America/Mexico_City", False, "a4"),
        ("Europe/London", False, "a4"),
        ("Asia/Kolkata", False, "a4"),
        ("Pacific/Auckland", False, "a4"),
    ],
)
def test_units_and_paper_follow_the_zone(zone: str, us: bool, paper: str) -> None:
    site = site_of(changed("Europe/London", zone))
    assert (site.us_units, site.paper) == (us, paper)


def test_given_units_beat_the_zone() -> None:
    site = site_of(with_line('units = "us"\npaper = "letter"', after="timezone"))
    assert (site.us_units, site.paper) == (True, "letter")


@pytest.mark.parametrize(
    ("shape", "given", "eave", "ridge"),
    [
        ("hoop", "width_m = 9\nridge_m = 4", 0, 4),
        ("flat", "width_m = 9\neave_m = 2.2", 2.2, 2.2),
        ("section", "section = [[1, 0], [1, 2], [4, 4], [8, 3], [8, 0]]", 2, 4),
    ],
)
def test_heights_that_a_shape_needs_not_be_told(shape: str, given: str, eave: float, ridge: float) -> None:
    text = changed("width_m = 9\n", f"{given}\n").replace("eave_m = 2.4\nridge_m = 4.7\n", "")
    house = site_of(changed('"gable"', f'"{shape}"', text)).houses[0]
    assert (house.shape, house.eave_m, house.ridge_m) == (Shape(shape), eave, ridge)
    assert house.width_m == (7 if shape == "section" else 9)


def test_gutters_of_a_block_default_to_20_cm() -> None:
    assert site_of(changed('"gable"', '"multispan"\nspans = 3')).houses[0].gutter_m == 0.2
    assert site_of(SMALLEST).houses[0].gutter_m == 0


MUST = (
    "name",
    "latitude",
    "longitude",
    "timezone",
    "id",
    "shape",
    "width_m",
    "length_m",
    "eave_m",
    "ridge_m",
)


@pytest.mark.parametrize("key", [*MUST, "ridge_azimuth_deg", "glazing"])
def test_what_must_be_there_is_asked_for(key: str) -> None:
    line = next(line for line in SMALLEST.splitlines() if line.startswith(key))
    problems = problems_of(SMALLEST.replace(line + "\n", "", 1))
    assert any(f": {key} is missing; " in problem for problem in problems), problems


@pytest.mark.parametrize("key", ["id", "house", "area_m2"])
def test_what_a_bench_must_have(key: str) -> None:
    head, bench = SMALLEST.split("[[bench]]")
    line = next(line for line in bench.splitlines() if line.startswith(key))
    [problem] = problems_of(head + "[[bench]]" + bench.replace(line + "\n", ""))
    assert f": {key} is missing; " in problem
