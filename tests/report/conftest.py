"""Golden files: what was made is kept beside what was expected, and `--accept` takes it as new."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

GOLDEN = Path(__file__).parent / "golden"


@pytest.fixture
def golden(request: pytest.FixtureRequest) -> Callable[[str, str], None]:
    """A check that a text equals the golden file of a name; a difference leaves NAME.actual beside it."""

    def check(name: str, text: str) -> None:
        expected, actual = GOLDEN / name, GOLDEN / f"{name}.actual"
        if request.config.getoption("--accept"):
            expected.write_text(text, encoding="utf-8")
            actual.unlink(missing_ok=True)
            return
        if not expected.exists() or expected.read_text(encoding="utf-8") != text:
            actual.write_text(text, encoding="utf-8")
            pytest.fail(
                f"{name} differs from its golden file; see {actual.name} beside it, or run with --accept"
            )
        actual.unlink(missing_ok=True)

    return check
