"""Folders with a site file made in a test."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest


@pytest.fixture
def folder_with(tmp_path: Path) -> Callable[[str | bytes], Path]:
    """A folder that holds a site file of a text."""

    def make(text: str | bytes) -> Path:
        (tmp_path / "site.toml").write_bytes(text if isinstance(text, bytes) else text.encode())
        return tmp_path

    return make
