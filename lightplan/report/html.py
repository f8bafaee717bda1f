"""SheetView → one self-contained HTML file: style and letters inside, so that it prints from any browser."""

from __future__ import annotations

import base64
from functools import cache

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from lightplan.report.view import SheetView
from lightplan.shipped import templates_folder

FONTS = {"regular": "AtkinsonHyperlegibleNext-Regular.ttf", "bold": "AtkinsonHyperlegibleNext-Bold.ttf"}


def sheet_html(sheet: SheetView) -> str:
    """The morning sheet as HTML text."""
    return filled("morning.html.j2", footer=sheet.footer, sheet=sheet)


def filled(template: str, *, footer: str, **view: object) -> str:
    """A page of `templates` with its view, style and letters put in."""
    return (
        _environment()
        .get_template(template)
        .render(
            css=_css("page.css"),
            screen_css=_css("screen.css"),
            fonts=_fonts(),
            footer=css_string(footer),
            **view,
        )
    )


def css_string(text: str) -> Markup:
    """Text as a quoted CSS string that can end neither itself nor the style element around it."""
    safe = "".join(c if c.isalnum() or c in " .,:;-–" else f"\\{ord(c):x} " for c in text)
    return Markup(f'"{safe}"')


@cache
def _environment() -> Environment:
    return Environment(
        loader=FileSystemLoader(templates_folder(), encoding="utf-8"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


@cache
def _css(name: str) -> Markup:
    return Markup((templates_folder() / name).read_text(encoding="utf-8"))


@cache
def _fonts() -> dict[str, str]:
    folder = templates_folder() / "fonts"
    return {
        weight: "data:font/ttf;base64," + base64.b64encode((folder / name).read_bytes()).decode("ascii")
        for weight, name in FONTS.items()
    }
