"""Names of covers → rows of `covers.csv`, with what the table does not hold: where, by night, how long."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from lightplan.site.crop_names import plain
from lightplan.site.models import Cover
from lightplan.tables import read_table

DARK_AT_MOST = 0.02  # transmittance of what counts as dark; the site file's contract


@dataclass(frozen=True)
class Use:
    """How a cover is used: our own planning values (judgement) unless said."""

    row: str
    where: str = "bench"
    night: bool = True
    life_h: float | None = None
    r_m2k_w: float = 0.0  # middle of the range in the row's heat_note


WET_PAPER_H = 3.0  # judgement: wet newspaper dries out in about three hours

USES = {
    "wet-paper": Use("newspaper_1_sheet_wet", night=False, life_h=WET_PAPER_H),
    "wet-paper-2": Use("newspaper_2_sheets_wet", night=False, life_h=WET_PAPER_H),
    "dry-paper": Use("newspaper_1_sheet_dry", night=False),
    "white-tarp": Use("white_poly_tarpaulin"),
    "blue-tarp": Use("blue_poly_tarpaulin"),
    "black-tarp": Use("black_poly_tarpaulin"),
    "blackout-cloth": Use("blackout_screen_fabric"),
    "blackout-film": Use("black_white_blackout_film"),
    "insulation-board": Use("polystyrene_board_25mm", r_m2k_w=0.8),
    "foil-board": Use("foil_faced_foam_board_25mm", r_m2k_w=1.1),
    "quilt": Use("thermal_blanket_quilt", r_m2k_w=0.35),
    "fleece": Use("fleece_spunbond_17gsm"),
    "clear-poly": Use("clear_poly_sheet_bench"),
    **{f"shade-cloth-{share}": Use(f"woven_shade_cloth_{share}") for share in (30, 40, 50, 60, 70, 80)},
    "silver-screen": Use("aluminised_screen_closed", where="house"),
    "whitewash-light": Use("whitewash_light", where="outside"),
    "whitewash-medium": Use("whitewash_medium", where="outside"),
}
PAINTED = ("whitewash-light", "whitewash-medium")  # on for a season: nobody lays them on or takes them off


def cover_key(name: str) -> str:
    return plain(name).replace("_", "-")


@cache
def cover_row(name: str) -> dict[str, str]:
    """The row behind a name, which must be one of `USES`."""
    return next(row for row in read_table("covers") if row["cover"] == USES[name].row)


@cache
def known_cover(name: str) -> Cover:
    use, row = USES[name], cover_row(name)
    # a shading factor is the share kept out; rounded because 1 − 0.98 is not quite 0.02 in floats
    dark_end, bright_end = (round(1 - float(row[f"shading_factor_{end}"]), 6) for end in ("high", "low"))
    return Cover(
        name=name,
        transmittance=(dark_end, bright_end),
        dark=bright_end <= DARK_AT_MOST,
        combustible=row["combustible"] == "yes",
        night=use.night,
        life_h=use.life_h,
        where=use.where,
        r_m2k_w=use.r_m2k_w,
        source=row["source"],
        checked=row["checked"],
    )
