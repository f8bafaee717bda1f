"""Golden files of the sheet, by name."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

GOLDEN = Path(__file__).parent / "golden"


@pytest.fixture
def golden(golden_file: Callable[[Path, str], None]) -> Callable[[str, str], None]:
    """A check that a text equals the golden file of a name."""
    return lambda name, text: golden_file(GOLDEN / name, text)
