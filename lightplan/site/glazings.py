"""Names of glazings → rows of `glazing.csv`, each taken at the middle of its range."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import replace
from functools import cache

from lightplan.site.crop_names import plain
from lightplan.site.models import Glazing, Layer
from lightplan.tables import read_table

# name: (material in glazing.csv, is a plastic film)
ROWS = {
    "single-glass": ("float_glass", False),
    "low-iron-glass": ("low_iron_glass", False),
    "diffuse-glass": ("diffuse_glass", False),
    "single-poly": ("polyethylene", True),
    "double-poly": ("polyethylene_double_inflated", True),
    "single-poly-ir": ("polyethylene_ir", True),
    "double-poly-ir": ("polyethylene_ir_double_inflated", True),
    "twin-wall-polycarbonate": ("polycarbonate_twin_wall_8mm", False),
    "twin-wall-acrylic": ("acrylic_twin_wall_16mm", False),
    "corrugated-polycarbonate": ("polycarbonate_corrugated", False),
    "fibreglass": ("fibreglass_frp", False),
    "etfe": ("etfe", True),
}
LAYERS = {"single": 1, "double": 2}

# Heat loss of an own glazing without one [W m⁻² K⁻¹] by number of layers: ASABE EP406 design values in
# glazing.csv (glass, single and double; memory); three layers and more: judgement.
U_BY_LAYERS = {1: 6.2, 2: 3.7}
U_MANY_LAYERS = 2.5


# Webs between the walls: so that even light passes at the middle of `par_hemispherical` (memory), as the
# layers are set by `par_direct`. Clear webs turn light aside and take next to none; what is missing is
# scattered back at their roots and faces.
WEBS = {"twin-wall-polycarbonate": 0.104, "twin-wall-acrylic": 0.0225}


def glazing_key(name: str) -> str:
    return plain(name).replace("_", "-").replace("fiberglass", "fibreglass")


@cache
def glazing_row(name: str) -> dict[str, str]:
    """The new, clean row behind a name, which must be one of `ROWS`. Single or double layers as sold."""
    material, _ = ROWS[name]
    return next(
        row
        for row in read_table("glazing")
        if row["material"] == material and row["condition"] == "new_clean" and row["layers"] in LAYERS
    )


def middle(row: dict[str, str], column: str) -> float:
    return (float(row[f"{column}_low"]) + float(row[f"{column}_high"])) / 2


@cache
def known_glazing(name: str) -> Glazing:
    row = glazing_row(name)
    index, layers = float(row["refractive_index"]), LAYERS[row["layers"]]
    wall = Layer(
        n=index, normal_transmittance=layer_passing(middle(row, "par_direct"), n=index, layers=layers)
    )
    outer = replace(wall, webs=WEBS.get(name, 0.0))
    return Glazing(
        name=name,
        layers=(outer, wall) if layers == 2 else (wall,),
        haze=middle(row, "haze"),
        u_w_m2k=(float(row["u_value_low_w_m2_k"]) + float(row["u_value_high_w_m2_k"])) / 2,
        is_film=ROWS[name][1],
        source=row["source"],
        checked=row["checked"],
    )


def surface_reflectance(n: float) -> float:
    """Share mirrored by one surface at right angles: Fresnel, Duffie & Beckman (2013) eq. 5.1.5."""
    return ((n - 1) / (n + 1)) ** 2


def most_passed(n: float) -> float:
    """Normal transmittance of a layer that absorbs nothing; Duffie & Beckman (2013) eq. 5.1.7, one cover."""
    r = surface_reflectance(n)
    return (1 - r) / (1 + r)


def one_layer(n: float, left: float) -> tuple[float, float]:
    """Share passed and share mirrored by one layer at right angles.

    Duffie & Beckman (2013) eqs. 5.3.1 and 5.3.2.
    left : share of light left after one way through the layer (1 = nothing absorbed).
    """
    r = surface_reflectance(n)
    passed = left * (1 - r) ** 2 / (1 - (r * left) ** 2)
    return passed, r * (1 + left * passed)


def stacked(layers: Iterable[tuple[float, float]]) -> float:
    """Share passed by layers of (passed, mirrored), the light thrown to and fro between them added up.

    Two equal layers: T = T₁² ∕ (1 − R₁²).
    """
    passed, mirrored = 1.0, 0.0  # of the layers so far; mirrored as seen from the next one
    for layer_passed, layer_mirrored in layers:
        between = 1 - mirrored * layer_mirrored
        mirrored = layer_mirrored + layer_passed**2 * mirrored / between
        passed = passed * layer_passed / between
    return passed


def normal_transmittance(layers: Iterable[Layer]) -> float:
    """Share of light that a glazing passes at right angles."""
    return stacked(one_layer(layer.n, _left(layer)) for layer in layers)


def _left(layer: Layer) -> float:
    if layer.normal_transmittance is not None:
        return _halved(lambda left: one_layer(layer.n, left)[0], layer.normal_transmittance)
    return math.exp(-(layer.extinction_per_m or 0.0) * (layer.thickness_mm or 0.0) / 1000)


def layer_passing(total: float, *, n: float, layers: int) -> float:
    """Normal transmittance of each of `layers` equal layers that together pass `total`."""
    return one_layer(n, _halved(lambda left: stacked([one_layer(n, left)] * layers), total))[0]


def _halved(rising: Callable[[float], float], wanted: float) -> float:
    """Where in 0..1 a rising function takes a value; 1 where it never does."""
    low, high = 0.0, 1.0
    for _ in range(60):  # 2⁻⁶⁰ is below the last digit of a float
        tried = (low + high) / 2
        low, high = (tried, high) if rising(tried) < wanted else (low, tried)
    return high
