"""What looks odd is said, and stops nothing."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from lightplan.site.describe import describe
from lightplan.site.read import load_site
from tests.site.texts import SMALLEST, changed, warnings_of, with_line

HERE = Path(__file__).parent


def test_every_warning(golden_file: Callable[[Path, str], None]) -> None:
    warnings = load_site(HERE / "odd").warnings
    golden_file(HERE / "odd" / "warnings.txt", "".join(f"{warning}\n" for warning in warnings))


def test_warnings_are_described() -> None:
    loaded = load_site(HERE / "odd")
    text = describe(loaded)
    assert loaded.warnings and all(str(warning) in text for warning in loaded.warnings)


@pytest.mark.parametrize("name", ["good", "full"])
def test_a_plausible_site_gives_none(name: str) -> None:
    assert load_site(HERE / name).warnings == ()


@pytest.mark.parametrize(
    ("ppfd", "likely"),
    # over 12 m² from 1.2 kW: ppfd × 12 ÷ 1200, so the contract's 3.5 and 0.2 µmol/J are 350 and 20
    [(351, False), (350, True), (20, True), (19.9, False)],
)
def test_lamps_are_likely_between_a_fifth_and_three_and_a_half(ppfd: float, likely: bool) -> None:
    warnings = warnings_of(with_line(f"lamps = {{ ppfd = {ppfd}, power_kw = 1.2 }}", after="area_m2"))
    assert (warnings == []) is likely


@pytest.mark.parametrize(
    ("zone", "longitude", "likely"),
    # standard time: New York −5 h = 75° W; 3 h are 45°
    [
        ("America/New_York", -75, True),
        ("America/New_York", -119.9, True),
        ("America/New_York", -120.1, False),
        ("America/New_York", 75, False),
        ("Asia/Kolkata", 77, True),
        ("Pacific/Auckland", 178, True),
        ("Pacific/Tongatapu", -175, True),  # +13 h east of the date line's bend: the sun agrees
        ("Asia/Shanghai", 75.1, True),  # one zone for all of China: 2 h 59 min
    ],
)
def test_clock_and_sun(zone: str, longitude: float, likely: bool) -> None:
    text = changed("longitude = 0.0", f"longitude = {longitude}", changed("Europe/London", zone))
    assert (warnings_of(text) == []) is likely


def test_batches_of_one_sowing_that_follow_each_other_are_no_oddity() -> None:
    batch = '[[bench.batch]]\ncrop = "petunia"\nstage = "{}"\nfrom = {}\nto = {}\nsown = 2026-01-20\n'
    follow = batch.format("germination", "2026-01-20", "2026-02-02") + batch.format(
        "seedling", "2026-02-03", "2026-03-20"
    )
    assert warnings_of(SMALLEST + follow) == []
    assert len(warnings_of(SMALLEST + follow.replace("2026-02-02", "2026-02-05"))) == 1
