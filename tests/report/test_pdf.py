"""Facts of the printed page: pages, words, letters, edges."""

from __future__ import annotations

import dataclasses
import io
import os
import re
import sys
import time
from collections.abc import Iterator
from functools import cache
from typing import Any

import pytest
from markupsafe import Markup

from lightplan.report.density import HEIGHTS, SETTINGS, height_pt, room_pt
from lightplan.report.house_strips import strip_block
from lightplan.report.html import sheet_html
from lightplan.report.pdf import Pdf, PdfUnavailable, document, engine_versions, make_pdf
from lightplan.report.sheet import sheet_view
from lightplan.report.units import units_of
from lightplan.report.view import SheetView
from tests.report.samples import SAMPLES

pypdf = pytest.importorskip("pypdf")
PAGES = {name: 2 if name in {"thirty", "everything"} else 1 for name in SAMPLES}


@cache
def sheet(name: str) -> SheetView:
    return sheet_view(SAMPLES[name]())


@cache
def printed(name: str) -> Pdf:
    return make_pdf(sheet_html(sheet(name)))


@pytest.fixture(autouse=True, scope="module")
def pango() -> None:
    try:
        make_pdf("<p>x</p>")
    except PdfUnavailable as reason:
        pytest.skip(str(reason))


def reader(pdf: Pdf) -> Any:
    return pypdf.PdfReader(io.BytesIO(pdf.content))


def strings(value: Any) -> Iterator[str]:
    """Every text that the view holds, drawings left out."""
    if isinstance(value, Markup):
        return
    if isinstance(value, str):
        yield value
    elif isinstance(value, tuple):
        for item in value:
            yield from strings(item)
    elif dataclasses.is_dataclass(value):
        for field in dataclasses.fields(value):
            if field.name not in {"paper", "density", "more", "title", "hours"}:
                yield from strings(getattr(value, field.name))


def squeezed(text: str) -> str:
    """Without blanks and line ends: where a line breaks is no matter here."""
    return re.sub(r"\s+", "", text)


def boxes_of(page: Any, *, margins: bool) -> Iterator[tuple[Any, str, float, float]]:
    """Text boxes of a page with their right and lower edge. Private names of the renderer: only here."""
    boxes = [page._page_box]
    for box in boxes:
        inner = getattr(box, "children", ())
        boxes.extend(b for b in inner if margins or type(b).__name__ != "MarginBox")
        if getattr(box, "text", ""):
            yield page, box.text, box.position_x + box.width, box.position_y + box.height


def body_boxes(page: Any) -> Iterator[tuple[Any, str, float, float]]:
    return boxes_of(page, margins=False)


def text_boxes(html: str) -> Iterator[tuple[Any, str, float, float]]:
    for page in document(html).pages:
        yield from boxes_of(page, margins=True)


@pytest.mark.parametrize("name", SAMPLES)
def test_pages(name: str) -> None:
    assert len(reader(printed(name)).pages) == PAGES[name]


@pytest.mark.parametrize("setting", [*SETTINGS, "packed"])
@pytest.mark.parametrize("name", ["dull", "midsummer", "one-bench", "nobody-comes"])
def test_reckoned_height_is_the_laid_out_one(name: str, setting: str) -> None:
    """Within 60 pt, about two orders, and never so short that a sheet reckoned for one page takes two."""
    plan = SAMPLES[name]()
    strips = strip_block(plan, units_of(plan.site), setting)
    found = dataclasses.replace(sheet(name), density=setting, strips=strips)
    room = room_pt(found)
    pages = document(sheet_html(found)).pages
    if len(pages) > 1:
        assert height_pt(found, setting) > room
    else:
        top_pt, below_initials_pt = (19.8 if setting == "packed" else 25.5), HEIGHTS[setting].readings - 16
        laid_pt = (
            max(low for _, text, _, low in body_boxes(pages[0]) if text) * 0.75 - top_pt + below_initials_pt
        )
        assert laid_pt - 2 < height_pt(found, setting) < laid_pt + 60


