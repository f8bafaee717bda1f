"""The HTML file: whole in itself, safe whatever a grower writes, and as it was agreed."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace

import pytest
from jinja2 import UndefinedError

from lightplan.report.html import css_string, sheet_html
from lightplan.report.sheet import sheet_view
from lightplan.site.models import Site
from tests.report.samples import SAMPLES


def without_letters(html: str) -> str:
    """The page without the font files inside it, which no eye can compare."""
    return re.sub(r"base64,[A-Za-z0-9+/=]+", "base64,…", html)


@pytest.mark.parametrize("name", ["one-bench", "dull", "nobody-comes"])
def test_golden(name: str, golden: Callable[[str, str], None]) -> None:
    html = without_letters(sheet_html(sheet_view(SAMPLES[name]())))
    body = html[html.index("<body") :]
    golden(f"{name}.html", body)


@pytest.mark.parametrize("name", SAMPLES)
def test_page_asks_for_nothing_outside_itself(name: str) -> None:
    html = without_letters(sheet_html(sheet_view(SAMPLES[name]())))
    assert set(re.findall(r'url\("([^"]*)', html)) == {"data:font/ttf;base64,…"}
    assert not re.search(r"<(script|link|img|iframe)\b|@import", html)
    assert re.findall(r'https?://[^"\s)<]+', html.replace("http://www.w3.org/2000/svg", "")) == []


def test_paper_follows_the_site() -> None:
    assert re.search(r"@page \{\s+size: letter;", sheet_html(sheet_view(SAMPLES["dull"]())))
    assert re.search(r"@page \{\s+size: a4;", sheet_html(sheet_view(SAMPLES["far-south"]())))


def renamed(site: Site, name: str) -> Site:
    house, bench = replace(site.houses[0], name=name), replace(site.benches[0], name=name)
    return replace(site, name=name, houses=(house, *site.houses[1:]), benches=(bench, *site.benches[1:]))


def test_names_cannot_break_out_of_the_page() -> None:
    evil = '</style><script>alert(1)</script>"; } <b>&'
    plan = SAMPLES["one-bench"]()
    site = renamed(plan.site, evil)
    plan = replace(plan, site=site, benches=(replace(plan.benches[0], bench=site.benches[0]),))
    html = sheet_html(sheet_view(plan))
    assert "<script" not in html
    assert html.count("</style>") == 2
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in html


def test_css_string_keeps_letters_and_escapes_the_rest() -> None:
    assert css_string("Kōwhai Flat, 05:15") == '"Kōwhai Flat, 05:15"'
    assert css_string('a"\\</b>') == '"a\\22 \\5c \\3c \\2f b\\3e "'


def test_a_word_that_is_missing_is_an_error_not_a_gap() -> None:
    sheet = sheet_view(SAMPLES["one-bench"]())
    broken = replace(sheet, head=object())  # type: ignore[arg-type]
    with pytest.raises(UndefinedError):
        sheet_html(broken)


def test_nothing_prints_as_python() -> None:
    for make in SAMPLES.values():
        html = without_letters(sheet_html(sheet_view(make())))
        html = re.sub(
            r'<p class="cautions">.*?</p>', "", html, flags=re.DOTALL
        )  # articles of codes like 410.184
        text = re.sub(r"<style.*?</style>|<[^>]+>", " ", html, flags=re.DOTALL)
        assert not re.search(r"\bNone\b|\bnan\b|\bTrue\b|\bFalse\b|\binf\b|\d\.\d{3,}", text)
