"""A fresh site: what is asked, the file it makes, the samples it copies."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import UTC, datetime
from importlib.resources import files
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from lightplan import shipped
from lightplan.problems import InputError
from lightplan.site import sample_copy
from lightplan.site.models import Shape
from lightplan.site.read import load_text, read_site
from lightplan.site.rules_shape import ONLY_FOR
from lightplan.site.start import (
    QUESTIONS,
    answered,
    copy_sample,
    read_answer,
    sample_names,
    site_toml,
    write_new_site,
    zone_at,
)
from lightplan.site.strange_keys import every_table
from lightplan.site.table import fields

CAROLINA = {"name": "Fern Hill", "latitude": "36.1", "longitude": "79.95 W"}
FENS = {"name": "Rye Bank", "latitude": "52.4", "longitude": "0.1"}
QUESTION = {question.key: question for question in QUESTIONS}


def answer(texts: Mapping[str, str]) -> dict[str, object]:
    """The questions put one by one, an empty answer taking the default."""
    given: dict[str, object] = {}
    for question in QUESTIONS:
        if question.asked(given):
            text = texts.get(question.key) or question.default_for(given)
            assert text is not None, question.key
            given[question.key] = read_answer(question, text, given)
    return given


def fresh(texts: Mapping[str, str]) -> str:
    return site_toml(answered(answer(texts)), 2026)


@pytest.mark.parametrize("place", [CAROLINA, FENS], ids=["feet", "metres"])
@pytest.mark.parametrize("shape", ["gable", "hoop", "gothic", "multispan", "lean-to", "flat"])
def test_a_fresh_file_reads_back_without_problems(place: dict[str, str], shape: str) -> None:
    loaded = load_text(fresh({**place, "shape": shape}), Path("fresh"))
    assert loaded.warnings == ()
    house = loaded.site.houses[0]
    assert house.shape is Shape(shape)
    assert loaded.site.us_units is (place is CAROLINA)
    assert house.width_m == pytest.approx(9.144 if place is CAROLINA else 9.1)


def test_answers_stand_in_the_file_as_given() -> None:
    texts = {**CAROLINA, "house": "Old glasshouse", "width_m": "28.5", "length_m": "30 m", "lamp_ppfd": "85"}
    text = fresh({**texts, "lamp_power_kw": "0.75", "glazing": "low_iron_glass"})
    site = load_text(text, Path("fresh")).site
    house, bench = site.houses[0], site.benches[0]
    assert (site.latitude, site.longitude, site.timezone.key) == (36.1, -79.95, "America/New_York")
    assert "\nwidth_ft = 28.5 " in text
    assert (house.id, house.name) == ("old-glasshouse", "Old glasshouse")
    assert house.length_m == pytest.approx(30, abs=2e-4)  # a thousandth of a foot is kept
    assert house.glazing.name == "low-iron-glass"
    assert bench.lamps is not None
    assert (bench.lamps.ppfd_umol_m2_s, bench.lamps.power_kw) == (85, 0.75)


BLOCKS = (
    "SiteTable WeatherTable PowerTable DeliverTable MailTable GlazingTable CoverTable NeedsTable HouseTable "
    "BenchTable BatchRow"
)
# shown as [[bench.batch]] and [deliver.mail], or by their other form
OTHER_FORM = ("batch", "mail", "extinction_per_m", "thickness_mm")


@pytest.mark.parametrize("lamps", [{}, {"lamp_ppfd": "85", "lamp_power_kw": "0.75"}], ids=["dark", "lit"])
def test_every_key_stands_in_the_file(lamps: dict[str, str]) -> None:
    """Each with a plain explanation; keys of rows inside others are shown by example."""
    text = fresh({**FENS, **lamps})
    for table in every_table()[1:]:
        for key, info in fields(table).items():
            if key in OTHER_FORM:
                continue
            assert re.search(rf"\b{key}\b", text), (table.__name__, key)
            if table.__name__ in BLOCKS.split():
                shown = rf"^(# )?{key} = .*  # {re.escape(info.description or '?')}$"
                assert re.search(shown, text, re.MULTILINE), (table.__name__, key)


COMMENTED = re.compile(r"^# (\[.*\]|[a-z_0-9]+ = .*)$", re.M)


def test_every_comment_may_be_taken_off() -> None:
    """Each commented key read alone gives no problem; commented tables are read with their header."""
    lines = fresh(FENS).splitlines()
    tried = 0
    for number, line in enumerate(lines):
        if not COMMENTED.match(line) or line.startswith("# ["):
            continue
        key = line[2:].split(" = ")[0]
        if ONLY_FOR.get(key) or key in ("section", "then", "normal_transmittance"):
            continue
        changed = list(lines)
        for at in block(lines, number):
            changed[at] = lines[at].removeprefix("# ")
        changed[number] = line.removeprefix("# ")
        load_text("\n".join(changed), Path("fresh"))
        tried += 1
    assert tried > 60


def block(lines: list[str], number: int) -> range | list[int]:
    """The lines to uncomment with a line: a commented table as a whole, else that line alone."""
    header = number
    while header and not re.match(r"#? ?\[", lines[header]):
        header -= 1
    if not lines[header].startswith("# ["):
        return [number]
    end = header
    while end < len(lines) and lines[end]:
        end += 1
    return range(header, end)


@pytest.mark.parametrize(
    ("key", "text", "message"),
    [
        ("latitude", "north", r"^north is not a number\.$"),
        ("latitude", "136", r"^latitude is 136; give the latitude in degrees north .* from -90 to 90\.$"),
        ("longitude", "200", r"^longitude is 200; give the longitude"),
        ("name", "  ", r"^Give a word or two\.$"),
        ("shape", "gabel", r'^shape is "gabel"; the nearest is "gable"\.$'),
        ("width_m", "0", r"^width_ft is 0; give the width of one span"),
        ("width_m", "9 miles", r"give m or ft\.$"),
        ("ridge_m", "3", r"^ridge_ft is 3, below eave_ft 8; give the height at the ridge\.$"),
        ("ridge_azimuth_deg", "270", r"^ridge_azimuth_deg is 270; .* 90 seen from its other end\.$"),
        ("glazing", "glass", r'^glazing is "glass", which is no glazing; the nearest is "single-glass"\.$'),
        ("area_m2", "1000000", r"^area_ft2 is 1000000, more than the floor of house"),
        ("lamp_ppfd", "-5", r"^ppfd is -5; give the light at the trays"),
    ],
)
def test_answers_are_held_against_the_site_file_s_own_rules(key: str, text: str, message: str) -> None:
    with pytest.raises(InputError, match=message):
        answer({**CAROLINA, key: text})


def test_wrong_later_answers_do_not_blame_earlier_ones() -> None:
    given = answer(CAROLINA)
    assert read_answer(QUESTION["eave_m"], "12", {**given, "ridge_m": 4.7}) == pytest.approx(12 * 0.3048)


def test_what_is_missing_is_named() -> None:
    with pytest.raises(InputError, match=r"^--longitude is missing: Longitude in degrees"):
        answered({"name": "x", "latitude": 1.0})


def test_questions_are_options_of_their_own() -> None:
    options = [question.option for question in QUESTIONS]
    assert len(set(options)) == len(options)
    assert {"--name", "--latitude", "--width", "--ridge-azimuth", "--area", "--lamp-power-kw"} <= set(options)


def test_units_of_the_questions_follow_the_place() -> None:
    us, metric = {"latitude": 36.1, "longitude": -79.95}, {"latitude": 52.4, "longitude": 0.1}
    assert QUESTION["width_m"].wording(us) == "Width of one span in ft"
    assert QUESTION["width_m"].wording(metric) == "Width of one span in m"
    assert QUESTION["area_m2"].wording(us) == "Its growing area in ft²"
    assert QUESTION["glazing"].default_for({"shape": "hoop"}) == "double-poly"


def zone_places() -> list[tuple[str, float, float]]:
    """Zone and the coordinates of its principal place, from the tz database's zone.tab (package tzdata)."""
    rows = (files("tzdata") / "zoneinfo" / "zone.tab").read_text(encoding="utf-8").splitlines()
    found = []
    for row in (line.split("\t") for line in rows if line and not line.startswith("#")):
        latitude, longitude = re.findall(r"[+-]\d+", row[1])
        found.append((row[2], sexagesimal(latitude, 2), sexagesimal(longitude, 3)))
    return found


