"""Names of crops, stages and covers as a grower says them."""

from __future__ import annotations

from lightplan.site.models import Stage

CROPS = {
    "begonia_tuberous": "tuberous begonia",
    "begonia_wax": "wax begonia",
    "cabbage_broccoli": "cabbage and broccoli",
    "geranium_seed": "seed geranium",
    "marigold_african": "African marigold",
    "marigold_french": "French marigold",
    "new_guinea_impatiens": "New Guinea impatiens",
    "onion_leek": "onion and leek",
    "ornamental_kale": "ornamental kale",
    "pansy_viola": "pansy and viola",
    "pumpkin_squash": "pumpkin and squash",
}

STAGES = {
    Stage.GERMINATION: "germination",
    Stage.SEEDLING: "seedlings",
    Stage.GROWING_ON: "growing on",
    Stage.FINISHING: "finishing",
    Stage.HARDENING: "hardening off",
}

COVERS = {
    "wet-paper": "one sheet of wet paper",
    "wet-paper-2": "two sheets of wet paper",
    "dry-paper": "one sheet of dry paper",
    "white-tarp": "the white tarp",
    "blue-tarp": "the blue tarp",
    "black-tarp": "the black tarp",
    "blackout-cloth": "the blackout cloth",
    "blackout-film": "the blackout film",
    "insulation-board": "the insulation boards",
    "foil-board": "the foil-faced boards",
    "quilt": "the quilt",
    "fleece": "fleece",
    "clear-poly": "the clear sheet",
    "silver-screen": "the silver screen",
    "whitewash-light": "a light coat of whitewash",
    "whitewash-medium": "a medium coat of whitewash",
}


def crop_name(crop: str) -> str:
    """A crop of the tables in plain words; names without an entry are their own words."""
    return CROPS.get(crop, crop.replace("_", " "))


def cover_name(cover: str) -> str:
    """A cover in plain words; a grower's own cover keeps the name it was given."""
    name = cover.replace("_", "-")
    if name.startswith("shade-cloth-"):
        return f"the {name.removeprefix('shade-cloth-')} % shade cloth"
    return COVERS.get(name, f"the {name.replace('-', ' ')}")
