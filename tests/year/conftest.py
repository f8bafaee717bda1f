"""One sample's year, worked out once for all tests of it."""

from __future__ import annotations

from pathlib import Path

import pytest

from lightplan.houses_told import Told, tell_houses
from lightplan.site.models import Stage
from lightplan.site.read import read_site
from tests.year.sites import sample


@pytest.fixture(scope="session")
def quillfen(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return sample("quillfen", tmp_path_factory.mktemp("year") / "quillfen")


@pytest.fixture(scope="session")
def answer(quillfen: Path) -> Told:
    return tell_houses(read_site(quillfen), 2026, crops=[("tomato", Stage.FINISHING)])
