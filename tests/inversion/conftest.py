"""The hot grower's folder, its houses traced once for all tests here."""

from __future__ import annotations

from pathlib import Path

import pytest

from lightplan.house.kept import kept_house_light
from lightplan.site.read import load_site
from tests.inversion.hot_site import write_hot_site


@pytest.fixture(scope="session")
def hot(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = write_hot_site(tmp_path_factory.mktemp("sites") / "saltgrass")
    for house in load_site(folder).site.houses:
        kept_house_light(house, folder / "cache")
    return folder
