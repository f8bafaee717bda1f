"""Files: which are written, in what order, and never by halves."""

from __future__ import annotations

from pathlib import Path

import pytest

from lightplan.files import replace_file
from lightplan.report import write
from lightplan.report.pdf import PdfUnavailable
from lightplan.report.write import write_sheet
from tests.report.samples import SAMPLES


def no_pdf(html: str) -> None:
    raise PdfUnavailable("install this")


def test_files_carry_the_date(tmp_path: Path) -> None:
    result = write_sheet(SAMPLES["one-bench"](), ("json", "html"), tmp_path / "sheets")
    assert [f.name for f in result.files] == ["2026-01-10.html", "2026-01-10.json"]
    assert sorted(p.name for p in (tmp_path / "sheets").iterdir()) == ["2026-01-10.html", "2026-01-10.json"]
    assert result.missing == ()


def test_without_pdf_the_html_stands_in(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(write, "make_pdf", no_pdf)
    result = write_sheet(SAMPLES["one-bench"](), ("pdf",), tmp_path)
    assert [f.name for f in result.files] == ["2026-01-10.html"]
    assert result.missing == ("install this",)


def test_unknown_format_is_refused_before_anything_is_written(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="docx"):
        write_sheet(SAMPLES["one-bench"](), ("html", "docx"), tmp_path / "sheets")
    assert not (tmp_path / "sheets").exists()


def test_a_file_that_stands_is_replaced_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "sheet.html"
    replace_file(path, b"old")
    replace_file(path, b"new")
    assert path.read_bytes() == b"new"

    def fail(self: Path, target: Path) -> None:
        raise OSError("disk full")

    monkeypatch.setattr(Path, "replace", fail)
    with pytest.raises(OSError, match="disk full"):
        replace_file(path, b"half")
    monkeypatch.undo()
    assert path.read_bytes() == b"new"
    assert [p.name for p in tmp_path.iterdir()] == ["sheet.html"]
