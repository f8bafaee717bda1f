"""Names of lamps → rows of `lamps.csv`."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from lightplan.site.crop_names import plain
from lightplan.tables import read_table


@dataclass(frozen=True)
class LampKind:
    """A kind of lamp. lux_per_umol is None where lux says nothing about its light."""

    name: str
    lux_per_umol: float | None
    efficacy_umol_j: tuple[float, float]
    source: str
    checked: str


# name: (row with the meter conversion, rows whose efficacies it spans)
ROWS = {
    "led-white": ("led_white", ("led_white",)),
    "led-red-blue": ("led_red_blue", ("led_red_blue",)),
    "hps": (
        "hps",
        (
            "hps_400w",
            "hps_600w_magnetic",
            "hps_600w_electronic",
            "hps_1000w_magnetic",
            "hps_1000w_electronic",
        ),
    ),
    "metal-halide": ("metal_halide", ("metal_halide_400w",)),
    "fluorescent": ("fluorescent_cool_white", ("fluorescent_t12", "fluorescent_t8", "fluorescent_t5")),
    "incandescent": ("incandescent", ("incandescent_100w",)),
}


def lamp_key(name: str) -> str:
    return plain(name).replace("_", "-")


@cache
def known_lamp(name: str) -> LampKind:
    table = {row["lamp"]: row for row in read_table("lamps")}
    meter, spanned = ROWS[name]
    conversion, efficacies = table[meter], [table[row] for row in spanned]
    return LampKind(
        name=name,
        lux_per_umol=float(conversion["lux_per_umol"]) if conversion["lux_per_umol"] else None,
        efficacy_umol_j=(
            min(float(row["ppe_low_umol_j"]) for row in efficacies),
            max(float(row["ppe_high_umol_j"]) for row in efficacies),
        ),
        source=";".join(dict.fromkeys(row["source"] for row in (conversion, *efficacies))),
        checked="memory" if any(row["checked"] != "page" for row in efficacies) else conversion["checked"],
    )
