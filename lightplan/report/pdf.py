"""HTML → PDF. The renderer is imported here alone and late: it needs Pango, which may be missing."""

from __future__ import annotations

import hashlib
import logging
import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

INSTALL_PANGO = """\
A PDF needs the Pango library, and none could be loaded here. The HTML sheet prints the same from a browser.
To install Pango:
  Debian, Ubuntu:  sudo apt install libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0
  Fedora:          sudo dnf install pango
  macOS:           brew install pango, and run Homebrew's own Python
                   (or set DYLD_FALLBACK_LIBRARY_PATH=/opt/homebrew/lib)
  Windows:         install MSYS2, run `pacman -S mingw-w64-x86_64-pango` in its shell, then set
                   WEASYPRINT_DLL_DIRECTORIES=C:\\msys64\\mingw64\\bin"""


class PdfUnavailable(Exception):
    """No PDF can be made here; the text says what to install."""


@dataclass(frozen=True)
class Pdf:
    """content : the file's bytes. complaints : what the renderer logged; a good sheet has none."""

    content: bytes
    complaints: tuple[str, ...]


def _weasyprint() -> Any:
    try:
        import weasyprint
    except OSError as error:  # the library's own words are about file names of shared objects
        raise PdfUnavailable(INSTALL_PANGO) from error
    return weasyprint


def document(html: str) -> Any:
    """The laid-out document, page by page. Raises PdfUnavailable."""
    weasyprint = _weasyprint()
    from weasyprint.urls import URLFetcher

    # everything a sheet needs is inside it: whatever else it asks for is refused, above all the network
    fetcher = URLFetcher(allowed_protocols=("data",))
    return weasyprint.HTML(string=html, base_url="about:blank", url_fetcher=fetcher).render()


def make_pdf(html: str) -> Pdf:
    """The PDF of a page; the same HTML gives the same bytes. Raises PdfUnavailable."""
    with _collected("weasyprint") as complaints, _no_time_stamps():
        identifier = hashlib.md5(html.encode(), usedforsecurity=False).digest()
        content = document(html).write_pdf(pdf_identifier=identifier)
    return Pdf(content, tuple(complaints))


def engine_versions() -> str:
    """Versions of the renderer and of Pango, for bug reports."""
    try:
        weasyprint = _weasyprint()
    except PdfUnavailable:
        return "WeasyPrint without Pango: no PDF can be made here"
    from weasyprint.text.ffi import pango

    number = pango.pango_version()
    return (
        f"WeasyPrint {weasyprint.__version__}\nPango {number // 10000}.{number // 100 % 100}.{number % 100}"
    )


@contextmanager
def _no_time_stamps() -> Iterator[None]:
    """Where libharfbuzz-subset is missing, letters are cut by fontTools, which stamps them with the time."""
    given = os.environ.get("SOURCE_DATE_EPOCH")
    os.environ["SOURCE_DATE_EPOCH"] = given or "0"
    try:
        yield
    finally:
        if given is None:
            del os.environ["SOURCE_DATE_EPOCH"]


@contextmanager
def _collected(name: str) -> Iterator[list[str]]:
    """What a logger says meanwhile, kept off stderr."""
    texts: list[str] = []
    logger = logging.getLogger(name)

    class Collect(logging.Handler):
        def emit(self, record: logging.LogRecord) -> None:
            texts.append(record.getMessage())

    handler, propagate = Collect(logging.WARNING), logger.propagate
    logger.addHandler(handler)
    logger.propagate = False
    try:
        yield texts
    finally:
        logger.removeHandler(handler)
        logger.propagate = propagate