def sexagesimal(text: str, digits: int) -> float:
    """±DDMM or ±DDDMMSS → degrees."""
    sign, rest = (-1 if text[0] == "-" else 1), text[1:].ljust(digits + 4, "0")
    return sign * (int(rest[:digits]) + int(rest[digits : digits + 2]) / 60 + int(rest[digits + 2 :]) / 3600)


def test_zones_against_the_tz_database() -> None:
    """The zone found at each zone's principal place keeps the same clock, winter and summer, in 99 of 100."""
    dates = [datetime(2026, month, 15, tzinfo=UTC) for month in (1, 7)]
    places = zone_places()
    wrong = [
        zone
        for zone, latitude, longitude in places
        if [day.astimezone(ZoneInfo(zone)).utcoffset() for day in dates]
        != [day.astimezone(ZoneInfo(zone_at(latitude, longitude))).utcoffset() for day in dates]
    ]
    assert len(places) > 400
    assert len(wrong) <= len(places) / 100, wrong


def test_a_new_site_is_written_once(tmp_path: Path) -> None:
    folder = tmp_path / "range" / "home"
    path = write_new_site(folder, fresh(FENS))
    assert read_site(folder).name == "Rye Bank"
    before = path.read_text(encoding="utf-8")
    with pytest.raises(InputError, match=r"stands already; start never overwrites it\.$"):
        write_new_site(folder, fresh(CAROLINA))
    assert path.read_text(encoding="utf-8") == before


