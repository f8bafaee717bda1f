"""Files that are not TOML: one clear sentence with the line, in our own words."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from lightplan.site.problems import SiteError
from lightplan.site.read import read_site
from tests.site.texts import SMALLEST, changed, problems_of

LINE_3 = changed("latitude = 52.0", "{}")


@pytest.mark.parametrize(
    ("line", "message"),
    [
        ("crew = [06:30, 18:00]", 'crew = [06:30, 18:00] has 06:30 without quotes; write "06:30".'),
        ("crew = 22:30 # 9:30 too", 'crew = 22:30 # 9:30 too has 22:30 without quotes; write "22:30".'),
        ("latitude = 52,0", "latitude = 52,0 cannot be read; write decimals with a point: 9.1."),
        (
            "latitude = north",
            'latitude = north cannot be read; put quotes round words, as in shape = "gable".',
        ),
        ("foot_candles = True", "foot_candles = True cannot be read; write true or false."),
        (
            "latitude = 52 deg",
            "latitude = 52 deg cannot be read; write the number alone; the unit is in the key.",
        ),
        ("latitude = 52°", "latitude = 52° cannot be read; write the number alone; the unit is in the key."),
        ("latitude =", "latitude = cannot be read; give a value after the =, or take the line out."),
        ("latitude: 52", "latitude: 52 cannot be read; put = between key and value."),
        ("latitude 52", "latitude 52 cannot be read; put = between key and value."),
        (
            "days_off = [2026-02-30]",
            "days_off = [2026-02-30] cannot be read; that date or time does not exist.",
        ),
        ("longitude = 1", "longitude = 0.0 cannot be read; this is already given above; keep one."),
        ("crew = “06:30”", 'crew = “06:30” cannot be read; use straight quotes ", not curly ones.'),
        ("[site]", "[site] cannot be read; this is already given above; keep one."),
    ],
)
def test_broken_lines(line: str, message: str) -> None:
    at = 4 if line.startswith("longitude") else 3
    assert problems_of(LINE_3.format(line)) == [f"site.toml: line {at}: {message}"]


def test_every_clock_without_quotes_is_told_at_once() -> None:
    text = LINE_3.format("crew = [06:30, 18:00]") + 'lamp_hours = [05:00, "20:00"]\nname = "not 07:00"\n'
    lines = [line.split(":")[1].strip() for line in problems_of(text)]
    assert lines == ["line 3", f"line {len(SMALLEST.splitlines()) + 1}"]


@pytest.mark.parametrize(
    ("end", "message"),
    [
        ("x = [1, 2", "site.toml: ends inside a value; a [ is not closed, or a comma is missing."),
        ('x = "abc', "site.toml: ends inside a value; a quote is not closed."),
        ("x = { a = 1", "site.toml: ends inside a value; a { is not closed, or a comma is missing."),
        ("x = " + "[" * 5000, "site.toml: nests lists too deeply; no value needs more than three [."),
        ("x = " + "9" * 5000, "site.toml: holds a number of thousands of digits; write ordinary numbers."),
    ],
)
def test_broken_ends(end: str, message: str) -> None:
    assert problems_of(SMALLEST + end) == [message]


def test_a_byte_order_mark_and_windows_line_ends_are_no_trouble(folder_with: Callable[..., Path]) -> None:
    text = SMALLEST.replace("\n", "\r\n").replace("Small", "Gärtnerei")
    assert read_site(folder_with(b"\xef\xbb\xbf" + text.encode())).name == "Gärtnerei"
    assert read_site(folder_with(text.encode("utf-16"))).name == "Gärtnerei"


def test_other_encodings_are_told_with_their_line(folder_with: Callable[..., Path]) -> None:
    folder = folder_with(SMALLEST.replace("Small", "Gärtnerei").encode("latin-1"))
    with pytest.raises(SiteError) as caught:
        read_site(folder)
    told = "site.toml: line 2: holds a letter that is not UTF-8; save the file as UTF-8 text."
    assert str(caught.value) == told


def test_toml_s_own_times_and_quoted_dates_are_taken() -> None:
    text = SMALLEST.replace("timezone", 'crew = [06:30:00, 18:00:00]\ndays_off = ["2026-07-04"]\ntimezone')
    assert problems_of(text) == []
