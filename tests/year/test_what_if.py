"""A change tried on the site file: the same as the file edited by hand, and refused as the file would be."""

from __future__ import annotations

import pytest

from lightplan.cli import Exit, main
from lightplan.site.problems import SiteError
from lightplan.site.read import load_document, load_text
from lightplan.site.toml_text import parsed
from lightplan.site.what_if import WhatIfError, change_of, changed
from tests.year.sites import told


def tried(folder, *words):
    text = (folder / "site.toml").read_text(encoding="utf-8")
    return load_document(changed(parsed(text), map(change_of, words)), text, folder).site


@pytest.mark.parametrize(
    ("words", "old", "new"),
    [
        ("house.block.dirt_loss=0", "dirt_loss = 0.1", "dirt_loss = 0"),
        ("house.block.glazing=diffuse-glass", '"single-glass"', '"diffuse-glass"'),
        ("house.block.ridge_azimuth_deg=45", "ridge_azimuth_deg = 0", "ridge_azimuth_deg = 45"),
        ("house.block.width_ft=20", "width_m = 6.4", "width_ft = 20"),
        ("bench.plugs.lamps.ppfd=150", "ppfd = 100", "ppfd = 150"),
        ("bench.plugs.lamps={ ppfd = 60, power_kw = 1 }", None, None),
        ("power.rates.2.price=0.2", "price = 0.12", "price = 0.2"),
        ("house.block.washed=2026-03-01", "dirt_loss = 0.1", "dirt_loss = 0.1\nwashed = 2026-03-01"),
        ("crop.lettuce.seedling.target=11", "[power]", "[crop.lettuce.seedling]\ntarget = 11\n[power]"),
    ],
)
def test_a_change_is_the_file_edited_by_hand(quillfen, words, old, new):
    text = (quillfen / "site.toml").read_text(encoding="utf-8")
    if old is None:
        assert tried(quillfen, words).benches[1].lamps.ppfd_umol_m2_s == 60
        return
    assert old in text
    by_hand = load_text(text.replace(old, new, 1), quillfen).site
    assert tried(quillfen, words) == by_hand != load_text(text, quillfen).site


def test_the_file_itself_is_left_alone(quillfen):
    document = parsed((quillfen / "site.toml").read_text(encoding="utf-8"))
    before = repr(document)
    changed(document, [change_of("house.block.spans=2")])
    assert repr(document) == before


@pytest.mark.parametrize(
    ("words", "hint"),
    [
        ("house", "house.glass.dirt_loss=0"),
        ("house.block.dirt_loss", "write it like"),
        ("house.blok.dirt_loss=0", 'nearest is "block"'),
        ("house.block=1", "name a key"),
        ("house.block.glazing.n=1", "holds no keys"),
        ("crop.lettuce=1", "name a key"),
    ],
)
def test_a_way_that_leads_nowhere_is_told(quillfen, words, hint):
    with pytest.raises(WhatIfError) as told_error:
        tried(quillfen, words)
    assert words in str(told_error.value)
    assert hint in str(told_error.value)


@pytest.mark.parametrize(
    ("words", "hint"),
    [
        ("house.block.dirt=0", "dirt_loss"),
        ("house.block.glazing=singel-glass", "single-glass"),
        ("house.block.ridge_m=1", "below eave_m"),
        ("bench.plugs.house=shed", "block"),
    ],
)
def test_what_comes_of_it_is_checked_as_the_file_is(quillfen, words, hint):
    with pytest.raises(SiteError) as problems:
        tried(quillfen, words)
    assert hint in str(problems.value)


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (
            ["--what-if", "house.shed.dirt_loss=0"],
            '--what-if house.shed.dirt_loss=0: there is no house "shed"',
        ),
        (
            ["--what-if", "house.block.dirt_loss=lots"],
            '--what-if house.block.dirt_loss=lots: house "block": ',
        ),
        (["--what-if", "house.wall.glazing=glas"], "--what-if house.wall.glazing=glas: house"),
        (["--what-if", "weather.file=none.csv"], 'typical year "none.csv" is not there'),
        (
            ["--crop", "tomatoe"],
            "--crop tomatoe: 'tomatoe' is not a crop with known needs of light; the near",
        ),
        (["--crop", "salvia"], "--crop salvia: 'salvia' is not a crop with known needs of light; say which"),
        (["--crop", "tomato:flowering"], "'flowering' is not a stage; choose"),
    ],
)
def test_bad_input_is_one_sentence_and_writes_nothing(quillfen, tmp_path, capsys, words, sentence):
    """The change is named, not the file, which holds no such value."""
    out = tmp_path / "out"
    assert main(["houses", str(quillfen), "--year", "2026", "--out", str(out), *words]) == Exit.WRONG_INPUT
    printed = capsys.readouterr()
    assert printed.out == "" and len(printed.err.splitlines()) == 1
    assert sentence in printed.err
    assert not out.exists()


def test_a_site_whose_weather_is_gone_writes_nothing(quillfen, tmp_path, capsys):
    (tmp_path / "site.toml").write_text(
        (quillfen / "site.toml").read_text(encoding="utf-8"), encoding="utf-8"
    )
    assert main(["houses", str(tmp_path), "--year", "2026"]) == Exit.WRONG_INPUT
    assert len(capsys.readouterr().err.splitlines()) == 1
    assert not (tmp_path / "sheets").exists()


def test_a_washed_house_is_brighter_by_its_dirt_and_stands_beside_today(quillfen):
    """The same figures as the edited file's own answer; light grows by 1 / 0.9 where dirt took a tenth."""
    beside = told(quillfen, "--what-if", "house.block.dirt_loss=0")["what_if"]
    block = next(one for one in beside["houses"] if one["id"] == "block")
    for today, then in zip(block["today_dli"], block["then_dli"], strict=True):
        assert then == pytest.approx(today / 0.9, rel=1e-3)
    assert beside["calibrated"] is False
    assert beside["lamp_kwh"]["then"] < beside["lamp_kwh"]["today"]
    untouched = next(one for one in beside["houses"] if one["id"] == "wall")
    assert untouched["today_dli"] == untouched["then_dli"]
    site_file = quillfen / "site.toml"
    text = site_file.read_text(encoding="utf-8")
    try:
        site_file.write_text(text.replace("dirt_loss = 0.1", "dirt_loss = 0"), encoding="utf-8")
        by_hand = told(quillfen)
    finally:
        site_file.write_text(text, encoding="utf-8")
    assert by_hand["lamps"]["kwh"] == beside["lamp_kwh"]["then"]
    assert by_hand["lamps"]["cost"] == beside["lamp_cost"]["then"] < beside["lamp_cost"]["today"]
    heat = sum(house["heating_kwh"] for house in by_hand["houses"])
    assert heat == pytest.approx(beside["heating_kwh"]["then"], abs=0.01)
    plugs = next(one for one in by_hand["benches"] if one["id"] == "plugs")["monthly"]
    told_plugs = next(one for one in beside["benches"] if one["id"] == "plugs")["then_dli"]
    assert [m["sun_dli"] + m["lamp_mol"] for m in plugs] == pytest.approx(told_plugs, abs=2e-4)
    monthly = next(h["monthly"] for h in by_hand["houses"] if h["id"] == "block")
    assert [m["inside_dli"] for m in monthly] == block["then_dli"]
