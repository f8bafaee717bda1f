"""Names of glazings → rows of `glazing.csv`, each taken at the middle of its range."""

from __future__ import annotations

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
    layer = Layer(
        n=index, normal_transmittance=layer_passing(middle(row, "par_direct"), n=index, layers=layers)
    )
    return Glazing(
        name=name,
        layers=(layer,) * layers,
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


def stack_transmittance(n: float, absorbed: float, layers: int) -> tuple[float, float]:
    """Normal transmittance of one layer and of 1 or 2 equal ones, without interference.

    absorbed : share of light left after one way through a layer (1 = nothing absorbed).
    One layer: Duffie & Beckman (2013) eqs. 5.3.1, 5.3.2. Two: T₁² ∕ (1 − R₁²), the light thrown to
    and fro between them added up.
    """
    r = surface_reflectance(n)
    one = absorbed * (1 - r) ** 2 / (1 - (r * absorbed) ** 2)
    mirrored = r * (1 + absorbed * one)
    return one, one if layers == 1 else one**2 / (1 - mirrored**2)


def layer_passing(total: float, *, n: float, layers: int) -> float:
    """Normal transmittance of each of `layers` equal layers (1 or 2) that together pass `total`."""
    low, high = 0.0, 1.0
    for _ in range(60):  # halving: 2⁻⁶⁰ is below the last digit of a float
        absorbed = (low + high) / 2
        if stack_transmittance(n, absorbed, layers)[1] < total:
            low = absorbed
        else:
            high = absorbed
    return stack_transmittance(n, high, layers)[0]
