"""Broken files by family of rules: each beside the complete list of messages it must give."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest

from lightplan.problems import InputError
from lightplan.site.problems import SiteError
from lightplan.site.read import load_text, read_site
from tests.site.texts import SMALLEST, changed, problems_of

BROKEN = sorted((Path(__file__).parent / "broken").glob("*.toml"))


@pytest.mark.parametrize("path", BROKEN, ids=lambda path: path.stem)
def test_every_message(path: Path, golden_file: Callable[[Path, str], None]) -> None:
    with pytest.raises(SiteError) as caught:
        load_text(path.read_text(encoding="utf-8"), path.parent)
    golden_file(path.with_suffix(".expected.txt"), f"{caught.value}\n")


@pytest.mark.parametrize("path", BROKEN, ids=lambda path: path.stem)
def test_messages_are_sentences_of_our_own(path: Path) -> None:
    """Each names the file, ends as a sentence, and holds nothing of pydantic's or Python's words."""
    with pytest.raises(SiteError) as caught:
        load_text(path.read_text(encoding="utf-8"), path.parent)
    for problem in caught.value.problems:
        line = str(problem)
        assert line.startswith("site.toml: ") and line[-1] in ".?" and "\n" not in line
        assert not re.search(
            r"Input should|validation error|pydantic|NoneType|datetime|dict|tuple|Traceback", line
        )
        assert problem.slug and problem.message in line


def test_a_site_error_is_an_input_error() -> None:
    assert issubclass(SiteError, InputError)


def test_no_file(tmp_path: Path) -> None:
    with pytest.raises(SiteError, match=r"there is no site\.toml here; lightplan start .* makes one\.$"):
        read_site(tmp_path / "nowhere")


def test_a_folder_in_place_of_the_file(tmp_path: Path) -> None:
    (tmp_path / "site.toml").mkdir()
    with pytest.raises(SiteError, match="cannot be read"):
        read_site(tmp_path)


def test_messages_come_in_file_order() -> None:
    """Houses and benches may stand in any order; so do the messages, whatever rule gives them."""
    text = SMALLEST.replace("area_m2 = 12", "area_m2 = -1") + (
        '[[house]]\nid = "two"\nshape = "gable"\nwidth_m = 9\nlength_m = 20\neave_m = 3\nridge_m = 2\n'
        'ridge_azimuth_deg = 0\nglazing = "nope"\n[[bench]]\nid = "c"\nhouse = "two"\n'
        "area_m2 = 1\nheigth_m = 1\n"
        "[power]\nother_kw = -3\n"
    )
    places = [re.findall(r"site\.toml: ([^:]+):", line)[0] for line in problems_of(text)]
    assert places == ['bench "b"', 'house "two"', 'house "two"', 'bench "c"', "power"]


def test_one_wrong_key_does_not_hide_another_rule() -> None:
    """A wrong type in a house leaves its geometry to be checked."""
    text = changed('glazing = "single-glass"', 'glazing = "single-glass"\nspans = "one"', SMALLEST)
    text = changed("ridge_m = 4.7", "ridge_m = 1.8", text)
    assert [line.split(": ", 2)[2] for line in problems_of(text)] == [
        "ridge_m is 1.8, below eave_m 2.4; give the height at the ridge.",
        'spans is "one"; give the number of spans as a whole number, without quotes.',
    ]


def test_the_design_s_example_sentence() -> None:
    assert problems_of(changed("ridge_m = 4.7", "ridge_m = 1.8")) == [
        'site.toml: house "glass": ridge_m is 1.8, below eave_m 2.4; give the height at the ridge.'
    ]


@pytest.mark.parametrize("latitude", ["36.1", "-36.1", "90", "-90"])
def test_latitudes_up_to_the_poles_are_taken(latitude: str) -> None:
    assert problems_of(changed("latitude = 52.0", f"latitude = {latitude}")) == []


def test_what_is_not_repeated() -> None:
    """A key put where its variable's name belongs is not printed."""
    text = SMALLEST + '[weather]\napi_key_env = "abc-123-secret"\n'
    [problem] = problems_of(text)
    assert "secret" not in problem