@pytest.mark.parametrize("name", SAMPLES)
def test_every_string_of_the_view_is_printed(name: str) -> None:
    text = squeezed("".join(page.extract_text() for page in reader(printed(name)).pages))
    missing = [s for s in strings(sheet(name)) if squeezed(s) not in text]
    assert missing == []


@pytest.mark.parametrize("name", ["thirty", "dull", "one-bench", "everything"])
def test_every_text_lies_within_its_page(name: str) -> None:
    seen = 0
    for page, text, right, low in text_boxes(sheet_html(sheet(name))):
        seen += 1
        assert right <= page.width and low <= page.height, text
    assert seen > 50


@pytest.mark.parametrize("name", SAMPLES)
def test_renderer_has_nothing_to_complain_of(name: str) -> None:
    assert printed(name).complaints == ()


@pytest.mark.parametrize("name", ["thirty", "far-south"])
def test_only_our_letters_are_in_the_file(name: str) -> None:
    fonts = {
        str(font.get_object()["/BaseFont"]).split("+")[-1]
        for page in reader(printed(name)).pages
        for font in page["/Resources"]["/Font"].values()
    }
    assert fonts and all(name.lower().replace("-", "").startswith("morningsheet") for name in fonts), fonts


@pytest.mark.parametrize("name", ["dull", "far-south"])
def test_paper_size(name: str) -> None:
    # ANSI/ASME Y14.1 letter 8.5 × 11 in; ISO 216 A4 210 × 297 mm
    inches = (8.5, 11.0) if sheet(name).paper == "letter" else (210 / 25.4, 297 / 25.4)
    box = reader(printed(name)).pages[0].mediabox
    assert (float(box.width), float(box.height)) == pytest.approx((inches[0] * 72, inches[1] * 72), abs=0.1)


def test_same_page_same_bytes() -> None:
    html = sheet_html(sheet("one-bench"))
    assert make_pdf(html).content == make_pdf(html).content


def test_same_bytes_a_second_later_without_harfbuzz_subset(monkeypatch: pytest.MonkeyPatch) -> None:
    import weasyprint.pdf.fonts as fonts  # type: ignore[import-untyped]

    monkeypatch.setattr(fonts, "harfbuzz_subset", None)
    html = sheet_html(sheet("one-bench"))
    first = make_pdf(html)
    time.sleep(1.1)
    assert make_pdf(html) == first
    assert "SOURCE_DATE_EPOCH" not in os.environ


def test_what_the_renderer_complains_of_is_collected() -> None:
    (complaint,) = make_pdf('<p style="colour: red">x</p>').complaints
    assert "colour" in complaint


def test_network_and_files_are_refused() -> None:
    for address in ("http://127.0.0.1:9/x.png", "file:///etc/hostname"):
        (complaint,) = make_pdf(f'<img src="{address}">').complaints
        assert "disallowed protocol" in complaint


def test_without_pango_it_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    class NoPango:
        def find_spec(self, name: str, path: object = None, target: object = None) -> None:
            if name == "weasyprint":
                raise OSError("cannot load library 'libpango-1.0-0'")

    monkeypatch.delitem(sys.modules, "weasyprint", raising=False)
    monkeypatch.setattr(sys, "meta_path", [NoPango(), *sys.meta_path])
    with pytest.raises(PdfUnavailable) as said:
        make_pdf("<p>x</p>")
    for word in ("Debian", "Ubuntu", "Fedora", "macOS", "brew install pango", "Windows", "HTML"):
        assert word in str(said.value)
    assert "without Pango" in engine_versions()


def test_versions_for_bug_reports() -> None:
    assert re.fullmatch(r"WeasyPrint \d+\.\d+\nPango \d+\.\d+\.\d+", engine_versions())
