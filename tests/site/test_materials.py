"""Names of glazings, covers, lamps and crops, and the values they stand for."""

from __future__ import annotations

import re
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lightplan.site import glazings
from lightplan.site.cover_names import DARK_AT_MOST, USES, cover_row, known_cover
from lightplan.site.crop_names import ASKED_BACK, SYNONYMS, crop_called, crop_names
from lightplan.site.glazings import (
    ROWS,
    U_BY_LAYERS,
    glazing_row,
    known_glazing,
    middle,
    most_passed,
    normal_transmittance,
    one_layer,
    stacked,
)
from lightplan.site.lamp_kinds import ROWS as LAMPS
from lightplan.site.lamp_kinds import known_lamp
from lightplan.site.models import Layer
from lightplan.tables import read_table
from tests.site.texts import SMALLEST, changed, problems_of, site_of

# Names of the contract, section "Names".
GLAZINGS = """single-glass low-iron-glass diffuse-glass single-poly double-poly single-poly-ir double-poly-ir
    twin-wall-polycarbonate twin-wall-acrylic corrugated-polycarbonate fibreglass etfe"""
COVERS = """wet-paper wet-paper-2 dry-paper white-tarp blue-tarp black-tarp blackout-cloth blackout-film
    insulation-board foil-board quilt fleece clear-poly shade-cloth-30 shade-cloth-40 shade-cloth-50
    shade-cloth-60 shade-cloth-70 shade-cloth-80 silver-screen whitewash-light whitewash-medium"""


def test_names_are_those_of_the_contract() -> None:
    assert set(ROWS) == set(GLAZINGS.split())
    assert set(USES) == set(COVERS.split())
    assert set(LAMPS) == {"led-white", "led-red-blue", "hps", "metal-halide", "fluorescent", "incandescent"}
    assert {row["crop"] for row in read_table("crops_light") if row["record"] == "merged"} <= set(
        crop_names()
    )


@pytest.mark.parametrize("name", ROWS)
def test_a_glazing_passes_the_middle_of_its_range(name: str) -> None:
    glazing, row = known_glazing(name), glazing_row(name)
    assert normal_transmittance(glazing.layers) == pytest.approx(middle(row, "par_direct"), abs=1e-9)
    assert len(glazing.layers) == (2 if "double" in name or "twin" in name else 1)
    assert (glazing.haze, glazing.source, glazing.checked) == (
        middle(row, "haze"),
        row["source"],
        row["checked"],
    )
    assert glazing.u_w_m2k == pytest.approx(
        (float(row["u_value_low_w_m2_k"]) + float(row["u_value_high_w_m2_k"])) / 2
    )


@pytest.mark.parametrize("name", [name for name in ROWS if len(known_glazing(name).layers) == 2])
def test_two_layers_pass_more_than_the_square_of_one(name: str) -> None:
    """Light thrown to and fro between the layers counts; the plain square would fall a point short."""
    layer = known_glazing(name).layers[0].normal_transmittance
    assert layer is not None
    assert normal_transmittance(known_glazing(name).layers) - layer**2 > 0.004


# Duffie & Beckman, Solar Engineering of Thermal Processes (4th ed. 2013), example 5.1.2 (from memory):
# glass that absorbs nothing, n 1.526, light at right angles: one surface mirrors 0.0434, two covers
# pass 0.85.
def test_covers_against_duffie_and_beckman() -> None:
    assert glazings.surface_reflectance(1.526) == pytest.approx(0.0434, abs=5e-5)
    assert stacked([one_layer(1.526, 1.0)] * 2) == pytest.approx(0.85, abs=0.005)


# Stokes' closed form for N plates that absorb nothing (Duffie & Beckman eq. 5.1.7):
# (1 − r) / (1 + (2N − 1) r).
@pytest.mark.parametrize(("n", "layers"), list(product((1.33, 1.526, 2.0), (1, 2, 3, 5))))
def test_clear_layers_follow_the_closed_form(n: float, layers: int) -> None:
    r = ((n - 1) / (n + 1)) ** 2
    closed_form = (1 - r) / (1 + (2 * layers - 1) * r)
    assert stacked([one_layer(n, 1.0)] * layers) == pytest.approx(closed_form, rel=1e-12)
    assert most_passed(n) == pytest.approx((1 - r) / (1 + r), rel=1e-12)


@given(st.floats(1.05, 2.5), st.floats(0.0, 1.0))
def test_a_layer_keeps_its_energy(n: float, left: float) -> None:
    """What is passed and mirrored is never more than what came, and all of it where nothing is absorbed."""
    passed, mirrored = one_layer(n, left)
    assert 0 <= passed + mirrored <= 1 + 1e-12
    assert sum(one_layer(n, 1.0)) == pytest.approx(1, abs=1e-12)


@given(st.lists(st.tuples(st.floats(1.05, 2.5), st.floats(0.05, 1.0)), min_size=1, max_size=4))
def test_a_stack_passes_the_same_from_either_side(layers: list[tuple[float, float]]) -> None:
    each = [one_layer(n, left) for n, left in layers]
    assert stacked(each) == pytest.approx(stacked(each[::-1]), rel=1e-9)


