"""A house's light kept on disk, under a key of all it depends on: geometry, glazing, the model.

A file that can't be read, or can't be written, costs time only.
"""

from __future__ import annotations

import contextlib
import hashlib
import io
import zipfile
from functools import cache
from pathlib import Path

import numpy as np

from lightplan.files import replace_file
from lightplan.house.places import Floor
from lightplan.house.sun_table import SunTable
from lightplan.house.transmission import HouseLight, house_light
from lightplan.site import outline
from lightplan.site.models import House

# what the light of clean geometry and glazing rests on; dirt, heat and names do not change it
GEOMETRY = (
    "shape", "width_m", "length_m", "eave_m", "ridge_m", "spans", "gutter_m", "ridge_azimuth_deg",
    "faces_deg", "arc", "bulge_m", "section", "knee_wall_m",
)  # fmt: skip
GLAZINGS = ("glazing", "wall_glazing", "end_glazing")
OF_GLAZING = ("layers", "haze", "is_film", "source")  # films and own glazings have a gap between layers


@cache
def _model() -> bytes:
    """The source of the house model: a change of it makes every kept file stale."""
    sources = [*sorted(Path(__file__).parent.glob("*.py")), Path(outline.__file__)]
    return hashlib.sha256(b"".join(path.read_bytes() for path in sources)).digest()


def key(house: House) -> str:
    """Name of all that the house's light depends on."""
    parts = [repr(getattr(house, name)) for name in GEOMETRY]
    parts += [repr([getattr(getattr(house, name), part) for part in OF_GLAZING]) for name in GLAZINGS]
    parts.append(repr(sorted(house.opaque)))
    return hashlib.sha256(_model() + "\n".join(parts).encode()).hexdigest()[:20]


def kept_house_light(house: House, folder: Path) -> HouseLight:
    """The house's light from `folder`, or traced and put there."""
    path = folder / f"house-{key(house)}.npz"
    with contextlib.suppress(OSError, ValueError, KeyError, zipfile.BadZipFile, EOFError):
        return _read(path)
    light = house_light(house)
    with contextlib.suppress(OSError):
        _write(path, light)
    return light


def _read(path: Path) -> HouseLight:
    with path.open("rb") as file, np.load(file, allow_pickle=False) as kept:
        across_m, along_m = kept["across_m"], kept["along_m"]
        across, along, grid_across = (int(n) for n in kept["counts"])
        floor = Floor(
            (float(across_m[0]), float(across_m[1])),
            (float(along_m[0]), float(along_m[1])),
            across,
            along,
            grid_across,
        )
        table = SunTable(kept["ridge_angle_deg"], kept["cells"])
        return HouseLight(float(kept["ridge_azimuth_deg"]), floor, table, kept["diffuse_cells"])


def _write(path: Path, light: HouseLight) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    floor = light.floor
    content = io.BytesIO()
    np.savez(
        content,
        ridge_azimuth_deg=light.ridge_azimuth_deg,
        across_m=floor.across_m,
        along_m=floor.along_m,
        counts=(floor.across, floor.along, floor.grid_across),
        ridge_angle_deg=light.table.ridge_angle_deg,
        cells=light.table.cells,
        diffuse_cells=light.diffuse_cells,
    )
    replace_file(path, content.getvalue())
