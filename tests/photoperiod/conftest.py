"""The house of these sheets is traced once."""

from __future__ import annotations

from pathlib import Path

import pytest

import lightplan.houses_told
import lightplan.morning
from lightplan.house.kept import kept_house_light


@pytest.fixture(scope="session")
def traced(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("traced")


@pytest.fixture(autouse=True)
def traced_once(traced: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for module in (lightplan.morning, lightplan.houses_told):
        monkeypatch.setattr(module, "kept_house_light", lambda house, folder: kept_house_light(house, traced))