@given(st.floats(1.3, 1.7), st.floats(0.3, 0.9))
def test_a_layer_by_its_transmittance_is_the_layer_by_its_extinction(n: float, share: float) -> None:
    """Round trip: the extinction that a transmittance means gives that transmittance."""
    wanted = share * most_passed(n)
    assert normal_transmittance([Layer(n=n, normal_transmittance=wanted)]) == pytest.approx(wanted, rel=1e-9)


@pytest.mark.parametrize("name", ROWS)
def test_the_house_s_optics_agree_at_right_angles(name: str) -> None:
    """The stack that rays are traced through passes the table's middle where light comes straight on."""
    optics = pytest.importorskip("lightplan.house.optics")
    passed = optics.stack_optics(known_glazing(name).layers, 1.0).passed
    assert float(passed) == pytest.approx(middle(glazing_row(name), "par_direct"), abs=1e-7)


def test_a_rounded_figure_of_a_maker_is_taken_down_to_what_the_index_allows() -> None:
    text = SMALLEST + "[glazing.clear]\nlayers = [{ n = 1.526, normal_transmittance = 0.917 }]\n"
    [layer] = site_of(changed('"single-glass"', '"clear"', text)).houses[0].glazing.layers
    assert layer.normal_transmittance == most_passed(1.526) < 0.917
    assert problems_of(text.replace("0.917", "0.918"))


def test_default_heat_loss_against_the_table() -> None:
    """ASABE EP406 design values in glazing.csv (from memory): one layer of glass 6.2, two 3.7."""
    table = [row for row in read_table("glazing") if row["source"] == "asabe_ep406"]
    rows = {(row["material"], row["layers"]): row for row in table}
    for layers, name in ((1, "single"), (2, "double")):
        assert U_BY_LAYERS[layers] == float(rows["glass", name]["u_value_low_w_m2_k"])


@pytest.mark.parametrize("name", USES)
def test_a_cover_passes_what_its_shading_leaves(name: str) -> None:
    cover, row = known_cover(name), cover_row(name)
    low, high = float(row["shading_factor_low"]), float(row["shading_factor_high"])
    assert cover.transmittance == pytest.approx((1 - high, 1 - low))
    assert cover.dark is (1 - low <= DARK_AT_MOST + 1e-9)
    assert cover.combustible is (row["combustible"] == "yes")


def test_dark_covers() -> None:
    dark = {name for name in USES if known_cover(name).dark}
    assert dark == {"black-tarp", "blackout-cloth", "blackout-film", "insulation-board", "foil-board"}


@pytest.mark.parametrize("name", USES)
def test_thermal_resistance_is_the_middle_of_the_table_s_note(name: str) -> None:
    found = re.search(r"R about ([\d.]+) to ([\d.]+)", cover_row(name)["heat_note"])
    wanted = (float(found[1]) + float(found[2])) / 2 if found else 0.0
    assert known_cover(name).r_m2k_w == pytest.approx(wanted)


def test_wet_paper_dries_and_comes_off_at_night() -> None:
    for name in ("wet-paper", "wet-paper-2"):
        assert known_cover(name).life_h == 3 and not known_cover(name).night


# Thimijan & Heins 1983 as read in lamps.csv: lux per µmol of sunlight-free lamps.
def test_lamps_against_the_table() -> None:
    assert known_lamp("hps").lux_per_umol == 82
    assert known_lamp("metal-halide").lux_per_umol == 71
    assert known_lamp("led-red-blue").lux_per_umol is None  # lux says nothing about red and blue
    assert known_lamp("hps").efficacy_umol_j == (0.9, 1.8)


@pytest.mark.parametrize(("said", "meant"), SYNONYMS.items())
def test_synonyms(said: str, meant: str) -> None:
    assert crop_called(said) == meant and meant in crop_names()
    assert crop_called(said.upper()) == meant


@pytest.mark.parametrize("word", ASKED_BACK)
def test_wide_words_are_asked_back(word: str) -> None:
    assert crop_called(word) is None
    assert all(choice in crop_names() and choice.startswith(word) for choice in ASKED_BACK[word])
    assert {name for name in crop_names() if name.startswith(f"{word}_")} == set(ASKED_BACK[word])


def test_the_contract_s_synonyms() -> None:
    assert set(SYNONYMS) == {
        *["pansy", "viola", "cabbage", "broccoli", "onion", "leek", "pumpkin", "squash", "geranium"]
    }
    assert set(ASKED_BACK) == {"marigold", "cosmos", "rudbeckia", "coreopsis", "salvia"}


@pytest.mark.parametrize("name", ["begonia-wax", "Begonia_Wax", "begonia wax", " begonia_wax "])
def test_hyphen_and_underscore_mean_the_same(name: str) -> None:
    assert crop_called(name) == "begonia_wax"
