"""Site files made in a test, and what the reader says of them."""

from __future__ import annotations

from pathlib import Path

from lightplan.site.models import Site
from lightplan.site.problems import SiteError
from lightplan.site.read import load_text

HERE = Path(__file__).parent

SMALLEST = """\
[site]
name = "Small"
latitude = 52.0
longitude = 0.0
timezone = "Europe/London"
[[house]]
id = "glass"
shape = "gable"
width_m = 9
length_m = 20
eave_m = 2.4
ridge_m = 4.7
ridge_azimuth_deg = 90
glazing = "single-glass"
[[bench]]
id = "b"
house = "glass"
area_m2 = 12
"""


def site_of(text: str) -> Site:
    return load_text(text, Path("small")).site


def problems_of(text: str) -> list[str]:
    """What the reader refuses, one line a problem; empty where it refuses nothing."""
    try:
        load_text(text, Path("small"))
    except SiteError as error:
        return str(error).splitlines()
    return []


def warnings_of(text: str) -> list[str]:
    return [str(warning) for warning in load_text(text, Path("small")).warnings]


def with_line(line: str, *, after: str, text: str = SMALLEST) -> str:
    """The text with a line put in after the first line that starts with `after`."""
    lines = text.splitlines()
    at = next(number for number, held in enumerate(lines) if held.startswith(after))
    return "\n".join([*lines[: at + 1], line, *lines[at + 1 :]]) + "\n"


def changed(old: str, new: str, text: str = SMALLEST) -> str:
    assert old in text
    return text.replace(old, new)
