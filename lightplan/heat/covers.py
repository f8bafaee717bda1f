"""What covers do with the sun they keep out: some mirror it, dark ones turn it into heat."""

from __future__ import annotations

from lightplan.site.models import Cover

# Share of the sun that a surface takes: white 0.3, black 0.9 (tables/heat_and_shade.csv sol_air; ASHRAE,
# from memory). Which names are light: judgement; white_shade_film_folded_6_layers absorbs 0.15 (covers.csv).
LIGHT, DARK = 0.3, 0.9
DARK_ONES = ("black-tarp", "blue-tarp", "blackout-cloth", "quilt")  # blackout-film lies white side out


# through which air goes: porous = yes in covers.csv (from memory)
AIRY = ("shade-cloth", "fleece")


def is_airy(cover: Cover) -> bool:
    return cover.name.startswith(AIRY)


def absorbed(cover: Cover, passes: float) -> float:
    """Share of the sun on a cover that warms it. passes : its transmittance, an end of its range."""
    dark = cover.name in DARK_ONES or cover.name.startswith("shade-cloth")
    dark = dark or (cover.source == "site file" and cover.dark)
    return min(DARK if dark else LIGHT, 1 - passes)


def heats_house(cover: Cover, passes: float) -> tuple[float, float]:
    """Of the sun on a house's cover: the shares that reach the floor, and that stay inside as dry heat."""
    return passes, 0.0 if cover.where == "outside" else absorbed(cover, passes)
