"""A file with every key and every form: read right, and described whole."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from lightplan.site.describe import describe
from lightplan.site.models import OwnNeeds, Shape, Site, SourceName, Stage
from lightplan.site.names_text import names_text
from lightplan.site.quantities import AREA, LENGTH, TEMPERATURE, Quantity
from lightplan.site.read import load_site, read_site
from lightplan.site.strange_keys import every_table
from lightplan.site.table import Table, fields, quantity_of

HERE = Path(__file__).parent
FOOT = 0.3048  # m, exact: NIST SP 811 (2008), appendix B.8


@pytest.fixture(scope="module")
def site() -> Site:
    return read_site(HERE / "full")


def test_lengths_in_feet_and_metres(site: Site) -> None:
    glass = site.houses[0]
    assert (site.elevation_m, glass.length_m, glass.ridge_m) == pytest.approx(
        (400 * FOOT, 96 * FOOT, 15.5 * FOOT)
    )
    assert (glass.width_m, glass.eave_m, glass.knee_wall_m) == pytest.approx((9.1, 2.4, 2 * FOOT))
    assert glass.bars is not None
    assert (glass.bars.spacing_m, glass.bars.width_m) == pytest.approx((0.6, 0.1 * FOOT))
    germ, second, _ = site.benches
    assert germ.place is not None
    assert germ.place.across_m == (0.5, 2.0)
    assert germ.place.along_m == pytest.approx((10 * FOOT, 37 * FOOT))
    assert second.area_m2 == pytest.approx(9.290304)  # 100 ft²: NIST SP 811 (2008), appendix B.8


def test_temperatures_in_fahrenheit(site: Site) -> None:
    assert site.houses[0].heat_to_c == pytest.approx((61 - 32) / 1.8)
    assert site.houses[0].vent_at_c == 24.5
    assert site.benches[0].heat_to_c == pytest.approx((75 - 32) / 1.8)
    assert site.own_needs["petunia", Stage.SEEDLING].limit_c == pytest.approx(35)  # 95 °F


@pytest.mark.parametrize(
    ("quantity", "us", "metric"),
    [
        (LENGTH, 1, 0.3048),
        (AREA, 1, 0.09290304),
        (TEMPERATURE, 32, 0),
        (TEMPERATURE, 212, 100),
        (TEMPERATURE, -40, -40),
    ],
)
def test_units_against_nist_sp_811(quantity: Quantity, us: float, metric: float) -> None:
    """Factors of NIST SP 811 (2008), appendix B.8, and the fixed points of the Fahrenheit scale; exact."""
    assert quantity.to_metric(us) == pytest.approx(metric, rel=1e-12)
    assert quantity.to_us(metric) == pytest.approx(us, rel=1e-12)


def test_days_and_hours(site: Site) -> None:
    work = (420, 990)
    assert site.crew == (work, work, (480, 720), work, work, None, None)  # a single day goes before its group
    assert site.days_off == {date(2026, 12, 25), date(2026, 12, 26)}
    assert site.horizon == ((90, 12.5), (180, 4))  # by azimuth
    germ, second, third = site.benches
    assert germ.lamp_hours == ((0, 540), (1200, 1440))  # 20:00 to 09:00, over midnight
    assert second.lamp_hours == ((300, 540), (960, 1200))
    assert third.lamp_hours == ((0, 1440),)
    assert germ.lamps is not None and second.lamps is not None
    assert germ.lamps.usual == ((0, 120), (300, 480), (1200, 1440))
    assert second.lamps.usual == ((360, 480),)


def test_tariff_rows(site: Site) -> None:
    assert site.power is not None
    every, night, weekend = site.power.rates
    assert (every.from_min, every.to_min, every.price) == (0, 1440, 0.28)
    assert (night.from_min, night.to_min, night.months) == (30, 330, frozenset({1, 2, 3, 10, 11, 12}))
    assert (weekend.from_min, weekend.to_min, weekend.weekdays) == (1320, 360, frozenset({5, 6}))
    assert (every.weekdays, every.months) == (frozenset(range(7)), frozenset(range(1, 13)))


def test_shapes(site: Site) -> None:
    shapes = [house.shape for house in site.houses]
    assert shapes[:6] == [Shape.GABLE, Shape.MULTISPAN, Shape.HOOP, Shape.GOTHIC, Shape.LEAN_TO, Shape.FLAT]
    block, hoop, gothic, lean = site.houses[1:5]
    assert (block.spans, block.gutter_m) == (3, 0.3)
    assert (hoop.arc, hoop.eave_m, gothic.bulge_m, lean.faces_deg) == ("circle", 0, 0.4, 180)
    shed, tunnel = site.houses[6:]
    # given right to left, starting at x = 2: put left to right from x = 0
    assert shed.section == ((0, 0), (0, 2.5), (3, 3.5), (6, 2), (7, 0))
    assert (shed.width_m, shed.ridge_m, shed.eave_m) == (7, 3.5, 0)
    assert tunnel.section is not None and len(tunnel.section) == 5
    assert tunnel.width_m == pytest.approx(20 * FOOT)


def test_faces(site: Site) -> None:
    glass, _, hoop, _, lean, *_ = site.houses
    assert glass.opaque == {"side-left", "end-a", "end-b"}  # north of a ridge that runs east; both ends
    assert hoop.opaque == {"side-right", "end-b"}
    assert lean.opaque == {"side-left"}  # the wall: looking east, south is right


def test_names_in_any_spelling(site: Site) -> None:
    glass, germ = site.houses[0], site.benches[0]
    names = [part.name for part in (glass.glazing, glass.wall_glazing, glass.end_glazing)]
    assert names == ["single-glass", "oddments", "twin-wall-polycarbonate"]
    assert site.houses[5].glazing.name == "own_film" and site.houses[5].glazing.is_film
    assert [cover.name for cover in germ.covers] == ["wet-paper", "white-tarp", "insulation-board", "lid"]
    assert [cover.where for cover in glass.covers] == ["house", "outside", "house"]
    assert germ.lamps is not None and germ.lamps.kind == "led-white"
    assert [batch.crop for batch in germ.batches] == ["petunia", "pansy_viola"]
    assert site.houses[4].shape is Shape.LEAN_TO


def test_short_forms(site: Site) -> None:
    germ, second, third = site.benches
    assert germ.insulation is not None and (germ.insulation.where, germ.insulation.r_m2k_w) == ("under", 1.1)
    assert second.insulation is not None
    assert (second.insulation.where, second.insulation.r_m2k_w) == ("under-and-sides", 0.9)
    assert third.insulation is None
    assert germ.covers[3].transmittance == (0.01, 0.01) and germ.covers[3].dark


def test_the_rest_as_written(site: Site) -> None:
    glass, germ = site.houses[0], site.benches[0]
    assert (glass.frame_loss, glass.dirt_loss, glass.washed) == (
        0,
        0.08,
        date(2026, 3, 1),
    )  # bars replace frame_loss
    assert (glass.venting, glass.vents_by, glass.air_changes_open) == ("roof-and-sides", "automatic", 35)
    assert (glass.can_heat_kw, glass.air_changes_closed) == (45, 1.2)
    assert glass.overhead[0].loss == 0.15 and glass.overhead[0].to_date == date(2026, 5, 20)
    assert glass.shade[0].cover.name == "whitewash-light" and glass.shade[0].from_date == date(2026, 5, 1)
    lamps = germ.lamps
    assert lamps is not None
    assert (lamps.place, lamps.switch, lamps.pairs, lamps.least_run_min, lamps.starts) == (
        "in-tent",
        "remote",
        3,
        45,
        3,
    )
    assert (lamps.cooling_min, lamps.working, lamps.sun_enough_ppfd_umol_m2_s) == (5, 0.9, 350)
    assert lamps.ppfd_now_umol_m2_s == pytest.approx(81)
    batch = germ.batches[0]
    assert (batch.stage, batch.sown, batch.trays, batch.inverted) == (
        Stage.GERMINATION,
        date(2026, 7, 1),
        24,
        True,
    )
    assert (site.weather.source, site.weather.then) == (
        SourceName.MET_NORWAY,
        (SourceName.NWS, SourceName.CLEAR_SKY),
    )
    assert site.own_needs["pansy_viola", Stage.GROWING_ON] == OwnNeeds(target=9)
    assert site.own_needs["petunia", Stage.SEEDLING].most_owed == 3.5


def test_records_are_frozen(site: Site) -> None:
    with pytest.raises(dataclasses.FrozenInstanceError):
        site.houses[0].width_m = 3  # type: ignore[misc]


def test_every_key_is_described() -> None:
    text = describe(load_site(HERE / "full"))
    for table in every_table():
        for key in fields(table):
            assert re.search(rf"\b{key}\b", text), key


def test_description(golden_file: Callable[[Path, str], None]) -> None:
    loaded = load_site(HERE / "full")
    golden_file(HERE / "full" / "described.txt", describe(loaded).replace(str(HERE), "tests/site") + "\n")


def test_a_us_site_is_described_in_feet(golden_file: Callable[[Path, str], None]) -> None:
    loaded = load_site(HERE / "good")
    golden_file(HERE / "good" / "described.txt", describe(loaded).replace(str(HERE), "tests/site") + "\n")


def test_only_what_the_file_leaves_out_is_marked_as_default() -> None:
    lines = describe(load_site(HERE / "good")).splitlines()
    assert any(re.match(r"\*\s+units\s+\"us\"", line) for line in lines)
    assert any(re.match(r" \s+elevation_ft\s+885\.8 ft", line) for line in lines)
    assert any(re.match(r" \s+frame_loss\s+0\.15", line) for line in lines)  # of the first house
    assert any(re.match(r"\*\s+frame_loss\s+0\.12", line) for line in lines)  # of the second


def test_names(golden_file: Callable[[Path, str], None]) -> None:
    golden_file(HERE / "names.txt", names_text() + "\n")


def test_every_measure_has_both_forms() -> None:
    """A key that ends in a unit of length, area or temperature has that quantity; nothing else does."""
    endings = {"_m": LENGTH, "_m2": AREA, "_c": TEMPERATURE}
    for table in every_table():
        for key, info in fields(table).items():
            wanted = next((quantity for ending, quantity in endings.items() if key.endswith(ending)), None)
            if key not in ("extinction_per_m", "section"):
                assert quantity_of(info) is wanted, f"{table.__name__}.{key}"


# The keys of the contract, by table, as its sample lists them; film and a cover's r_m2k_w are ours.
CONTRACT = {
    "SiteTable": """name latitude longitude timezone elevation_m units paper crew days_off horizon
        foot_candles""",
    "WeatherTable": "source then url ensemble_url file typical clearness contact api_key_env",
    "PowerTable": "currency capacity_kw other_kw peak_price_per_kw rates",
    # defined with delivery, beyond DESIGN's own file
    "DeliverTable": "print printer copies folder keep mail",
    "MailTable": "to from host port security user password_env ca_file",
    "RateRow": "from to price days months",
    "HouseTable": """id name shape section width_m length_m eave_m ridge_m spans gutter_m ridge_azimuth_deg
        faces_deg arc bulge_m glazing wall_glazing end_glazing end_walls opaque knee_wall_m frame_loss bars
        dirt_loss washed overhead shade covers heat_to_c can_heat_kw vent_at_c venting vents_by
        air_changes_closed air_changes_open""",
    "OverheadRow": "loss from to",
    "ShadeRow": "cover from to",
    "BarsTable": "spacing_m width_m depth_m",
    "GlazingTable": "layers haze u_w_m2k film",
    "LayerRow": "n normal_transmittance extinction_per_m thickness_mm",
    "CoverTable": "transmittance dark combustible night life_h where r_m2k_w",
    "NeedsTable": """minimum target limit limit_ppfd limit_c dark_h most_in_hand most_owed
        flowering critical_day_h""",
    "BenchTable": """id house name area_m2 height_m place tent tent_height_m tent_opens insulation insulated
        bottom_heat heat_to_c light_for_seed_ppfd stray_ppfd lamps lamp_hours covers batch""",
    "PlaceTable": "across_m along_m",
    "InsulationTable": "where r_m2k_w",
    "LampsTable": """ppfd power_kw kind place switch pairs usual least_run_min starts sun_enough_ppfd
        cooling_min working""",
    "BatchRow": "crop stage from to sown trays day",
}


def test_keys_are_those_of_the_contract() -> None:
    tables: dict[str, type[Table]] = {table.__name__: table for table in every_table()[1:]}
    assert tables.keys() == CONTRACT.keys()
    for name, table in tables.items():
        assert set(fields(table)) == set(CONTRACT[name].split()), name
