"""The finished sheet into files: HTML first, nothing half-written."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path

from lightplan.changes import SecondLook
from lightplan.dayplan import DayPlan
from lightplan.files import replace_file
from lightplan.report.html import sheet_html
from lightplan.report.json_form import json_text
from lightplan.report.json_morning import morning_json
from lightplan.report.pdf import PdfUnavailable, make_pdf
from lightplan.report.sheet import sheet_view

FORMATS = ("html", "json", "pdf")  # in the order they are written: the surest first


@dataclass(frozen=True)
class WriteResult:
    """files : what was written. missing : a sentence for each format that could not be made.
    complaints : what the PDF renderer logged.
    """

    files: tuple[Path, ...]
    missing: tuple[str, ...]
    complaints: tuple[str, ...]


def write_sheet(
    plan: DayPlan,
    formats: Collection[str],
    out_folder: Path,
    *,
    steps: bool = False,
    look: SecondLook | None = None,
) -> WriteResult:
    """Write the sheet of a plan as `YYYY-MM-DD.FORMAT` for each of `formats` (of FORMATS).

    look : what changed since the day's first plan; the JSON says nothing of it.

    A PDF that can't be made is reported, and the HTML stands in for it. Raises OSError where the
    folder can't be written, ValueError on an unknown format.
    """
    html = sheet_html(sheet_view(plan, look)) if {"html", "pdf"} & set(formats) else ""
    text = morning_text(plan, steps=steps) if "json" in formats else ""
    return write_page(plan.day.isoformat(), html, text, formats, out_folder)


def write_page(name: str, html: str, text: str, formats: Collection[str], out_folder: Path) -> WriteResult:
    """Write a page as `NAME.FORMAT` for each of `formats`, like `write_sheet`.

    html : the page, may be empty where only JSON is asked. text : its JSON.
    """
    unknown = sorted(set(formats) - set(FORMATS))
    if unknown:
        raise ValueError(f"format {unknown[0]} is not one of {', '.join(FORMATS)}")
    out_folder.mkdir(parents=True, exist_ok=True)
    files: list[Path] = []
    missing: list[str] = []
    complaints: tuple[str, ...] = ()

    def keep(content: bytes, suffix: str) -> None:
        path = out_folder / f"{name}.{suffix}"
        replace_file(path, content)
        files.append(path)

    if "html" in formats:
        keep(html.encode(), "html")
    if "json" in formats:
        keep(text.encode(), "json")
    if "pdf" in formats:
        try:
            pdf = make_pdf(html)
        except PdfUnavailable as unavailable:
            missing.append(str(unavailable))
            if "html" not in formats:
                keep(html.encode(), "html")
        else:
            complaints = pdf.complaints
            keep(pdf.content, "pdf")
    return WriteResult(tuple(files), tuple(missing), complaints)


def morning_text(plan: DayPlan, *, steps: bool = False) -> str:
    """The `morning` JSON as text that ends with a newline."""
    return json_text(morning_json(plan, steps=steps))
