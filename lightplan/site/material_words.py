"""Glazings, covers and lamps in a line or two: what a name stands for, and how well that is known."""

from __future__ import annotations

from collections.abc import Iterator

from lightplan.site.crop_names import SYNONYMS, crops_with_light, latin_name
from lightplan.site.glazings import normal_transmittance
from lightplan.site.lamp_kinds import known_lamp
from lightplan.site.models import Cover, Glazing
from lightplan.site.problems import a_list

MARKS = {
    "page": "read on a published page",
    "memory": "from memory or judgement: one meter reading is worth more",
    "site file": "your own",
}
WHERE = {"bench": "laid on the bench", "house": "drawn in the house", "outside": "outside the house"}


def source_words(source: str, checked: str) -> str:
    """`giacomelli_roberts_1993; asabe_ep406; from memory …`."""
    return MARKS[checked] if source == "site file" else f"{source.replace(';', ', ')}; {MARKS[checked]}"


def glazing_values(glazing: Glazing) -> str:
    layers = f"{len(glazing.layers)} layer{'s' if len(glazing.layers) > 1 else ''}"
    share = f"passes {normal_transmittance(glazing.layers):.3f} straight on"
    film = ", film" if glazing.is_film else ""
    return f"{share}, haze {glazing.haze:.2f}, heat loss {glazing.u_w_m2k:.2f} W/m²K, {layers}{film}"


def glazing_words(glazing: Glazing) -> Iterator[str]:
    yield f"  {glazing.name}: {glazing_values(glazing)}"
    yield f"      {source_words(glazing.source, glazing.checked)}"


def cover_values(cover: Cover) -> str:
    low, high = cover.transmittance
    share = f"passes {low:g}" if low == high else f"passes {low:g} to {high:g}"
    facts = [
        share,
        "dark" if cover.dark else "",
        "burns" if cover.combustible else "does not burn",
        "may stay on at night" if cover.night else "off at night",
        f"works {cover.life_h:g} h" if cover.life_h is not None else "",
        f"insulates {cover.r_m2k_w:g} m²K/W" if cover.r_m2k_w else "",
        WHERE[cover.where],
    ]
    return ", ".join(fact for fact in facts if fact)


def cover_words(cover: Cover) -> Iterator[str]:
    yield f"  {cover.name}: {cover_values(cover)}"
    yield f"      {source_words(cover.source, cover.checked)}"


def lamp_values(name: str) -> str:
    kind = known_lamp(name)
    least, most = kind.efficacy_umol_j
    lux = "no lux conversion" if kind.lux_per_umol is None else f"{kind.lux_per_umol:g} lux per µmol"
    return f"{least:g} to {most:g} µmol/J, {lux}"


def crop_values(name: str) -> str:
    """Latin name, what else it is called, and what the tables lack."""
    called = [word for word, crop in SYNONYMS.items() if crop == name]
    also = f"; also {a_list(called, 'and')}" if called else ""
    return f"{latin_name(name)}{also}" + ("" if name in crops_with_light() else "; germination alone")


def lamp_words(name: str) -> Iterator[str]:
    kind = known_lamp(name)
    yield f"  {name}: {lamp_values(name)}"
    yield f"      {source_words(kind.source, kind.checked)}"
