"""Names of crops: the working rows of the crop tables, and what growers call them."""

from __future__ import annotations

from functools import cache

from lightplan.tables import read_table

SYNONYMS = {
    "pansy": "pansy_viola",
    "viola": "pansy_viola",
    "cabbage": "cabbage_broccoli",
    "broccoli": "cabbage_broccoli",
    "onion": "onion_leek",
    "leek": "onion_leek",
    "pumpkin": "pumpkin_squash",
    "squash": "pumpkin_squash",
    "geranium": "geranium_seed",
}
# one word for several crops whose needs differ: the grower is asked which
ASKED_BACK = {
    "marigold": ("marigold_african", "marigold_french"),
    "cosmos": ("cosmos_bipinnatus", "cosmos_sulphureus"),
    "rudbeckia": ("rudbeckia_hirta", "rudbeckia_fulgida"),
    "coreopsis": ("coreopsis_grandiflora", "coreopsis_verticillata"),
    "salvia": ("salvia_splendens", "salvia_farinacea", "salvia_nemorosa"),
}


def plain(name: str) -> str:
    """A name in one spelling: hyphen, underscore and blank, small and large letters mean the same."""
    return "_".join(name.strip().lower().replace("-", " ").replace("_", " ").split())


@cache
def crops_with_light() -> frozenset[str]:
    """Crops whose daily light from the plug stage on is in `crops_light.csv`."""
    return frozenset(row["crop"] for row in read_table("crops_light") if row["record"] == "merged")


@cache
def crop_names() -> tuple[str, ...]:
    """Every crop of the tables, in alphabetical order."""
    germination = {row["crop"] for row in read_table("crops_germination") if row["record"] == "merged"}
    return tuple(sorted(crops_with_light() | germination))


@cache
def latin_name(crop: str) -> str:
    rows = (row for table in ("crops_light", "crops_germination") for row in read_table(table))
    return next(row["latin_name"] for row in rows if row["crop"] == crop and row["record"] == "merged")


def crop_called(name: str) -> str | None:
    """The table's name of a crop, or None where no single one is meant."""
    key = plain(name)
    key = SYNONYMS.get(key, key)
    return key if key in crop_names() else None