@pytest.fixture
def samples(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of samples as the package carries them, with what a sample must not pass on."""
    sample = tmp_path / "package" / "sample_sites" / "fern-hill"
    (sample / "sheets").mkdir(parents=True)
    for name in (
        "site.toml",
        "weather.csv",
        "README.md",
        "records.db",
        "records.db-wal",
        "sheets/2026-01-10.pdf",
    ):
        (sample / name).write_text(name, encoding="utf-8")
    monkeypatch.setattr(sample_copy, "samples_folder", lambda: sample.parent)
    return sample.parent


def test_a_sample_is_copied_without_sheets_and_records(samples: Path, tmp_path: Path) -> None:
    assert sample_names() == ("fern-hill",)
    target = copy_sample("fern-hill", tmp_path / "mine")
    assert sorted(path.name for path in target.rglob("*")) == ["README.md", "site.toml", "weather.csv"]


def test_a_sample_overwrites_nothing(samples: Path, tmp_path: Path) -> None:
    (tmp_path / "weather.csv").write_text("mine", encoding="utf-8")
    with pytest.raises(InputError, match=r"weather\.csv stands already"):
        copy_sample("fern-hill", tmp_path)
    assert (tmp_path / "weather.csv").read_text(encoding="utf-8") == "mine"
    assert not (tmp_path / "site.toml").exists()


def test_unknown_samples_and_targets_inside_the_package_are_refused(samples: Path) -> None:
    with pytest.raises(InputError, match=r"^fern-hil is not a sample; the nearest is fern-hill\.$"):
        copy_sample("fern-hil", Path("anywhere"))
    with pytest.raises(InputError, match="lies inside the program"):
        copy_sample("fern-hill", samples / "fern-hill" / "copy")
    with pytest.raises(InputError, match="lies inside the program"):
        copy_sample("fern-hill", shipped.HERE / "copy")


@pytest.mark.parametrize(
    "name", sorted(path.parent.name for path in shipped.samples_folder().glob("*/site.toml"))
)
def test_shipped_samples_are_sound(name: str) -> None:
    read_site(shipped.samples_folder() / name)
