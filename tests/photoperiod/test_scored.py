"""Yesterday's score counts lamps lit by turns by their share."""

from __future__ import annotations

import pytest

from lightplan.yesterday import _burnt_share


def test_lamps_lit_by_turns_count_by_their_share():
    night = ["2026-01-20T22:15:00-05:00", "2026-01-21T02:15:00-05:00"]
    assert _burnt_share({"intervals": [night], "hours": 0.8}) == pytest.approx(0.2)
    assert _burnt_share({"intervals": [night], "hours": 4.0}) == 1.0
    assert _burnt_share({"intervals": [], "hours": 0.0}) == 1.0
