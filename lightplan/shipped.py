"""Where the page templates and the sample sites lie: in the installed package, or beside it in a checkout."""

from __future__ import annotations

from pathlib import Path

HERE = Path(__file__).parent


def _folder(name: str) -> Path:
    installed = HERE / name
    return installed if installed.is_dir() else HERE.parent / name


def templates_folder() -> Path:
    return _folder("templates")


def samples_folder() -> Path:
    return _folder("sample_sites")
